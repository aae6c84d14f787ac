"""The resupply timeline: what more must be at which area by when, in litres and whole units."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from itertools import chain

import numpy as np
import numpy.typing as npt
import pandas as pd

from mci.demand.groups import Demand
from mci.demand.stays import find_stays
from mci.lp.index import DevicePool, make_index
from mci.lp.parts import split
from mci.lp.requirement import Requirement, require
from mci.scenario.model import CATEGORIES, Scenario
from mci.scenario.presence import first_needs
from mci.settings import Settings
from mci.units import format_flow, format_litres

__all__ = ["GOALS", "resupply_timeline"]

Floats = npt.NDArray[np.float64]
_Row = dict[str, object]

#: Whom the timeline keeps at target.
GOALS: dict[str, Collection[str]] = {"everyone": CATEGORIES, "immediate": ("immediate",)}
COLUMNS = ["goal", "area", "by_min", "item", "unit", "quantity", "total", "litres"]


def _gas(scenario: Scenario, need: Requirement) -> Iterator[_Row]:
    total = 0
    for delivery in need.deliveries:
        total += delivery.quantity
        yield {
            "area": scenario.areas[0].key,
            "by_min": delivery.by,
            "item": f"{scenario.resupply.cylinder.key} cylinder, full, with {scenario.resupply.outlets.key}",
            "unit": "cylinder",
            "quantity": delivery.quantity,
            "total": total,
            "litres": delivery.litres,
        }


def _first_needs(scenario: Scenario, demand: Demand, goal: Collection[str]) -> dict[tuple[str, str], Floats]:
    """Return, per area and device of a top rung, how many patients have come to need one of their own, per period."""
    needs: dict[tuple[str, str], Floats] = {}
    for stay, device in first_needs(scenario, find_stays(scenario), goal):
        counts = needs.setdefault((stay.area, device.key), np.zeros(demand.grid.periods))
        counts[int(demand.grid.index(stay.start)) :] += stay.count
    return needs


def _device_shortfall(scenario: Scenario, demand: Demand, goal: Collection[str]) -> Iterator[tuple[DevicePool, Floats]]:
    """Yield, per stock of a device that somebody's top rung needs, how many are missing per period."""
    index = make_index(scenario, demand)
    needs = _first_needs(scenario, demand, goal)
    for pool in index.device_pools:
        if pool.single_use:
            yield pool, needs.get((pool.area, pool.device), np.zeros(demand.grid.periods)) - pool.stock
            continue
        groups = [
            option.group
            for option in index.options
            if option.rung == 0
            and option.device == pool.device
            and demand.groups[option.group].area == pool.area
            and demand.groups[option.group].category in goal
        ]
        yield pool, demand.present[groups].sum(axis=0) - pool.stock


def _devices(scenario: Scenario, demand: Demand, goal: Collection[str]) -> Iterator[_Row]:
    """Yield the devices that are missing: one row each, all by the moment at which the first one is.

    They are small, and nobody sends them one by one.
    """
    for pool, missing in _device_shortfall(scenario, demand, goal):
        if missing.max() > 1e-6:  # unlimited stocks leave minus infinity
            most = math.ceil(float(missing.max()) - 1e-6)
            by = float(demand.grid.starts[missing > 1e-6][0])
            kind = "single use" if pool.single_use else "reusable"
            yield {
                "area": pool.area, "by_min": by, "item": f"{pool.device} ({kind})", "unit": "device",
                "quantity": most, "total": most, "litres": math.nan,
            }  # fmt: skip


def _people(scenario: Scenario, need: Requirement) -> Iterator[_Row]:
    if need.people > 0:
        yield {
            "area": scenario.areas[0].key, "by_min": 0.0, "item": "people who change cylinders, from the start",
            "unit": "person", "quantity": need.people, "total": need.people, "litres": math.nan,
        }  # fmt: skip


def _notes(scenario: Scenario, need: Requirement) -> Iterator[str]:
    """Yield what the numbers do not say: a limit, flows that no cylinder serves, gas that only lacks a regulator."""
    title, outlets = scenario.areas[0].title, scenario.resupply.outlets.key
    if not need.proven:
        yield f"the solver reached its limit at {title}; fewer cylinders, or later ones, may do."
    for flow, patients in need.unmet:
        most = math.ceil(patients - 1e-6)
        yield (
            f"{most} patient{'s' if most != 1 else ''} at {format_flow(flow)} at {title} cannot be served by "
            f"{outlets}; name a regulator that passes this flow or has high-pressure outlets."
        )
    if need.deliveries and need.idle >= scenario.resupply.litres_each / 2:
        yield (
            f"at {title} cylinders that are there anyway still hold {format_litres(need.idle)} "
            "at the end; with more regulators that fit them, fewer cylinders may have to come."
        )


def resupply_timeline(scenario: Scenario, demand: Demand, settings: Settings) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Return what more must be where by when so that nobody of each goal falls below target.

    Parameters
    ----------
    scenario, demand, settings
        The incident, its patients, and the limits of the solver.

    Returns
    -------
    table, notes
        ``resupply`` and ``resupply_notes`` of :class:`mci.pipeline.Run`.
    """
    rows: list[_Row] = []
    notes: dict[str, list[str]] = {goal: [] for goal in GOALS}
    for part, counted in split(scenario, demand):
        for goal, need in require(part, counted, GOALS, settings).items():
            found = [*_gas(part, need), *_people(part, need)]
            rows.extend({"goal": goal, **row} for row in found)
            notes[goal].extend(f"Goal {goal}: {note}" for note in _notes(part, need))
    for goal, categories in GOALS.items():
        rows.extend({"goal": goal, **row} for row in _devices(scenario, demand, categories))
    table = pd.DataFrame(rows, columns=COLUMNS)
    order = {goal: number for number, goal in enumerate(GOALS)}
    table = table.sort_values(["goal", "by_min"], key=lambda c: c.map(order) if c.name == "goal" else c, kind="stable")
    return table.reset_index(drop=True), tuple(chain.from_iterable(notes.values()))
