"""The section ``uncertain:`` becomes what it says, and whatever is wrong with it is told at its place."""

from __future__ import annotations

import json
import pickle
import re
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import mci
from mci.cli import cli
from mci.errors import InputError
from mci.scenario import read_scenario
from mci.scenario.draft import read_draft
from mci.scenario.uncertain import (
    Correlation,
    Empirical,
    Fixed,
    Lognormal,
    Mix,
    OneOf,
    Poisson,
    Triangular,
    Uncertain,
    Uncertainty,
    Uniform,
)
from mci.surge.sampling import draw

SAME_FILE = settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=40, deadline=None)
WHOLE = (Path(mci.__file__).parents[1] / "scenarios" / "ferry-fire.yaml").read_text(encoding="utf-8")
#: Without what it says itself is uncertain.
FERRY = WHOLE.partition("\n# What nobody knows beforehand")[0] + "\n"
LINE = FERRY.count("\n") + 3  # of the first line of the section
ALL = """\
- {number: Patients.Minimal.count, poisson: 12}
- {number: deliveries.county oxygen truck.at, triangular: [T+90, 16:30, 190 min], step: 10 min}
- {number: patients.lounge.stay, lognormal: {median: 1 h 40, spread: 1.3}}
- {number: patients.lounge.arrive.over, uniform: [45 min, 2 h]}
- {number: patients.lounge.arrive.pattern, one of: {evenly: 50 %, early: 0.5}}
- {number: supplies.pressure, from: gauges.csv, column: Share}
- {number: weights.minimal, fixed: 0.1}
- {mix: [patients.immediate.count, patients.delayed.count], total: {uniform: [20, 40]}, dirichlet: [10, 18]}
- {correlated: [patients.lounge.stay, Patients.Minimal.Count], rank: -0.5}
"""
GAUGES = "share,other\n100 %,\n0.93,\n0.88,wrong\n"


def _ferry(write, section: str):
    lines = section if section.endswith("\n") else f"{section}\n"
    return write(f"{FERRY}\nuncertain:\n{lines}", gauges__csv=GAUGES)


def _told(write, section: str) -> list[str]:
    with pytest.raises(InputError) as caught:
        read_scenario(_ferry(write, section))
    assert all(mistake.line for mistake in caught.value.mistakes)
    return [f"{m.line - LINE if m.file != 'gauges.csv' else m.file}: {m}" for m in caught.value.mistakes]


def test_every_distribution_is_read(write):
    """Values are in the unit of the number, paths as they are listed, and the hash covers what was observed."""
    path = _ferry(write, ALL)
    scenario = read_scenario(path)
    assert scenario.uncertainty == Uncertainty(
        numbers=(
            Uncertain("patients.minimal.count", Poisson(12)),
            Uncertain("deliveries.county oxygen truck.at", Triangular(90, 115, 190), 10),
            Uncertain("patients.lounge.stay", Lognormal(100, 1.3)),
            Uncertain("patients.lounge.arrive.over", Uniform(45, 120)),
            Uncertain("patients.lounge.arrive.pattern", OneOf(("evenly", "early"), (0.5, 0.5))),
            Uncertain("supplies.pressure", Empirical((1.0, 0.93, 0.88), "gauges.csv, column share")),
            Uncertain("weights.minimal", Fixed(0.1)),
        ),
        mixes=(Mix(("patients.immediate.count", "patients.delayed.count"), (10, 18), Uniform(20, 40)),),
        correlations=(Correlation("patients.lounge.stay", "patients.minimal.count", -0.5),),
    )
    path.with_name("gauges.csv").write_text(GAUGES.replace("0.93", "0.92"), encoding="utf-8")
    assert read_scenario(path).sha256 != scenario.sha256


