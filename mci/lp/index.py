"""Index sets of the programme, as arrays: options, draw levels, sources, pools.

Everything that the families of columns and rows need to know about the incident is here, in
numbers; they never look at the scenario.

* An **option** is a care group on one rung of its ladder.
* A **draw level** is a flow [L/min] at an area, with or without a high-pressure connection.
* A **source** is a lot together with one kind of outlets: its own, or a regulator that fits.
* A **pool** is a stock of regulators or devices of one kind at one area.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from mci.catalogue.model import OutletSet
from mci.demand.groups import Demand
from mci.scenario.model import DeviceStock, Lot, RegulatorStock, Scenario
from mci.timegrid import TimeGrid

__all__ = [
    "DevicePool",
    "Index",
    "Level",
    "Option",
    "RegulatorPool",
    "Source",
    "is_stored_to",
    "litres_stored_to",
    "make_index",
]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Level:
    """A flow [L/min] that patients at one area may draw."""

    area: str
    flow: float
    high_pressure: bool

    def passes(self, outlets: OutletSet) -> bool:
        """Tell whether a set of outlets has one that passes this flow."""
        return outlets.passes(self.flow, high_pressure=self.high_pressure)


@dataclass(frozen=True, slots=True)
class Option:
    """A care group on one rung; ``level`` is -1 where the rung draws nothing."""

    group: int
    rung: int
    credit: float
    weight: float
    level: int
    device: str


@dataclass(frozen=True, slots=True)
class RegulatorPool:
    """Regulators of one kind at one area; ``stock`` per period."""

    area: str
    outlets: OutletSet
    stock: Floats


@dataclass(frozen=True, slots=True)
class DevicePool:
    """Devices of one kind at one area; ``stock`` per period (all that have arrived).

    ``counted`` are the periods at whose end the devices handed out are counted: the last before each moment at which
    the stock may rise, and the last of all.
    """

    area: str
    device: str
    single_use: bool
    stock: Floats
    counted: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Source:
    """A lot with one kind of outlets; ``pool`` is -1 where they are built in."""

    lot: int
    pool: int
    outlets: OutletSet


@dataclass(frozen=True, slots=True)
class Index:
    """Everything that the families enumerate.

    Parameters
    ----------
    windows
        Per lot, first and one-past-last period in which it may be drawn from.
    staff, power
        Per area: staff minutes and watts per period; ``inf`` where unlimited.
    """

    grid: TimeGrid
    demand: Demand
    areas: tuple[str, ...]
    options: tuple[Option, ...]
    levels: tuple[Level, ...]
    lots: tuple[Lot, ...]
    windows: tuple[tuple[int, int], ...]
    sources: tuple[Source, ...]
    regulator_pools: tuple[RegulatorPool, ...]
    device_pools: tuple[DevicePool, ...]
    staff: dict[str, Floats]
    power: dict[str, Floats]
    reserve: dict[str, float]


def is_stored_to(lot: Lot, end: float) -> bool:
    """Tell whether the lot is stored gas that is still, or already, at its area at the end."""
    return bool(np.isfinite(lot.litres)) and lot.available_from <= end <= lot.available_until


def litres_stored_to(lots: Iterable[Lot], area: str, end: float) -> float:
    """Return what stored gas can be there at an area at the end at most [L]: a reserve can be no more."""
    return sum(lot.litres for lot in lots if lot.area == area and is_stored_to(lot, end))


def _options(scenario: Scenario, demand: Demand) -> tuple[tuple[Option, ...], tuple[Level, ...]]:
    levels: dict[Level, int] = {}
    options = []
    for number, group in enumerate(demand.groups):
        for rank, rung in enumerate(scenario.ladders[group.ladder].rungs):
            level = -1
            if rung.flow_lpm > 0:
                key = Level(group.area, rung.flow_lpm, rung.device.high_pressure)
                level = levels.setdefault(key, len(levels))
            weight = scenario.weights[group.category]
            options.append(Option(number, rank, rung.credit, weight, level, rung.device.key))
    return tuple(options), tuple(levels)


def _present_stock(grid: TimeGrid, members: Iterable[RegulatorStock | DeviceStock]) -> Floats:
    """Return how many there are in each period: devices that have come stay, regulators may end."""
    stock = np.zeros(grid.periods)
    for member in members:
        until = member.available_until if isinstance(member, RegulatorStock) else math.inf
        first, last = grid.index([member.available_from, until])
        stock[int(first) : int(last)] += member.quantity
    return stock


def _regulator_pools(scenario: Scenario, grid: TimeGrid) -> tuple[RegulatorPool, ...]:
    kinds: dict[tuple[str, str], list[RegulatorStock]] = {}
    for stock in scenario.regulators:
        kinds.setdefault((stock.area, stock.outlets.key), []).append(stock)
    return tuple(
        RegulatorPool(area, members[0].outlets, _present_stock(grid, members)) for (area, _), members in kinds.items()
    )


def _device_pools(scenario: Scenario, grid: TimeGrid) -> tuple[DevicePool, ...]:
    kinds: dict[tuple[str, str], list[DeviceStock]] = {}
    for stock in scenario.devices:
        kinds.setdefault((stock.area, stock.device), []).append(stock)
    single_use = {
        rung.device.key: rung.device.single_use for ladder in scenario.ladders.values() for rung in ladder.rungs
    }
    pools = []
    for (area, device), members in kinds.items():
        if device in single_use:  # devices that no ladder uses bind nothing
            there = _present_stock(grid, members)
            comes = grid.index([member.available_from for member in members])
            ends = {int(first) - 1 for first in comes if first > 0} | {grid.periods - 1}
            pools.append(DevicePool(area, device, single_use[device], there, tuple(sorted(ends))))
    return tuple(pools)


def _sources(lots: tuple[Lot, ...], pools: tuple[RegulatorPool, ...]) -> tuple[Source, ...]:
    sources = []
    for number, lot in enumerate(lots):
        if lot.quantity <= 0 or lot.litres <= 0:
            continue
        if lot.built_in is not None:
            sources.append(Source(number, -1, lot.built_in))
            continue
        sources.extend(
            Source(number, rank, pool.outlets)
            for rank, pool in enumerate(pools)
            if pool.area == lot.area and lot.valve in pool.outlets.fits
        )
    return tuple(sources)


def make_index(scenario: Scenario, demand: Demand) -> Index:
    """Enumerate the incident for the programme."""
    grid = demand.grid
    options, levels = _options(scenario, demand)
    regulator_pools = _regulator_pools(scenario, grid)
    staff = {area.key: np.zeros(grid.periods) for area in scenario.areas}
    for shift in scenario.staff:
        first, last = grid.index([shift.available_from, shift.available_until])
        staff[shift.area][first:last] += shift.people * grid.lengths[first:last]
    power = {area.key: np.zeros(grid.periods) for area in scenario.areas}
    for supply in scenario.power:
        first, last = grid.index([supply.available_from, supply.available_until])
        power[supply.area][first:last] += supply.watts
    windows = [grid.index([lot.available_from, lot.available_until]) for lot in scenario.lots]
    return Index(
        grid=grid,
        demand=demand,
        areas=tuple(area.key for area in scenario.areas),
        options=options,
        levels=levels,
        lots=scenario.lots,
        windows=tuple((int(first), int(last)) for first, last in windows),
        sources=_sources(scenario.lots, regulator_pools),
        regulator_pools=regulator_pools,
        device_pools=_device_pools(scenario, grid),
        staff=staff,
        power=power,
        reserve=dict(scenario.reserve),
    )
