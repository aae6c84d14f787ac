"""The page of a packing list on a terminal: nothing is cut off, and all that matters is there."""

from __future__ import annotations

import io

import pytest
from made_stock import made_stock
from rich.console import Console

from mci.cli._stock_words import show_stock_page
from mci.report.stock_build import build_stock_page
from mci.stocking.result import Stock


def shown(found: Stock, width: int) -> str:
    """Return what is printed at a width."""
    stream = io.StringIO()
    console = Console(file=stream, width=width, color_system=None, markup=False, highlight=False, emoji=False)
    show_stock_page(build_stock_page(found), console)
    return stream.getvalue()


@pytest.mark.parametrize("width", [80, 120])
@pytest.mark.parametrize(("mode", "caches"), [("goals", 1), ("goals", 2), ("budget", 2)])
def test_it_fits_and_says_what_matters(width: int, mode: str, caches: int) -> None:
    """Bags, things, sums, fresh incidents, next step, worst incidents; no line is longer than the terminal."""
    found = made_stock(mode, caches)
    printed = shown(found, width)
    assert max(map(len, printed.splitlines())) <= width
    assert "\u00a0" not in printed
    assert "…" not in printed
    said = " ".join(printed.split())
    page = build_stock_page(found)
    for sentence in (*page.headline, page.body.next_step):
        assert " ".join(sentence.replace("\u00a0", " ").split()) in said
    for sheet in page.body.sheets:
        assert f"Packing list: {sheet.cache}, at {sheet.station}" in said
        for bag in sheet.bags:
            assert bag.name.upper() in said
            assert all(row.what in said for row in bag.rows)
    assert all(row.file in said for row in page.body.worst)
    assert "Below each mean: its interval of 95 %" in said


@pytest.mark.parametrize("width", [80, 120])
def test_every_interval_and_list_is_there_whole(width: int) -> None:
    """Cells are not cut: means, intervals and names of lists can be read."""
    printed = shown(made_stock(), width)
    for words in ("95.5 to 96.1 %", "107 to 135", "a cylinder for each patient", "half of everything", "2 of 3"):
        assert words in printed


def test_brackets_of_a_planner_are_no_style() -> None:
    """Names are printed as they are written."""
    found = made_stock()
    swap = {"cylinder rack": "[bold]rack[/bold]"}
    told = shown(found.__class__(**{**_fields(found), "packing": found.packing.replace(swap)}), 80)
    assert "[BOLD]RACK[/BOLD]" in told


def _fields(found: Stock) -> dict[str, object]:
    return {name: getattr(found, name) for name in found.__dataclass_fields__}


def test_without_limits_goals_or_rules_it_says_so() -> None:
    """What is not there is not shown as an empty table."""
    printed = shown(made_stock("budget", own=False, limits=False, rules=False), 80)
    assert "No limits are written." in printed
    assert "Goals\nmet" not in printed