def test_plans_are_made_with_what_is_written(write):
    """What is uncertain changes nothing else, is no number itself, and is there in every variant, sent or not."""
    draft = read_draft(_ferry(write, ALL))
    plain = read_draft(write(FERRY))
    assert draft.numbers == plain.numbers
    scenario, variant = draft.scenario(), draft.scenario({"patients.lounge.count": "14"})
    assert plain.scenario().uncertainty is None
    assert scenario.patients == variant.patients == plain.scenario().patients
    sent = pickle.loads(pickle.dumps(draft))  # noqa: S301
    assert scenario.uncertainty == variant.uncertainty == sent.uncertainty
    assert sent.scenario({"patients.lounge.count": "14"}) == variant


def test_words_and_full_are_values_too(write):
    """What is always one word is that word with certainty; cylinders may be full or not."""
    scenario = read_scenario(
        _ferry(
            write,
            "- {number: patients.lounge.arrive.pattern, fixed: early}\n"
            "- {number: supplies.US E aluminium at quay.pressure, one of: {full: 25 %, 100 bar: 75 %}}\n",
        )
    )
    assert [each.law for each in scenario.uncertainty.numbers] == [
        OneOf(("early",), (1.0,)),
        OneOf(("full", "100 bar"), (0.25, 0.75)),
    ]


@pytest.mark.parametrize("way", ["sobol", "plain"])
def test_every_drawn_incident_can_be_built(write, way):
    """Whatever is drawn from a scenario's distributions is an incident, and has the numbers that were drawn."""
    draft = read_draft(_ferry(write, ALL))
    drawn = draw(draft.uncertainty, draft.numbers, 32, seed=1, way=way)
    for number, case in enumerate(drawn.cases):
        scenario = draft.scenario(case.values)
        count = {each.label: each.count for each in scenario.patients}
        assert count["walked off the car deck"] == drawn.values["patients.minimal.count"][number]
        assert {lot.available_from for lot in scenario.lots if lot.delivery} == {
            drawn.values["deliveries.county oxygen truck.at"][number]
        }


