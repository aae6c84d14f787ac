"""The resupply timeline, brought as deliveries at its own times, does what it promises, and nothing less would.

Every row is brought at its own moment and as a lot of its own: gas of a later delivery cannot leave
through the outlets of an earlier one.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable

import pandas as pd
from common import bound, outcome, repeatable
from hypothesis import assume, given
from hypothesis import strategies as st
from incidents import outlet_set
from random_incidents import incidents

from mci.demand.groups import count_demand
from mci.resupply.timeline import resupply_timeline
from mci.scenario.model import DeviceStock, Lot, LotKind, Resupply, Scenario, StaffShift
from mci.settings import Settings

INF = math.inf
SIZES = st.sampled_from(
    [(100.0, outlet_set("one", total=15)), (300.0, outlet_set("many", outlets=3, strong=1, total=25))]
)


def _cylinders(scenario: Scenario, row: pd.Series, number: int) -> Lot:
    size = scenario.resupply
    count = int(row["quantity"])
    return Lot(
        key=f"more-{number}",
        label="more",
        kind=LotKind.CYLINDER,
        area=row["area"],
        quantity=count,
        litres=count * size.litres_each,
        litres_each=size.litres_each,
        valve="",
        built_in=size.outlets,
        available_from=row["by_min"],
        available_until=INF,
        change_min=size.cylinder.change_min,
        watts_each=0,
        delivery="more",
    )


def brought(scenario: Scenario, rows: pd.DataFrame) -> Scenario:
    """Return the scenario with everything that the rows ask for, each row at its own moment and as a lot of its own."""
    asked = [row for _, row in rows.iterrows()]
    devices = [
        DeviceStock("more", row["area"], row["item"].partition(" (")[0], row["quantity"], row["by_min"], "more")
        for row in asked
        if row["unit"] == "device"
    ]
    people = [StaffShift("more", row["area"], row["quantity"], 0, INF) for row in asked if row["unit"] == "person"]
    lots = [_cylinders(scenario, row, number) for number, row in enumerate(asked) if row["unit"] == "cylinder"]
    assert len(devices) + len(people) + len(lots) == len(asked)
    return dataclasses.replace(
        scenario,
        lots=(*scenario.lots, *lots),
        devices=(*scenario.devices, *devices),
        staff=(*scenario.staff, *people),
    )


def _full(scenario: Scenario, categories: Iterable[str]) -> float:
    """Return what everybody of the categories on the top rung, all the time, earns."""
    demand = count_demand(scenario)
    return sum(
        scenario.weights[group.category]
        * scenario.ladders[group.ladder].rungs[0].credit
        * float(present @ demand.grid.lengths)
        for group, present in zip(demand.groups, demand.present, strict=True)
        if group.category in categories
    )


def _one_cylinder_less(rows: pd.DataFrame) -> pd.DataFrame:
    """Return the rows with one cylinder less in the last step of the first area that needs any."""
    gas = rows[rows["unit"] == "cylinder"]
    last = gas[gas["area"] == gas["area"].iloc[0]].index[-1]
    fewer = rows.copy()
    fewer.loc[last, "quantity"] -= 1
    return fewer


def _later(incident: Scenario, rows: pd.DataFrame, step: int) -> pd.DataFrame:
    """Return the rows with one cylinder of a step, and all that come after it, brought one period later instead."""
    gas = rows[rows["unit"] == "cylinder"]
    area, by = gas[["area", "by_min"]].iloc[step]
    grid = count_demand(incident).grid
    after = grid.points[int(grid.index(by)) + 1]
    assume(after < incident.horizon or not incident.reserve[area])  # what comes at the very end is part of the reserve
    moved = rows.copy()
    moved.loc[gas[(gas["area"] == area) & (gas["by_min"] > by)].index, "by_min"] = after
    moved.loc[gas.index[step], "quantity"] -= 1
    late = rows.loc[[gas.index[step]]].assign(quantity=1, by_min=after)
    return pd.concat([moved, late], ignore_index=True)


def _with_size(incident: Scenario, size: tuple, change_min: float = 1.0) -> Scenario:
    kind = dataclasses.replace(incident.resupply.cylinder, change_min=change_min)
    return dataclasses.replace(incident, resupply=Resupply(kind, *size))


@repeatable(80)
@given(incidents(memory=True), SIZES)
def test_what_the_timeline_asks_for_is_enough_and_not_too_much(incident: Scenario, size: tuple) -> None:
    """With each row there by its time everybody is at target; one cylinder less in the last step is not enough."""
    incident = _with_size(incident, size)
    table, notes = resupply_timeline(incident, count_demand(incident), Settings())
    assume(not notes)
    rows = table[table["goal"] == "everyone"]
    full = _full(incident, incident.weights)
    assert bound(brought(incident, rows)) >= full * (1 - 1e-6) - 1e-4
    if (rows["unit"] == "cylinder").any():
        assert bound(brought(incident, _one_cylinder_less(rows))) < full - 1e-5


@repeatable(60)
@given(incidents(memory=True), SIZES, st.data())
def test_no_delivery_may_come_later_nor_be_smaller(incident: Scenario, size: tuple, data: st.DataObject) -> None:
    """One cylinder of a step a period later is too late, even if all that come after it come then as well."""
    incident = _with_size(incident, size)
    table, notes = resupply_timeline(incident, count_demand(incident), Settings())
    rows = table[table["goal"] == "everyone"].reset_index(drop=True)
    steps = int((rows["unit"] == "cylinder").sum())
    assume(not notes and steps > 0)
    late = _later(incident, rows, data.draw(st.integers(0, steps - 1)))
    assert bound(brought(incident, late)) < _full(incident, incident.weights) - 1e-6


@repeatable(60)
@given(incidents(memory=True), SIZES, st.sampled_from([3.0, 20.0, 90.0]))
def test_one_person_less_cannot_change_the_cylinders(incident: Scenario, size: tuple, change: float) -> None:
    """Where the timeline asks for people, one fewer leaves somebody below target."""
    lots = tuple(dataclasses.replace(lot, change_min=change) for lot in incident.lots)
    incident = dataclasses.replace(_with_size(incident, size, change), lots=lots)
    table, notes = resupply_timeline(incident, count_demand(incident), Settings())
    rows = table[table["goal"] == "everyone"].reset_index(drop=True)
    people = rows.index[rows["unit"] == "person"]
    assume(not notes and len(people) > 0)
    full = _full(incident, incident.weights)
    assert bound(brought(incident, rows)) >= full * (1 - 1e-6) - 1e-4
    rows.loc[people[0], "quantity"] -= 1
    assert bound(brought(incident, rows)) < full - 1e-6


@repeatable(60)
@given(incidents(memory=True), SIZES)
def test_the_timeline_for_immediate_is_enough_for_them(incident: Scenario, size: tuple) -> None:
    """With all for the goal Immediate brought at its time, the strict rule keeps them all at target."""
    incident = dataclasses.replace(incident, resupply=Resupply(incident.resupply.cylinder, *size), reserve={})
    table, notes = resupply_timeline(incident, count_demand(incident), Settings())
    assume(not notes)
    rows = table[table["goal"] == "immediate"]
    service = outcome(brought(incident, rows), priority="strict").service
    mine = service[service["category"] == "immediate"]
    earned = (mine["patients"] * mine["credit"] * (mine["end_min"] - mine["start_min"])).sum()
    weight = incident.weights["immediate"]
    full = _full(incident, ["immediate"]) / weight
    assert earned >= full * (1 - 1e-6) - 1e-3
