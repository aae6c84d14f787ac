"""The resupply timeline by hand."""

from __future__ import annotations

import dataclasses

import pandas as pd
import pytest
from incidents import cylinders, ladder, outlet_set, patients, regulator, scenario

from mci.demand.groups import count_demand
from mci.lp.outcome import Status
from mci.lp.solve import Solution, Solver
from mci.resupply.timeline import resupply_timeline
from mci.scenario.model import Resupply, Scenario
from mci.settings import Settings

OWN = outlet_set("own")


def _timeline(incident: Scenario) -> tuple[pd.DataFrame, tuple[str, ...]]:
    return resupply_timeline(incident, count_demand(incident, 10.0), Settings())


def _steps(table: pd.DataFrame, goal: str, unit: str) -> list[tuple[float, int, int]]:
    rows = table[(table["goal"] == goal) & (table["unit"] == unit)]
    return list(zip(rows["by_min"], rows["quantity"], rows["total"], strict=True))


def _one(**changes: object) -> Scenario:
    """Return one patient at 10 L/min for two hours on 700 L; more comes in cylinders of 300 L."""
    incident = scenario(
        horizon=120,
        ladders=[ladder("one", ("mask", 10, 1.0), single_use=True)],
        patients=[patients(1, "one")],
        lots=[cylinders(1, 700, built_in=OWN)],
    )
    size = Resupply(dataclasses.replace(incident.resupply.cylinder, change_min=0.0), 300.0, OWN)
    return dataclasses.replace(incident, resupply=size, **changes)


def test_cylinders_come_when_the_ones_before_are_empty() -> None:
    """1200 L less 700 L are two cylinders of 300 L: one at T+70 when the own gas ends, the other at T+100."""
    table, notes = _timeline(_one())
    assert _steps(table, "everyone", "cylinder") == [(70, 1, 1), (100, 1, 2)]
    assert notes == ()
    gas = table[(table["goal"] == "everyone") & (table["unit"] == "cylinder")]
    assert gas["litres"].round(6).tolist() == [300, 500]


def test_the_goal_immediate_leaves_others_out() -> None:
    """A second patient, Minimal, doubles what everyone needs and changes nothing for Immediate."""
    incident = _one()
    both = dataclasses.replace(incident, patients=(*incident.patients, patients(1, "one", category="minimal")))
    table, _ = _timeline(both)
    assert _steps(table, "immediate", "cylinder") == [(70, 1, 1), (100, 1, 2)]
    assert sum(quantity for _, quantity, _ in _steps(table, "everyone", "cylinder")) == 6  # 2400 - 700 L


def test_missing_devices_are_asked_for() -> None:
    """No mask in stock for one patient: one mask, at once."""
    incident = _one()
    none = dataclasses.replace(incident, devices=(dataclasses.replace(incident.devices[0], quantity=0.0),))
    table, _ = _timeline(none)
    assert _steps(table, "everyone", "device") == [(0, 1, 1)]


def test_people_are_asked_for_where_changes_take_longer_than_there_is() -> None:
    """300 min for 700 L at 10 L/min are 4.3 people's time; a quarter of one is there, so five more, at once."""
    lots = (cylinders(1, 700, built_in=OWN, change=300),)
    quarter = (dataclasses.replace(_one().staff[0], people=0.25),)
    table, _ = _timeline(_one(lots=lots, staff=quarter))
    assert _steps(table, "everyone", "person") == [(0, 5, 5)]


def test_staff_unlimited_from_a_moment_on_are_limited_before_it() -> None:
    """Nobody until T+60, then any number: what is due in the first hour still asks for a person."""
    later = (dataclasses.replace(_one().staff[0], available_from=60),)
    table, _ = _timeline(_one(lots=(cylinders(1, 700, built_in=OWN, change=60),), staff=later))
    assert _steps(table, "everyone", "person") == [(0, 1, 1)]


@pytest.mark.parametrize(("count", "who"), [(1, "1 patient"), (2, "2 patients")])
def test_a_flow_that_the_resupply_cannot_pass_is_told(count: int, who: str) -> None:
    """20 L/min through outlets of 15 L/min: no cylinder helps, a note says so."""
    incident = scenario(
        horizon=60,
        ladders=[ladder("much", ("mask", 20, 1.0))],
        patients=[patients(count, "much")],
        lots=[cylinders(1, 100)],
        regulators=[regulator(1)],
    )
    table, notes = _timeline(incident)
    assert table[table["unit"] == "cylinder"].empty
    assert [note.partition(" at ")[0] for note in notes] == [f"Goal everyone: {who}", f"Goal immediate: {who}"]


def test_outlets_count_as_well_as_litres() -> None:
    """Three patients for ten minutes need 300 L, one cylinder's worth, but three outlets: three cylinders."""
    incident = _one()
    short = dataclasses.replace(incident, horizon=10, lots=(), patients=(patients(3, "one"),))
    assert _steps(_timeline(short)[0], "everyone", "cylinder") == [(0, 3, 3)]


def test_gas_does_not_leave_through_the_outlet_of_an_empty_cylinder() -> None:
    """One patient for 30 min, then two for 10: both cylinders of 300 L must still hold gas at T+30.

    The first is there from the start.  It may give 200 L at most before T+30, so the second must take
    over at T+20; at T+30, when the first is empty if left alone, would be too late.
    """
    incident = _one()
    people = (
        patients(1, "one", stay=30),
        patients(2, "one", arrive=30, stay=10),
    )
    both = dataclasses.replace(incident, horizon=40, lots=(), patients=people)
    table, _ = _timeline(both)
    assert _steps(table, "everyone", "cylinder") == [(0, 1, 1), (20, 1, 2)]
    assert table[table["unit"] == "cylinder"]["litres"].tolist()[:2] == pytest.approx([200, 500])


def test_the_last_of_many_deliveries_brings_all_that_is_left() -> None:
    """One patient on nothing but the resupply for two hours: a cylinder of 50 L every five minutes, 24 in all."""
    incident = _one(lots=())
    small = dataclasses.replace(incident, resupply=dataclasses.replace(incident.resupply, litres_each=50.0))
    table, _ = resupply_timeline(small, count_demand(small, 5.0), Settings())
    single = [(5.0 * number, 1, number + 1) for number in range(11)]
    assert _steps(table, "everyone", "cylinder") == [*single, (55.0, 13, 24)]


def test_a_limit_of_the_solver_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a solve stopped early the numbers still do, but fewer might, and a note says so."""
    minimise = Solver.minimise

    def stopped(self: Solver, costs: object) -> Solution:
        return dataclasses.replace(minimise(self, costs), status=Status.LIMIT)

    monkeypatch.setattr(Solver, "minimise", stopped)
    _, notes = _timeline(_one())
    assert notes[0] == "Goal everyone: the solver reached its limit at a; fewer cylinders, or later ones, may do."
