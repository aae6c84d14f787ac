"""The hull of several variants of an incident: index sets that have whatever any of them needs.

Variants differ in numbers: how many come when, what stocks hold, when deliveries come.  The programme of the hull has
a column wherever one of them may need it, on a grid with the breakpoints of all, which costs no accuracy.  A variant is
then the same programme with other limits: what it lacks is limited to nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from mci.demand.groups import CareGroup, Demand, sort_groups
from mci.lp.index import Index, make_index
from mci.lp.variables import scarce_pools
from mci.scenario.model import DeviceStock, Lot, RegulatorStock, Scenario

__all__ = ["Variant", "find_hull", "fit"]

Floats = npt.NDArray[np.float64]
#: A variant: one area of an incident, and its patients on the common grid.
Variant = tuple[Scenario, Demand]

_Stock = TypeVar("_Stock", RegulatorStock, DeviceStock)
#: A stock that never runs out, and one that always does.
PLENTY, NONE = 1e12, -1.0


def find_hull(variants: Sequence[Variant]) -> tuple[Scenario, Index]:
    """Return the hull of variants of one area, as a scenario that names everything and as index sets.

    Raises
    ------
    ValueError
        If they differ in more than numbers, so that no common programme holds them.
    """
    scenarios = [scenario for scenario, _ in variants]
    lots = {lot.key: lot for scenario in scenarios for lot in scenario.lots}
    hull = replace(
        scenarios[0],
        lots=tuple(_widest([lot for s in scenarios for lot in s.lots if lot.key == key]) for key in lots),
        regulators=tuple(_kinds(stock for s in scenarios for stock in s.regulators).values()),
        devices=tuple(_kinds(stock for s in scenarios for stock in s.devices).values()),
    )
    groups = _groups(variants)
    demands = [_spread(demand, groups) for _, demand in variants]
    most = replace(
        demands[0],
        present=_most([each.present for each in demands]),
        stayers=_most([each.stayers for each in demands]),
        transferred=_most([each.transferred for each in demands]),
    )
    index = make_index(hull, most)
    fitted = [fit(variant, hull, index) for variant in variants]
    scarce = {pool for each in fitted for pool in scarce_pools(each)}
    return hull, replace(
        index,
        regulator_pools=tuple(
            replace(pool, stock=_least([each.regulator_pools[n].stock for each in fitted]))
            for n, pool in enumerate(index.regulator_pools)
        ),
        device_pools=tuple(
            replace(
                pool,
                stock=np.full(index.grid.periods, NONE if n in scarce else PLENTY)
                if pool.single_use
                else _least([each.device_pools[n].stock for each in fitted]),
                counted=_counted([each.device_pools[n].counted for each in fitted], index.grid.periods),
            )
            for n, pool in enumerate(index.device_pools)
        ),
        staff={area: _least([each.staff[area] for each in fitted]) for area in index.areas},
        power={area: _least([each.power[area] for each in fitted]) for area in index.areas},
    )


def fit(variant: Variant, hull: Scenario, index: Index) -> Index:
    """Return the index sets of a variant, numbered like those of the hull; what it lacks is there with nothing in it.

    Raises
    ------
    ValueError
        If it has something that the hull does not have, or needs another ladder.
    """
    scenario, demand = variant
    own = {lot.key: lot for lot in scenario.lots}
    aligned = replace(
        scenario,
        lots=tuple(own.pop(lot.key, replace(lot, quantity=0, litres=min(lot.litres, 0.0))) for lot in hull.lots),
        regulators=(*(replace(stock, quantity=0) for stock in hull.regulators), *scenario.regulators),
        devices=(*(replace(stock, quantity=0) for stock in hull.devices), *scenario.devices),
    )
    found = make_index(aligned, _spread(demand, index.demand.groups))
    pools = [(pool.area, pool.outlets) for pool in index.regulator_pools]
    devices = [(pool.area, pool.device) for pool in index.device_pools]
    if (
        own
        or found.levels != index.levels
        or len(found.options) != len(index.options)
        or [(pool.area, pool.outlets) for pool in found.regulator_pools] != pools
        or [(pool.area, pool.device) for pool in found.device_pools] != devices
    ):
        raise ValueError("the variant does not fit into the hull")
    counted = [
        tuple(sorted({*pool.counted, *mine.counted}))
        for pool, mine in zip(index.device_pools, found.device_pools, strict=True)
    ]
    return replace(
        found,
        sources=index.sources,
        device_pools=tuple(replace(p, counted=c) for p, c in zip(found.device_pools, counted, strict=True)),
    )


def _most(arrays: Sequence[Floats]) -> Floats:
    """Return the largest of each place."""
    return np.asarray(np.stack(arrays).max(axis=0), dtype=np.float64)


def _least(arrays: Sequence[Floats]) -> Floats:
    """Return the smallest of each place."""
    return np.asarray(np.stack(arrays).min(axis=0), dtype=np.float64)


def _counted(ends: Sequence[tuple[int, ...]], periods: int) -> tuple[int, ...]:
    """Return after which periods devices handed out are counted: after any, where more may come, no matter when."""
    if any(len(each) > 1 for each in ends):
        return tuple(range(periods))
    return tuple(sorted({end for each in ends for end in each}))


def _widest(lots: Sequence[Lot]) -> Lot:
    """Return a lot that is there whenever one of some is, with the most units."""
    return replace(
        lots[0],
        quantity=max(lot.quantity for lot in lots),
        litres=max(lot.litres for lot in lots),
        available_from=min(lot.available_from for lot in lots),
        available_until=max(lot.available_until for lot in lots),
    )


def _kinds(stocks: Iterable[_Stock]) -> dict[object, _Stock]:
    """Return one stock of each kind, there from the start to the end."""
    found: dict[object, _Stock] = {}
    for stock in stocks:
        if isinstance(stock, RegulatorStock):
            always = replace(stock, available_from=0.0, available_until=math.inf, quantity=1)
            found.setdefault(stock.outlets.key, always)
        else:
            found.setdefault(stock.device, replace(stock, available_from=0.0, quantity=1))
    return found


def _groups(variants: Sequence[Variant]) -> tuple[CareGroup, ...]:
    return tuple(sort_groups({group for _, demand in variants for group in demand.groups}, variants[0][0]))


def _spread(demand: Demand, groups: Sequence[CareGroup]) -> Demand:
    """Return the same patients counted in more care groups.

    Raises
    ------
    ValueError
        If a group is not among them.
    """
    rows = [groups.index(group) for group in demand.groups]

    def spread(counts: Floats) -> Floats:
        wide = np.zeros((len(groups), demand.grid.periods))
        wide[rows] = counts
        return wide

    return replace(
        demand,
        groups=tuple(groups),
        present=spread(demand.present),
        stayers=spread(demand.stayers),
        transferred=spread(demand.transferred),
    )
