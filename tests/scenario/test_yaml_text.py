"""Trees written as YAML read back the same, whatever the texts in them are."""

from __future__ import annotations

from typing import Any

import pytest
import yaml
from hypothesis import example, given
from hypothesis import strategies as st

from mci.scenario.yaml_positions import parse_yaml
from mci.scenario.yaml_text import WIDTH, write_comment, write_scalar, write_tree

#: Texts that are something else in YAML unless they are in quotes.
NASTY = [
    "yes", "NO", "null", "~", "on", "y", ".nan", ".inf", "1e3", "0x1F", "007", "1_000", "<<", "=", "-", "?", ":",
    ",", "#", "!", "|", ">", "%", "@", "`", "*a", "&b", "!t", "---", "...", "a:b", "a:", "-x", "'q", '"q', "\\U",
    "[", "]x", "{a", "a: b", "a #b", "- x", "? x", "x:", "a, b", 'it\'s "so"', "# no", "Zürich 🚑", "氧 气", "=1+1",
    "@SUM(A1)", "-",
]  # fmt: skip

_texts = st.text(st.characters(exclude_categories=("Cs",)), max_size=30) | st.sampled_from(NASTY)
_keys = st.sampled_from(["batch", "then", "brings", "stock", "incident"]) | _texts
_trees = st.recursive(
    _texts, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(_keys, inner, max_size=3), max_leaves=12
)


def _read(text: str) -> Any:
    tree, _, mistakes = parse_yaml(text.encode(), "x.yaml")
    assert not mistakes
    return tree


@given(st.dictionaries(_keys, _trees, min_size=1, max_size=4))
@example({"patients": [{"patient": "x " * 80, "note": "y" * 130, "z": "1"}], "long": "word " * 60 + "end"})
@example({"two spaces": "word  " * 60 + "end"})
def test_a_tree_reads_back_the_same(tree: dict[str, Any]) -> None:
    """Our reader, and one written in Python, find every text, key and order as it was."""
    text = write_tree(tree)
    assert _read(text) == yaml.load(text, Loader=yaml.BaseLoader) == tree  # noqa: S506 - makes texts only
    assert list(_read(text)) == list(tree)


@pytest.mark.parametrize("text", NASTY)
def test_words_of_yaml_stay_texts(text: str) -> None:
    """A program that knows numbers, truth values and dates of YAML finds a text too."""
    assert yaml.safe_load(write_scalar(text)) == text
    assert write_scalar("y") == '"y"'  # a truth value to others
    assert yaml.safe_load(f"[{write_scalar(text, inside=True)}, x]") == [text, "x"]


@pytest.mark.parametrize(
    "text", ["14:35", "2026-03-02", "12", "0.5", "T+10", "15 L/min", "2 h", "yoke 0-15 L/min", "90 %"]
)
def test_what_needs_no_quotes_has_none(text: str) -> None:
    """Quantities and plain names are written as the bundled scenarios write them."""
    assert write_scalar(text) == write_scalar(text, inside=True) == text
    assert write_tree({"a": "north, walking"}) == "a: north, walking\n"


def test_lines_are_short_and_sections_apart() -> None:
    """Lines of a list stand on one line, broken between keys where they are too long; batches line by line."""
    items = [{"vehicle": f"van {n}", **{f"key {k}": "some words " + str(k) for k in range(9)}} for n in range(2)]
    batch = {"batch": "north, walking", "arrive": {"from": "T+5", "over": "1 h"}, "then": [{"after": "5 min"}]}
    text = write_tree({"patients": [batch, {"patient": "A"}], "residual": "200 psi", "weights": {}, "vehicles": items})
    assert text.startswith(
        "patients:\n"
        "  - batch: north, walking\n"
        "    arrive: {from: T+5, over: 1 h}\n"
        "    then:\n"
        "      - {after: 5 min}\n"
        "  - {patient: A}\n"
        "\n"
        "residual: 200 psi\n"
        "weights: {}\n"
        "\n"
        "vehicles:\n"
        "  - {vehicle: van 0, key 0: some words 0"
    )
    assert max(map(len, text.splitlines())) <= WIDTH
    assert len(text.splitlines()) == 15


@given(st.text(st.characters(exclude_categories=("Cs",)), max_size=300))
def test_comments_hide_all_of_a_text(words: str) -> None:
    """Whatever is put into a comment, no line of it is anything else."""
    assert _read(write_comment(words) + "a: b\n") == {"a": "b"}
    notes: dict[int, str] = {}
    line = {"patient": "A"}
    notes[id(line)] = words
    assert _read(write_tree({"patients": [line]}, notes)) == {"patients": [line]}
