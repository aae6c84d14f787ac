"""The columns of the programme, one function per family.

All are at least 0.  A column exists only where it can matter: no patients, no supply yet, or a
limit that cannot bind, and it is left out.

==========  =======================  ==================================================
``serve``   option, period           patients of a care group on a rung
``connect`` link, period             patients of a draw level connected to a source
``use``     source, period           units of a lot in use with this kind of outlets
``keep``    wearer, period           patients who keep a single-use device from before
``fit``     wearer, period           single-use devices handed out
``spare``   area, period             staff minutes carried over
``worse``   option, period           patients who fall below a rung that they had
==========  =======================  ==================================================
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from mci.lp.index import DevicePool, Index
from mci.lp.programme import ABSENT, Columns

__all__ = ["Link", "Variables", "Wearer", "make_variables", "scarce_pools"]

Ints = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Link:
    """A draw level that may be served by a source."""

    source: int
    level: int


@dataclass(frozen=True, slots=True)
class Wearer:
    """A care group and a single-use device on its ladder, from a pool that may run out."""

    group: int
    pool: int


@dataclass(frozen=True, slots=True)
class Variables:
    """Column numbers of every family, ``ABSENT`` where there is no column."""

    links: tuple[Link, ...]
    wearers: tuple[Wearer, ...]
    serve: Ints
    connect: Ints
    use: Ints
    keep: Ints
    fit: Ints
    spare: Ints
    worse: Ints


def _serve(index: Index, columns: Columns) -> Ints:
    groups = [option.group for option in index.options]
    return columns.add("serve", index.demand.present[groups] > 0)


def _active(index: Index, lot: int) -> npt.NDArray[np.bool_]:
    first, last = index.windows[lot]
    periods = np.arange(index.grid.periods)
    return (periods >= first) & (periods < last)


def _links(index: Index) -> tuple[Link, ...]:
    links = []
    for number, source in enumerate(index.sources):
        area, outlets = index.lots[source.lot].area, source.outlets
        for rank, level in enumerate(index.levels):
            if level.area == area and level.passes(outlets):
                links.append(Link(number, rank))
    return tuple(links)


def _connect(index: Index, columns: Columns, links: tuple[Link, ...], serve: Ints) -> Ints:
    wanted = np.zeros((len(index.levels), index.grid.periods), dtype=bool)
    for number, option in enumerate(index.options):
        if option.level >= 0:
            wanted[option.level] |= serve[number] >= 0
    present = np.zeros((len(links), index.grid.periods), dtype=bool)
    for number, link in enumerate(links):
        present[number] = wanted[link.level] & _active(index, index.sources[link.source].lot)
    return columns.add("connect", present)


def _needs_count(index: Index) -> list[bool]:
    """Say for each source whether its units in use must be counted.

    They must where something that lots share may bind: regulators (also after one more unit of
    a lot), power, or a lot that can be used with several kinds of outlets.
    """
    per_lot = [0] * len(index.lots)
    per_pool: dict[int, float] = {}
    for source in index.sources:
        per_lot[source.lot] += 1
        per_pool[source.pool] = per_pool.get(source.pool, 0) + index.lots[source.lot].quantity
    scarce = {
        pool: pool >= 0 and bool(np.min(index.regulator_pools[pool].stock) < units + 1)
        for pool, units in per_pool.items()
    }
    return [
        per_lot[source.lot] > 1
        or scarce[source.pool]
        or (index.lots[source.lot].watts_each > 0 and bool(np.isfinite(index.power[index.lots[source.lot].area]).any()))
        for source in index.sources
    ]


def _use(index: Index, columns: Columns, links: tuple[Link, ...], connect: Ints) -> Ints:
    present = np.zeros((len(index.sources), index.grid.periods), dtype=bool)
    counted = _needs_count(index)
    for number, link in enumerate(links):
        if counted[link.source]:
            present[link.source] |= connect[number] >= 0
    return columns.add("use", present)


def _arrived(index: Index, groups: list[int]) -> npt.NDArray[np.float64]:
    """Patients who have ever been in one of the groups, per period [patients]."""
    demand = index.demand
    new = demand.present[groups] - demand.stayers[groups]
    return np.asarray(np.cumsum(new.sum(axis=0)), dtype=float)


def _may_run_out(index: Index, pool: DevicePool, groups: list[int]) -> bool:
    """Tell whether fewer single-use devices than patients could ever have arrived."""
    return bool(groups) and bool(np.any(pool.stock < _arrived(index, groups)))


def scarce_pools(index: Index) -> dict[int, list[int]]:
    """Return the pools of single-use devices that may run out, with the care groups that use them."""
    found = {}
    for number, pool in enumerate(index.device_pools):
        if not pool.single_use:
            continue
        groups = sorted(
            {
                option.group
                for option in index.options
                if option.device == pool.device and index.demand.groups[option.group].area == pool.area
            }
        )
        if _may_run_out(index, pool, groups):
            found[number] = groups
    return found


def _wearers(index: Index) -> tuple[Wearer, ...]:
    return tuple(Wearer(group, pool) for pool, groups in scarce_pools(index).items() for group in groups)


def _keep_and_fit(index: Index, columns: Columns, wearers: tuple[Wearer, ...]) -> tuple[Ints, Ints]:
    groups = [wearer.group for wearer in wearers]
    demand = index.demand
    might_keep = demand.stayers[groups] + demand.transferred[groups]
    keep = columns.add("keep", might_keep > 0, upper=might_keep)
    return keep, columns.add("fit", demand.present[groups] > 0)


def _spare(index: Index, columns: Columns) -> Ints:
    present = np.zeros((len(index.areas), index.grid.periods), dtype=bool)
    for number, area in enumerate(index.areas):
        handled = any(lot.area == area and np.isfinite(lot.litres_each) and lot.change_min > 0 for lot in index.lots)
        present[number] = handled and bool(np.isfinite(index.staff[area]).any())
    return columns.add("spare", present)


def _worse(index: Index, columns: Columns) -> Ints:
    groups = [option.group for option in index.options]
    return columns.add("worse", index.demand.stayers[groups] > 0)


def make_variables(index: Index, columns: Columns, *, memory: bool = True, steady: bool = True) -> Variables:
    """Add every family of columns.

    Parameters
    ----------
    memory
        Whether to count what depends on what the same person had before: step-downs and who
        owns a single-use device.
    steady
        Whether step-downs are among it; they only choose among plans of equal coverage.
    """
    serve = _serve(index, columns)
    links = _links(index)
    connect = _connect(index, columns, links, serve)
    use = _use(index, columns, links, connect)
    wearers = _wearers(index) if memory else ()
    keep, fit = _keep_and_fit(index, columns, wearers)
    return Variables(
        links=links,
        wearers=wearers,
        serve=serve,
        connect=connect,
        use=use,
        keep=keep,
        fit=fit,
        spare=_spare(index, columns),
        worse=_worse(index, columns) if memory and steady else np.full(serve.shape, ABSENT),
    )
