"""The resupply timeline: what more must be at which area by when, in litres and whole units."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from itertools import product

import numpy as np
import numpy.typing as npt
import pandas as pd

from mci.demand.groups import Demand
from mci.demand.stays import find_stays
from mci.lp.index import DevicePool, Index, make_index
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


def _steps(needed: npt.NDArray[np.int64], starts: Floats) -> Iterator[tuple[float, int, int]]:
    """Yield by when, how many more, and the running total, wherever the need grows."""
    growth = np.diff(needed, prepend=0)
    for place in np.flatnonzero(growth > 0):
        yield float(starts[place]), int(growth[place]), int(needed[place])


def _gas(scenario: Scenario, need: Requirement) -> Iterator[_Row]:
    item = f"{scenario.resupply.cylinder.key} cylinder, full, with {scenario.resupply.outlets.key}"
    for number, area in enumerate(need.areas):
        steps = list(_steps(need.cylinders[number], need.starts))
        later = [by for by, _, _ in steps[1:]]
        for (by, more, total), until in zip(steps, [*later, math.inf], strict=False):
            drawn = need.litres[number][need.starts < until][-1]  # by the end of this step's last period
            yield {
                "area": area,
                "by_min": by,
                "item": item,
                "unit": "cylinder",
                "quantity": more,
                "total": total,
                "litres": drawn,
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
    """Yield the devices that are missing, all of them by the moment at which the first one is."""
    for pool, missing in _device_shortfall(scenario, demand, goal):
        if missing.max() > 1e-6:  # unlimited stocks leave minus infinity
            most = math.ceil(float(missing.max()) - 1e-6)
            by = float(demand.grid.starts[missing > 1e-6][0])
            kind = "single use" if pool.single_use else "reusable"
            yield {
                "area": pool.area, "by_min": by, "item": f"{pool.device} ({kind})", "unit": "device",
                "quantity": most, "total": most, "litres": math.nan,
            }  # fmt: skip


def _people(index: Index, need: Requirement) -> Iterator[_Row]:
    """Yield people who change cylinders, where the time that draws cost outgrows the time there is."""
    for number, area in enumerate(need.areas):
        there = np.cumsum(index.staff[area])
        missing = np.maximum(need.handling[number] - there, 0.0) / index.grid.ends
        more = math.ceil(float(missing.max()) - 1e-6)
        if more > 0:
            yield {
                "area": area, "by_min": 0.0, "item": "people who change cylinders, from the start", "unit": "person",
                "quantity": more, "total": more, "litres": math.nan,
            }  # fmt: skip


def _notes(scenario: Scenario, need: Requirement) -> Iterator[str]:
    """Yield what the numbers do not say: flows that no extra cylinder serves, gas that only lacks a regulator."""
    title = {area.key: area.title for area in scenario.areas}
    outlets = scenario.resupply.outlets.key
    for area, flow, patients in need.unmet:
        most = math.ceil(patients - 1e-6)
        yield (
            f"{most} patient{'s' if most != 1 else ''} at {format_flow(flow)} at {title[area]} cannot be served by "
            f"{outlets}; name a regulator that passes this flow or has high-pressure outlets."
        )
    for number, area in enumerate(need.areas):
        if need.cylinders[number, -1] > 0 and need.idle[number] >= scenario.resupply.litres_each / 2:
            yield (
                f"at {title[area]} cylinders that are there anyway still hold {format_litres(need.idle[number])} "
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
    notes: list[str] = []
    parts = split(scenario, demand)
    for (goal, categories), (part, counted) in product(GOALS.items(), parts):
        if not any(group.category in categories for group in counted.groups):
            continue
        need = require(part, counted, categories, settings)
        found = [*_gas(part, need), *_people(make_index(part, counted), need)]
        rows.extend({"goal": goal, **row} for row in found)
        notes.extend(f"Goal {goal}: {note}" for note in _notes(part, need))
    for goal, categories in GOALS.items():
        rows.extend({"goal": goal, **row} for row in _devices(scenario, demand, categories))
    table = pd.DataFrame(rows, columns=COLUMNS)
    order = {goal: number for number, goal in enumerate(GOALS)}
    table = table.sort_values(["goal", "by_min"], key=lambda c: c.map(order) if c.name == "goal" else c, kind="stable")
    return table.reset_index(drop=True), tuple(notes)
