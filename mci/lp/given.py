"""The rows about care where supplies depend on what is given to each area: how much, and when, are columns.

Time is cut into **steps**; every step begins at a breakpoint of the grid.  ``given_gp`` is how many
units of a kind have been given to the care of an area by step ``p``, counted from the start.  The same
rows serve to plan transport, where those columns depend on trips, and to ask what given trips are worth,
where they are fixed.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from mci.demand.groups import Demand
from mci.errors import NoPlanError
from mci.lp.care_rows import care_rows
from mci.lp.index import Index, is_stored_to, make_index
from mci.lp.names import make_name
from mci.lp.programme import Columns, Resource, Rows, RowWriter, left_open
from mci.lp.supply_rows import lot_resource, supply_rows
from mci.lp.variables import Variables, make_variables
from mci.scenario.model import DeviceStock, Lot, RegulatorStock, Scenario
from mci.scenario.network import Item, ItemKind

__all__ = ["Given", "Grant", "write_given"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

#: More cylinders than ever come to one area; how many there are is a column.
MANY = 1_000_000


@dataclass(frozen=True, slots=True)
class Grant:
    """Things of one kind that may be given to one area.

    Parameters
    ----------
    batch
        Number of what is given apart: gas of later cylinders cannot leave through the outlets of earlier ones, so a
        grant of all together is worth at least as much as what it stands for.
    """

    area: str
    item: Item
    batch: int = 0

    @property
    def key(self) -> str:
        """Name of the stock that it feeds."""
        return f"{self.item.key}, given to {self.area}" + (f" #{self.batch + 1}" if self.batch else "")


@dataclass(frozen=True, slots=True)
class Given:
    """Columns and rows of care with what is given.

    Parameters
    ----------
    number
        Columns ``given``, shape ``(grants, steps)``.
    drawn
        Columns of the litres drawn from what was given, counted from the start to the end of each step, same shape;
        used for cylinders only.
    unkept
        Columns of the litres that are missing of the reserve, per area.
    step_of
        The step in which each period lies.
    """

    scenario: Scenario
    index: Index
    variables: Variables
    grants: tuple[Grant, ...]
    number: Ints
    drawn: Ints
    unkept: Ints
    step_of: Ints
    families: tuple[Rows, ...]


def _lot(grant: Grant, lot: Lot) -> Lot:
    """Return a lot of what is given: its litres are limited by rows of their own, so it has none here."""
    return replace(lot, key=grant.key, area=grant.area, quantity=MANY, litres=math.inf)


def _with_grants(scenario: Scenario, grants: Sequence[Grant]) -> Scenario:
    lots, regulators, devices = list(scenario.lots), list(scenario.regulators), list(scenario.devices)
    for grant in grants:
        item = grant.item
        if item.lot is not None:
            lots.append(_lot(grant, item.lot))
        elif item.outlets is not None:
            regulators.append(RegulatorStock(grant.key, grant.area, item.outlets, 0, 0.0, ""))
        else:
            devices.append(DeviceStock(grant.key, grant.area, item.device, 0, 0.0, ""))
    return replace(scenario, lots=tuple(lots), regulators=tuple(regulators), devices=tuple(devices))


def _resource(grant: Grant, lots: dict[str, Lot]) -> tuple[Resource, float]:
    """Return what a grant is one more of, and how many the rows count already."""
    item = grant.item
    if item.lot is not None:
        return lot_resource(lots[grant.key]), MANY
    if item.outlets is not None:
        return Resource("regulator", grant.area, item.outlets.key), 0.0
    return Resource("device", grant.area, item.device), 0.0


def _drawn_rows(given: Given) -> Iterable[Rows]:
    """Yield the rows about litres: ``drawn_p = drawn_p-1 + sum_k tau_k sum_f f u`` and ``drawn_p <= v given_p``."""
    index, (grants, steps) = given.index, given.number.shape
    places = {grant.key: row for row, grant in enumerate(given.grants)}
    sums, limits = RowWriter(), RowWriter()
    for row, grant in enumerate(given.grants):
        if grant.item.lot is not None:
            rows = row * steps + np.arange(steps)
            sums.add(rows, given.drawn[row], -1.0)
            sums.add(rows[1:], given.drawn[row, :-1], 1.0)
            limits.add(rows, given.drawn[row], 1.0)
            limits.add(rows, given.number[row], -grant.item.lot.litres_each)
    for number, link in enumerate(given.variables.links):
        place = places.get(index.lots[index.sources[link.source].lot].key)
        if place is not None:
            litres = index.levels[link.level].flow * index.grid.lengths
            sums.add(place * steps + given.step_of, given.variables.connect[number], litres)
    numbers = [(grant, step) for grant in range(grants) for step in range(steps)]
    yield sums.finish([make_name("drawn", *each) for each in numbers], 0.0, equal=True)
    yield limits.finish([make_name("given", *each) for each in numbers], 0.0)


def _reserve_rows(given: Given, reserve: Mapping[str, float]) -> Rows:
    """Leave the reserve, be it in what is given: ``sum drawn + drawn_P - v given_P - unkept <= litres - reserve``.

    ``P`` is the last step; ``litres`` are the area's own.

    Raises
    ------
    NoPlanError
        If an area has too little, and no cylinder can be given to it.
    """
    index, end = given.index, float(given.index.grid.points[-1])
    kept = [area for area in index.areas if reserve.get(area, 0.0) > 0]
    own = [lot for lot in index.lots if is_stored_to(lot, end)]  # what is given has no litres of its own
    held = {area: sum(lot.litres for lot in own if lot.area == area) for area in kept}
    fed = {grant.area for grant in given.grants if grant.item.lot is not None}
    short = [area for area in kept if reserve[area] > held[area] and area not in fed]
    if short:
        raise NoPlanError(
            f"the reserve of {reserve[area]:.0f} L at {area}: only {held[area]:.0f} L can be there at the end"
            for area in short
        )
    writer = RowWriter()
    for number, link in enumerate(given.variables.links):
        lot = index.lots[index.sources[link.source].lot]
        if lot.area in kept and is_stored_to(lot, end):
            flow = index.levels[link.level].flow
            writer.add(kept.index(lot.area), given.variables.connect[number], flow * index.grid.lengths)
    for number, grant in enumerate(given.grants):
        if grant.area in kept and grant.item.lot is not None:
            writer.add(kept.index(grant.area), given.drawn[number, -1:], 1.0)
            writer.add(kept.index(grant.area), given.number[number, -1:], -grant.item.lot.litres_each)
    for row, area in enumerate(kept):
        writer.add(row, given.unkept[index.areas.index(area)][None], -1.0)
    names = [make_name("reserve", row) for row in range(len(kept))]
    return writer.finish(names, [held[area] - reserve[area] for area in kept])


def write_given(
    scenario: Scenario,
    demand: Demand,
    grants: Sequence[Grant],
    starts: npt.ArrayLike,
    columns: Columns,
    *,
    must_keep: bool = True,
) -> Given:
    """Write columns and rows of care with what is given.

    Parameters
    ----------
    scenario, demand
        One area or all of them, without what areas lend; every step begins at a breakpoint.
    grants
        What may be given where.
    starts
        Start of each step [min], shape ``(steps,)``, the first 0.
    columns
        What is written so far; the new ones are added.
    must_keep
        Whether reserves must be kept; if not, there are columns of what is missing of them.

    Raises
    ------
    NoPlanError
        If the reserve of an area is more than can ever be there.
    """
    begins = demand.grid.index(starts)
    step_of = np.searchsorted(begins, np.arange(demand.grid.periods), side="right") - 1
    reserve, scenario = scenario.reserve, replace(_with_grants(scenario, grants), reserve={})
    index = make_index(scenario, demand)
    variables = make_variables(index, columns, steady=False)
    shape = (len(grants), len(begins))
    cylinders = np.array([grant.item.kind is ItemKind.FULL for grant in grants], dtype=bool)
    given = Given(
        scenario=scenario,
        index=index,
        variables=variables,
        grants=tuple(grants),
        number=columns.add("number", np.ones(shape, dtype=bool)),
        drawn=columns.add("litres", np.broadcast_to(cylinders[:, None], shape)),
        unkept=columns.add("unkept", np.array([not must_keep and reserve.get(a, 0.0) > 0 for a in index.areas])),
        step_of=step_of,
        families=(),
    )
    families = [*supply_rows(index, variables), *care_rows(index, variables)]
    lots = {lot.key: lot for lot in scenario.lots}
    for row, grant in enumerate(grants):
        resource, counted = _resource(grant, lots)
        by_period = given.number[row][step_of]
        families = [left_open(rows, resource, counted, by_period) for rows in families]
    return replace(given, families=(*families, *_drawn_rows(given), _reserve_rows(given, reserve)))