STAY = "number: patients.lounge.stay"


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("{number: patients.lounge.sty, poisson: 3}", "no number of this path.*'patients.lounge.stay'"),
        (f"{{{STAY}}}", "does not say how it varies"),
        (f"{{{STAY}, fixed: 1 h, poisson: 3}}", "more than one way: fixed, poisson"),
        (f"{{{STAY}, fixed: 100}}", "the unit is missing"),
        (f"{{{STAY}, fixed: 0 min}}", "must be longer than 0"),
        (f"{{{STAY}, uniform: [2 h, 1 h]}}", "the first value must be below the second"),
        (f"{{{STAY}, uniform: [1 h]}}", "needs the lowest and the highest value"),
        (f"{{{STAY}, triangular: [1 h, 3 h, 2 h]}}", "in this order"),
        (f"{{{STAY}, triangular: [1 h, 1 h, 1 h]}}", "in this order"),
        (f"{{{STAY}, lognormal: {{median: 1 h, spread: 1}}}}", "the spread must be above 1"),
        (f"{{{STAY}, poisson: 3}}", "this number is a duration"),
        (f"{{{STAY}, one of: {{1 h: 50 %, 2 h: 40 %}}}}", "must sum to 100 %, not 90 %"),
        (f"{{{STAY}, one of: {{60 min: 50 %, 1 h: 50 %}}}}", "is there twice"),
        (f"{{{STAY}, one of: {{60 min: 100 %}}, step: 5 min}}", "takes its values as they are"),
        (f"{{{STAY}, uniform: [1 h, 2 h], step: 0 min}}", "must be above 0"),
        (f"{{{STAY}, uniform: [1 h, 2 h], step: 5}}", "the unit is missing"),
        (f"{{{STAY}, from: gauges.csv}}", "needs both 'from' and 'column'"),
        (f"{{{STAY}, fixed: 1 h, sheet: a}}", "names a sheet but no file"),
        ("{number: supplies.pressure, from: gauges.csv, column: shar}", "no such column.*Did you mean 'share'"),
        ("{number: supplies.pressure, from: ../gauges.csv, column: share}", "must lie in the folder"),
        ("{number: supplies.pressure, from: gone.csv, column: share}", "there is no such file"),
        ("{number: supplies.pressure, uniform: [50 %, 120 %]}", "is not a share"),
        ("{number: patients.immediate.count, fixed: 1}", "2 patients are listed one by one"),
        ("{number: patients.lounge.count, uniform: [0, 9]}", "must be a whole number"),
        ("{number: patients.lounge.arrive.pattern, uniform: [early, late]}", "is a word"),
        ("{number: patients.lounge.arrive.pattern, one of: {erly: 1}}", "Did you mean 'early'"),
        ("{number: supplies.US E aluminium at quay.pressure, uniform: [100 bar, full]}", "must be a number here"),
        ("{mix: [patients.immediate.count], total: {poisson: 9}, dirichlet: [1]}", "two numbers or more"),
        ("{mix: [patients.immediate.count, weights.minimal], total: {poisson: 9}, dirichlet: [1, 1]}", "only counts"),
        (
            "{mix: [patients.lounge.count, patients.minimal.count], total: {poisson: 9}, dirichlet: [1]}",
            "has 1 weights",
        ),
        (
            "{mix: [patients.lounge.count, patients.minimal.count], total: {one of: {9: 1}}, dirichlet: [1, 1]}",
            "one of",
        ),
        ("{mix: [patients.lounge.count, patients.count], total: {poisson: 9}, dirichlet: [1, 1]}", "sets the same as"),
        ("{correlated: [patients.lounge.stay, patients.minimal.count], rank: 0.5}", "is not uncertain"),
        ("{correlated: [patients.lounge.stay], rank: 0.5}", "needs two numbers"),
        ("{correlated: [patients.lounge.stay, patients.cook.arrive], rank: 1.5}", "not a rank correlation"),
        ("{uncertain: patients.lounge.stay}", "not a word that can stand here|must name"),
    ],
)
def test_wrong_lines(write, line, words):
    """Each mistake is told at its line, with the value or the nearest path."""
    told = _told(write, f"- {line}")
    assert all(text.startswith("0: ") for text in told)
    assert any(re.search(words, text) for text in told), told


@pytest.mark.parametrize(
    ("one", "other", "words"),
    [
        ("patients.lounge.stay", "patients.lounge.stay", "named twice"),
        ("patients.count", "patients.minimal.count", "sets the same as patients.count"),
        ("patients.minimal.count", "patients.walked off the car deck.count", "sets the same as patients.minimal.count"),
        ("deliveries.county oxygen truck.delay", "deliveries.county oxygen truck.at", "sets the same as"),
        ("supplies.pressure", "supplies.US E aluminium at quay.pressure", "sets the same as supplies.pressure"),
        ("devices.share", "devices.simple mask at quay.count", "sets the same as devices.share"),
    ],
)
def test_a_number_varies_once(write, one, other, words):
    """No number varies twice, neither under one name nor under two."""
    told = _told(write, f"- {{number: {one}, one of: {{x: 1}}}}\n- {{number: {other}, one of: {{x: 1}}}}\n")
    assert any(text.startswith("1: ") and words in text for text in told)


