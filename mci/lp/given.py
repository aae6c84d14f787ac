"""The rows about care where supplies depend on what is given to each area: how much, and when, are columns.

Time is cut into **steps**; every step begins at a breakpoint of the grid.  ``given_gp`` is how many
units of a kind have been given to the care of an area by step ``p``, counted from the start.  The same
rows serve to plan transport, where those columns depend on trips, and to ask what given trips are worth,
where they are fixed.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from mci.demand.groups import Demand
from mci.lp.care_rows import care_rows
from mci.lp.index import Index, make_index
from mci.lp.names import make_name, read_name
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
    """Things of one kind that may be given to one area."""

    area: str
    item: Item

    @property
    def key(self) -> str:
        """Name of the stock that it feeds."""
        return f"{self.item.key}, given to {self.area}"


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
    step_of
        The step in which each period lies.
    """

    scenario: Scenario
    index: Index
    variables: Variables
    grants: tuple[Grant, ...]
    number: Ints
    drawn: Ints
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


def _kept_back(rows: Rows, given: Given) -> Rows:
    """Let what is given be kept back too: ``sum drawn + drawn_P - v given_P <= litres there - reserve``, ``P`` the end.

    A reserve of an area of which no own gas is drawn holds by itself.
    """
    kept = [area for area in given.index.areas if given.index.reserve.get(area, 0) > 0]
    areas = {kept[read_name(name)[1][0]]: row for row, name in enumerate(rows.names) if read_name(name)[0] == "reserve"}
    row, column, value = [rows.row], [rows.column], [rows.value]
    for number, grant in enumerate(given.grants):
        if grant.area in areas and grant.item.lot is not None:
            row.append(np.full(2, areas[grant.area]))
            column.append(np.array([given.drawn[number, -1], given.number[number, -1]]))
            value.append(np.array([1.0, -grant.item.lot.litres_each]))
    return replace(rows, row=np.concatenate(row), column=np.concatenate(column), value=np.concatenate(value))


def write_given(
    scenario: Scenario, demand: Demand, grants: Sequence[Grant], starts: npt.ArrayLike, columns: Columns
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
    """
    begins = demand.grid.index(starts)
    step_of = np.searchsorted(begins, np.arange(demand.grid.periods), side="right") - 1
    scenario = _with_grants(scenario, grants)
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
        step_of=step_of,
        families=(),
    )
    families = [*supply_rows(index, variables), *care_rows(index, variables)]
    lots = {lot.key: lot for lot in scenario.lots}
    for row, grant in enumerate(grants):
        resource, counted = _resource(grant, lots)
        by_period = given.number[row][step_of]
        families = [left_open(rows, resource, counted, by_period) for rows in families]
    families = [_kept_back(rows, given) for rows in families]
    return replace(given, families=(*families, *_drawn_rows(given)))
