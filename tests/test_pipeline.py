"""The whole run: its tables are the ones it documents, and the same incident gives the same run."""

from __future__ import annotations

import dataclasses
import re

import pandas as pd
import pytest
from incidents import concentrators, cylinders, ladder, outlet_set, patients, regulator, scenario

from mci.lp.outcome import Outcome
from mci.pipeline import Run, run
from mci.scenario.model import Scenario, Spell
from mci.settings import Settings


@pytest.fixture(scope="module")
def incident() -> Scenario:
    """Return two areas with a bit of everything: a move, a delivery, too little gas, masks and power."""
    return scenario(
        horizon=90,
        ladders=[
            ladder("high", ("mask", 15, 1.0), ("cannula", 5, 0.5), single_use=True),
            ladder("low", ("cannula", 4, 1.0), single_use=True),
        ],
        patients=[
            patients(4, "high", over=30, then=(Spell(40, "b", "delayed", "low"),)),
            patients(3, "low", area="b", category="delayed"),
        ],
        lots=[
            cylinders(3, 400, change=3),
            cylinders(2, 600, key="truck", arrive=45, change=3),
            concentrators(2, area="b"),
        ],
        regulators=[regulator(2, outlets=outlet_set("double", 2, total=20))],
        devices={("a", "mask"): 3},
        staff={"a": 0.2},
        power={"b": 300},
        areas=("a", "b"),
    )


def _documented(text: str, field: str) -> list[str]:
    """Return the words in double backticks of a field that are column names, in order."""
    entry = re.search(rf"^    {field}\n((?:        .*\n|\n)+)", text, re.MULTILINE)
    assert entry is not None, field
    return [
        word.strip()
        for group in re.findall(r"``([^`]+)``", entry.group(1))
        for word in group.replace("\n", " ").split(",")
    ]


@pytest.mark.parametrize("field", ["coverage", "over_time", "windows", "stock", "first_empty", "worth", "resupply"])
def test_tables_have_the_columns_that_are_documented(incident: Scenario, field: str) -> None:
    """Every column of a table is named in the documentation of ``Run``."""
    table = getattr(run(incident), field)
    assert not table.empty
    assert set(table.columns) <= set(_documented(Run.__doc__ or "", field))


@pytest.mark.parametrize("field", ["service", "need", "draw"])
def test_outcome_tables_have_the_columns_that_are_documented(incident: Scenario, field: str) -> None:
    """The same for ``Outcome``."""
    table = getattr(run(incident).outcome, field)
    assert not table.empty
    text = re.sub(r"\(0 is the top\)", "", Outcome.__doc__ or "")
    assert set(table.columns) <= set(_documented(text, field)) | {"rung"}


@pytest.mark.parametrize("priority", ["weighted", "strict"])
def test_two_runs_are_equal(incident: Scenario, priority: str) -> None:
    """Two runs of one incident are equal to the last bit, timings apart."""
    first, second = (run(incident, Settings(priority=priority)) for _ in range(2))
    for field in dataclasses.fields(Run):
        one, two = getattr(first, field.name), getattr(second, field.name)
        if isinstance(one, pd.DataFrame):
            pd.testing.assert_frame_equal(one, two, check_exact=True)
    for name in ("service", "need", "draw"):
        pd.testing.assert_frame_equal(getattr(first.outcome, name), getattr(second.outcome, name), check_exact=True)
    for name in ("service", "draw"):
        pd.testing.assert_frame_equal(getattr(first.whole, name), getattr(second.whole, name), check_exact=True)
    assert first.resupply_notes == second.resupply_notes
    assert (first.outcome.bound, first.outcome.achieved) == (second.outcome.bound, second.outcome.achieved)
    assert first.provenance.solver == second.provenance.solver


def test_provenance_says_how(incident: Scenario) -> None:
    """The record of a run names file, hash, settings and the solver's status."""
    made = run(incident, Settings(priority="strict"))
    assert made.provenance.scenario_file == incident.file
    assert made.provenance.scenario_sha256 == incident.sha256
    assert made.provenance.settings["priority"] == "strict"
    assert made.provenance.solver["status"] == "optimal"
