"""The tables of a run agree with each other and with the incident."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pandas as pd
import pytest
from common import repeatable
from hypothesis import given
from hypothesis import strategies as st
from random_incidents import incidents

from mci.pipeline import Run, run
from mci.resupply.shortage import NOBODY
from mci.scenario.model import Scenario
from mci.settings import Settings

RUNS = st.builds(
    lambda incident, priority, longest: run(incident, Settings(priority=priority, max_period=longest)),
    incidents(memory=True),
    st.sampled_from(["weighted", "strict"]),
    st.sampled_from([10.0, math.inf]),
)
PLACE = ["area", "category"]


@repeatable(40)
@given(RUNS)
def test_everybody_is_at_target_or_below_or_without(made: Run) -> None:
    """In every period the three add up to the need, up to what counts as nobody; none is negative."""
    table = made.over_time
    parts = table[["at_target", "below_target", "without"]]
    assert parts.to_numpy().min() >= 0
    assert parts.sum(axis=1).to_numpy() == pytest.approx(table["need"].to_numpy(), abs=2 * NOBODY)
    assert (table["credit"] <= table["need"] * (1 + 1e-9) + 1e-6).all()


@repeatable(40)
@given(RUNS)
def test_coverage_is_a_share_and_sums_the_periods(made: Run) -> None:
    """Coverage lies between 0 and 1 and is credit over need; ``all`` sums the categories."""
    table = made.coverage.set_index("category")
    assert table["coverage"].between(0, 1 + 1e-7).all()
    assert (table["coverage"] * table["needed_patient_min"]).to_numpy() == pytest.approx(table["credit_min"].to_numpy())
    sums = [
        "needed_patient_min",
        "credit_min",
        "at_target_patient_min",
        "below_target_patient_min",
        "without_patient_min",
    ]
    categories = table.drop(index="all")
    assert categories[sums].sum().to_numpy() == pytest.approx(table.loc["all", sums].to_numpy(dtype=float))
    weights = pd.Series(made.scenario.weights)
    earned = (categories["credit_min"] * weights.reindex(categories.index)).sum()
    assert earned == pytest.approx(made.outcome.achieved, rel=1e-5, abs=1e-3)  # rows of nobody are left out
    most = made.over_time.assign(short=made.over_time["below_target"] + made.over_time["without"])
    assert table.loc["all", "most_below_target"] == pytest.approx(most.groupby("start_min")["short"].sum().max())


def _minutes_short(made: Run) -> dict[tuple[str, str], set[tuple[float, float]]]:
    table = made.over_time
    short = table[table["below_target"] + table["without"] > NOBODY]
    return {place: set(zip(rows["start_min"], rows["end_min"], strict=True)) for place, rows in short.groupby(PLACE)}


@repeatable(40)
@given(RUNS)
def test_windows_cover_exactly_the_minutes_that_are_short(made: Run) -> None:
    """A period lies in one window of its area and category if somebody is below target in it, else in none."""
    short = _minutes_short(made)
    for place, rows in made.over_time.groupby(PLACE):
        windows = made.windows[(made.windows[PLACE] == list(place)).all(axis=1)]
        for start, end in zip(rows["start_min"], rows["end_min"], strict=True):
            inside = (windows["start_min"] <= start) & (end <= windows["end_min"])
            touched = (windows["start_min"] < end) & (start < windows["end_min"])
            assert inside.sum() == touched.sum() == ((start, end) in short.get(place, set()))


@repeatable(40)
@given(RUNS)
def test_windows_sum_the_patient_minutes(made: Run) -> None:
    """What is below target and without in the windows is what is so over time."""
    table = made.over_time
    minutes = table["end_min"] - table["start_min"]
    short = table["below_target"] + table["without"] > NOBODY
    for name in ("below", "without"):
        column = "below_target" if name == "below" else "without"
        expected = (table[column] * minutes)[short].sum()
        assert made.windows[f"{name}_patient_min"].sum() == pytest.approx(expected, abs=1e-6)


@repeatable(40)
@given(RUNS)
def test_stock_is_what_came_less_what_was_drawn(made: Run) -> None:
    """Stock is never negative; without vessels that are taken away it falls by draws and grows by deliveries only."""
    assert (made.stock["litres"] >= 0).all()
    for area, rows in made.stock.groupby("area"):
        lots = [lot for lot in made.scenario.lots if lot.area == area and math.isfinite(lot.litres)]
        if any(lot.available_until < made.scenario.horizon for lot in lots):
            continue
        drawn = made.outcome.draw[made.outcome.draw["lot"].isin([lot.key for lot in lots])]
        for moment, litres in zip(rows["time_min"], rows["litres"], strict=True):
            come = sum(lot.litres for lot in lots if lot.available_from <= moment)
            gone = drawn.loc[drawn["end_min"] <= moment, "litres"].sum()
            assert litres == pytest.approx(come - gone, abs=1e-3)


@repeatable(40)
@given(RUNS)
def test_the_reserve_is_left(made: Run) -> None:
    """At the horizon the stock of each area holds at least its reserve."""
    last = made.stock.groupby("area")["litres"].last()
    for area, litres in made.scenario.reserve.items():
        if litres > 0:
            assert last[area] >= litres - 1e-3


@repeatable(20)
@given(incidents(memory=True))
def test_the_same_incident_gives_the_same_tables(incident: Scenario) -> None:
    """Two runs of one incident are equal to the last bit, timings apart."""
    first, second = run(incident), run(incident)
    for field in dataclasses.fields(Run):
        one, two = getattr(first, field.name), getattr(second, field.name)
        if isinstance(one, pd.DataFrame):
            pd.testing.assert_frame_equal(one, two, check_exact=True)
    assert first.resupply_notes == second.resupply_notes
    assert (first.outcome.bound, first.outcome.achieved) == (second.outcome.bound, second.outcome.achieved)
    assert first.provenance.solver == second.provenance.solver
    assert np.isfinite(first.outcome.bound)