def test_mistakes_are_told_at_once(write):
    """Those of the section, of the observed values, and of the rest of the file that its parts make together."""
    section = (
        "- {number: patients.nobody.count, poisson: 3}\n"
        "- {number: weights.minimal, from: gauges.csv, column: other}\n"
        "- {correlated: [patients.lounge.stay, patients.immediate.count], rank: 0.5}\n"
    )
    path = _ferry(write, section)
    path.write_text(path.read_text(encoding="utf-8").replace("patient: cook", "patient: steward"), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_scenario(path)
    told = "\n".join(map(str, caught.value.mistakes))
    for words in ("no number of this path", "gauges.csv:4:2", "is not uncertain", "this name is used twice"):
        assert words in told
    assert len(caught.value.mistakes) == 5


@SAME_FILE
@given(st.lists(st.sampled_from([-1.0, -0.9, -0.4, 0.0, 0.4, 0.9, 1.0]), min_size=3, max_size=3))
def test_correlations_agree_with_each_other(write, ranks):
    """Three correlations are refused exactly where the determinant of their matrix is negative."""
    import numpy as np

    names = ("patients.lounge.stay", "weights.minimal", "patients.cook.arrive")
    pairs = ((0, 1), (0, 2), (1, 2))
    values = ("[1 h, 2 h]", "[0, 1]", "[T+0, T+60]")
    section = [f"- {{number: {name}, uniform: {value}}}" for name, value in zip(names, values, strict=True)]
    section += [
        f"- {{correlated: [{names[a]}, {names[b]}], rank: {rank}}}" for (a, b), rank in zip(pairs, ranks, strict=True)
    ]
    x, y, z = (2 * np.sin(np.pi * rank / 6) for rank in ranks)
    possible = 1 + 2 * x * y * z - x * x - y * y - z * z >= -1e-8
    if possible:
        assert len(read_scenario(_ferry(write, "\n".join(section))).uncertainty.correlations) == 3
    else:
        assert "contradict each other" in " ".join(_told(write, "\n".join(section)))


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        (["[weights.minimal, weights.minimal], rank: 0.5"], "the same number twice"),
        (["[weights.minimal, weights.delayed], rank: 0.5"] * 2, "says again"),
        (["[weights.minimal, patients.lounge.count], rank: 0.5"], "is in a mix"),
        (["[weights.minimal, weights.immediate], rank: 0.5"], "always has the same value"),
    ],
)
def test_wrong_correlations(write, lines, words):
    """Two numbers go together once, and only where both vary by themselves."""
    section = (
        "- {number: weights.minimal, uniform: [0, 1]}\n"
        "- {number: weights.delayed, uniform: [0, 1]}\n"
        "- {number: weights.immediate, fixed: 1}\n"
        "- {mix: [patients.lounge.count, patients.minimal.count], total: {poisson: 9}, dirichlet: [1, 1]}\n"
    )
    told = _told(write, section + "".join(f"- {{correlated: {line}}}\n" for line in lines))
    assert len(told) == 1
    assert words in told[0]


@pytest.mark.parametrize("width", ["80", "130"])
def test_check_says_it_back(write, width):
    """A table has number, value as written, distribution, rounding and source; the numbers are counted."""
    result = CliRunner(env={"COLUMNS": width}).invoke(cli, ["check", str(_ferry(write, ALL))])
    assert result.exit_code == 0
    words = " ".join(result.output.split())
    for part in (
        "Not known for sure",
        "Poisson: a count",
        "10 min",
        "not rounded",
        "gauges.csv",
        "−0.5",
        "can be varied",
    ):
        assert part in words
    assert all(len(line) <= int(width) for line in result.output.splitlines())


def test_check_says_it_back_for_programs(write):
    """The same in JSON, under ``uncertain`` and ``correlated``; without the section there is neither."""
    data = json.loads(CliRunner().invoke(cli, ["check", str(_ferry(write, ALL)), "--json"]).output)
    assert data["uncertain"][0] == {
        "number": "patients.minimal.count",
        "as_written": "12",
        "distribution": "Poisson: a count of independent events, 12 on average",
        "rounded_to": "whole",
        "data_from": "",
    }
    assert data["uncertain"][-1]["number"] == "patients.immediate.count + patients.delayed.count"
    assert data["correlated"][0]["rank_correlation"] == -0.5
    plain = json.loads(CliRunner().invoke(cli, ["check", str(write(FERRY)), "--json"]).output)
    assert not {"uncertain", "correlated"} & set(plain)
    assert plain["numbers_that_can_be_varied"] == data["numbers_that_can_be_varied"] == 78
