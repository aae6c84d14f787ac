"""The table over time adds up to what the judge says of each plan."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from planned import plan_all
from played import played_drill

from mci.demand.people import name_people
from mci.drills.over_time import COLUMNS, over_time
from mci.replay.judged import Judged
from mci.scenario.model import Scenario


def _plans() -> tuple[Scenario, list[Judged]]:
    drill = played_drill()
    return drill.actual, [drill.best, *plan_all(drill.actual).usual]


def test_it_integrates_to_the_coverage() -> None:
    """Need, credit, at target, below target and without, each times its minutes, are those of the verdict."""
    scenario, plans = _plans()
    table = over_time(scenario, plans)
    assert tuple(table.columns) == COLUMNS
    for judged in plans:
        mine = table[table["plan"] == judged.name]
        minutes = np.diff(mine["time_min"])
        told = judged.verdict.coverage.set_index("category").loc["all"]
        for column, name in (
            ("need", "needed_patient_min"),
            ("credit", "credit_min"),
            ("at_target", "at_target_patient_min"),
            ("below_target", "below_target_patient_min"),
            ("without", "without_patient_min"),
        ):
            assert float(mine[column].to_numpy()[:-1] @ minutes) == pytest.approx(float(told[name]), abs=1e-3)


def test_it_is_a_step_function_from_start_to_horizon() -> None:
    """Moments rise from 0 to the horizon; at each the count is that of who is there just then."""
    scenario, plans = _plans()
    for _, mine in over_time(scenario, plans).groupby("plan"):
        times = mine["time_min"].to_numpy()
        assert times[0] == 0
        assert times[-1] == scenario.horizon
        assert (np.diff(times) > 0).all()
        for _, row in mine.iterrows():
            there = [p for p in name_people(scenario) if p.arrive <= row["time_min"] + 1e-6 < p.leave]
            assert row["need"] == len(there)
            assert row["at_target"] + row["below_target"] + row["without"] == pytest.approx(len(there))


def test_plans_can_be_called_otherwise() -> None:
    """Names are those of the plans, or those given; without plans the table has its columns and no rows."""
    scenario, plans = _plans()
    assert list(over_time(scenario, plans[:1], ["key"])["plan"].unique()) == ["key"]
    empty = over_time(scenario, [])
    assert isinstance(empty, pd.DataFrame)
    assert tuple(empty.columns) == COLUMNS
    assert empty.empty
