"""The rows about people: presence, devices, staff who change cylinders, continuity.

One family per function, the equation in its docstring.  Notation: ``x`` patients served, ``n``
patients present, ``u`` patients connected, ``tau_k`` length of period ``k`` [min].
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from mci.lp.index import Index
from mci.lp.names import make_name
from mci.lp.programme import ABSENT, Resource, Rows, RowWriter
from mci.lp.variables import Variables

__all__ = ["care_rows", "continuity", "holders"]

Floats = npt.NDArray[np.float64]


def presence(index: Index, variables: Variables) -> Rows:
    """Serve only who is there: ``sum_r x_grk <= n_gk``."""
    periods = np.arange(index.grid.periods)
    writer = RowWriter()
    for number, option in enumerate(index.options):
        writer.add(option.group * index.grid.periods + periods, variables.serve[number], 1.0)
    names = [make_name("presence", g, k) for g in range(len(index.demand.groups)) for k in periods.tolist()]
    return writer.finish(names, index.demand.present.ravel())


def reusable_devices(index: Index, variables: Variables) -> Rows:
    """A reusable device serves one patient at a time: ``sum_(g,r) x_grk <= stock_dk``."""
    periods = np.arange(index.grid.periods)
    size = len(periods)
    pools = index.device_pools
    limited = [n for n, pool in enumerate(pools) if not pool.single_use and np.isfinite(pool.stock).any()]
    writer = RowWriter()
    for number, option in enumerate(index.options):
        area = index.demand.groups[option.group].area
        for row, pool in enumerate(limited):
            if pools[pool].device == option.device and pools[pool].area == area:
                writer.add(row * size + periods, variables.serve[number], 1.0)
    names = [make_name("reusable", pool, k) for pool in limited for k in periods.tolist()]
    grows = {
        Resource("device", pools[pool].area, pools[pool].device): np.repeat(np.arange(len(limited)) == row, size) * 1.0
        for row, pool in enumerate(limited)
    }
    rhs = np.concatenate([pools[pool].stock for pool in limited]) if limited else np.zeros(0)
    return writer.finish(names, rhs, grows=grows)


def _served_with(index: Index, group: int, device: str) -> list[int]:
    return [n for n, option in enumerate(index.options) if option.group == group and option.device == device]


def worn(index: Index, variables: Variables) -> Rows:
    """Whoever is on a single-use device kept it or was handed one: ``x_gdk <= keep_gdk + fit_gdk``.

    A patient who is taken off and put back keeps the own device, so ``keep + fit`` counts owners.
    """
    periods = np.arange(index.grid.periods)
    writer = RowWriter()
    for row, wearer in enumerate(variables.wearers):
        rows = row * index.grid.periods + periods
        for option in _served_with(index, wearer.group, index.device_pools[wearer.pool].device):
            writer.add(rows, variables.serve[option], 1.0)
        writer.add(rows, variables.keep[row], -1.0)
        writer.add(rows, variables.fit[row], -1.0)
    names = [make_name("worn", w, k) for w in range(len(variables.wearers)) for k in periods.tolist()]
    return writer.finish(names, 0.0)


def owners(index: Index, variables: Variables) -> Rows:
    """Only owners keep: ``keep_gdk <= keep_gd,k-1 + fit_gd,k-1 + transferred_gk``.

    Patients who come from another group may bring the device with them; how many can is limited by
    :func:`holders`, and ``keep`` by the patients who stayed or came along, its upper bound.  Counting
    more owners than there are would only widen the programme, so the optimum stays a bound.
    """
    size = index.grid.periods
    later = np.arange(1, size)
    writer = RowWriter()
    transferred = [index.demand.transferred[wearer.group, 1:] for wearer in variables.wearers]
    for row, _ in enumerate(variables.wearers):
        rows = row * (size - 1) + later - 1
        held = variables.keep[row, 1:] != ABSENT
        writer.add(rows, variables.keep[row, 1:], 1.0)
        writer.add(rows, np.where(held, variables.keep[row, :-1], ABSENT), -1.0)
        writer.add(rows, np.where(held, variables.fit[row, :-1], ABSENT), -1.0)
    names = [make_name("owners", w, k) for w in range(len(variables.wearers)) for k in later.tolist()]
    return writer.finish(names, np.concatenate(transferred) if transferred else np.zeros(0))


def fittings(index: Index, variables: Variables) -> Rows:
    """Hand out no more single-use devices than have come: ``sum_(k' <= k) fit <= stock_dk``.

    Written for the last period before each delivery and the last of all; the rest follow, since
    what was handed out never falls.
    """
    writer = RowWriter()
    names: list[str] = []
    rhs: list[float] = []
    grows: dict[Resource, list[int]] = {}
    for pool in sorted({wearer.pool for wearer in variables.wearers}):
        stock = index.device_pools[pool].stock
        resource = Resource("device", index.device_pools[pool].area, index.device_pools[pool].device)
        for last in index.device_pools[pool].counted:
            row = len(names)
            for number, wearer in enumerate(variables.wearers):
                if wearer.pool == pool:
                    writer.add(row, variables.fit[number, : last + 1], 1.0)
            names.append(make_name("fittings", pool, last))
            rhs.append(stock[last])
            grows.setdefault(resource, []).append(row)
    changes = {resource: np.isin(np.arange(len(names)), rows).astype(np.float64) for resource, rows in grows.items()}
    return writer.finish(names, rhs, grows=changes)


def holders(index: Index, variables: Variables) -> Rows:
    """No more owners in an area than devices there: ``sum_g (keep_gdk + fit_gdk) <= stock_dk + brought_dk``.

    Whoever owns one got it from the stock of the area or brought it from another
    (:mod:`mci.demand.brought`).  So a change of need hands nobody a device for nothing.
    """
    size = index.grid.periods
    periods = np.arange(size)
    pools = index.device_pools
    limited = sorted({wearer.pool for wearer in variables.wearers})
    writer = RowWriter()
    for number, wearer in enumerate(variables.wearers):
        rows = limited.index(wearer.pool) * size + periods
        writer.add(rows, variables.keep[number], 1.0)
        writer.add(rows, variables.fit[number], 1.0)
    names = [make_name("holders", pool, k) for pool in limited for k in periods.tolist()]
    grows = {
        Resource("device", pools[pool].area, pools[pool].device): np.repeat(np.arange(len(limited)) == row, size) * 1.0
        for row, pool in enumerate(limited)
    }
    brought = index.demand.brought
    rhs = [pools[pool].stock + brought.get((pools[pool].area, pools[pool].device), 0.0) for pool in limited]
    return writer.finish(names, np.concatenate(rhs) if rhs else np.zeros(0), grows=grows)


def staff(index: Index, variables: Variables) -> Rows:
    """Changing takes people's time: ``spare_ak - spare_a,k-1 + sum_s tau_k f u / v_s m_s <= staff_ak tau_k``.

    Every ``v_s`` litres drawn from a lot cost at least one change of ``m_s`` minutes.  A change may
    be made ahead of the draw, so what is not needed is carried over; a balance per period alone
    would forbid plans that can be carried out.  Where people are unlimited there is no row, so any
    number of minutes may be carried over from there.
    """
    size = index.grid.periods
    periods = np.arange(size)
    writer = RowWriter()
    limited = [n for n in range(len(index.areas)) if (variables.spare[n] != ABSENT).any()]
    place = {index.areas[area]: row for row, area in enumerate(limited)}
    for row, area in enumerate(limited):
        rows = row * size + periods
        writer.add(rows, variables.spare[area], 1.0)
        writer.add(rows[1:], variables.spare[area, :-1], -1.0)
    for number, link in enumerate(variables.links):
        lot = index.lots[index.sources[link.source].lot]
        if lot.area in place and lot.change_min > 0 and np.isfinite(lot.litres_each):
            minutes = lot.change_min * index.levels[link.level].flow / lot.litres_each * index.grid.lengths
            writer.add(place[lot.area] * size + periods, variables.connect[number], minutes)
    names = [make_name("staff", area, k) for area in limited for k in periods.tolist()]
    grows = {
        Resource("staff", index.areas[area], "person"): np.concatenate(
            [index.grid.lengths if other == area else np.zeros(size) for other in limited]
        )
        for area in limited
    }
    rhs = np.concatenate([index.staff[index.areas[area]] for area in limited]) if limited else np.zeros(0)
    return writer.finish(names, rhs, grows=grows)


def continuity(index: Index, variables: Variables) -> Rows:
    """Count step-downs: ``worse_grk >= C_gr,k-1 - C_grk - departures_gk``, ``C_gr = sum_(r' <= r) x_gr'``.

    ``C_gr`` is who has rung ``r`` or better.  In the aggregate this counts at least what cannot be
    avoided, and never more than the step-downs of single patients: a bound, not always attained.
    """
    size = index.grid.periods
    later = np.arange(1, size)
    demand = index.demand
    writer = RowWriter()
    ladders: dict[int, list[int]] = {}
    for number, option in enumerate(index.options):
        ladders.setdefault(option.group, []).append(number)
    departures = np.zeros((len(index.options), size - 1))
    for group, members in ladders.items():
        departures[members] = demand.present[group, :-1] - demand.stayers[group, 1:]
        for rank, number in enumerate(members):
            rows = number * (size - 1) + later - 1
            held = variables.worse[number, 1:] != ABSENT
            writer.add(rows, variables.worse[number, 1:], -1.0)
            for better in members[: rank + 1]:
                writer.add(rows, np.where(held, variables.serve[better, :-1], ABSENT), 1.0)
                writer.add(rows, np.where(held, variables.serve[better, 1:], ABSENT), -1.0)
    names = [make_name("continuity", n, k) for n in range(len(index.options)) for k in later.tolist()]
    return writer.finish(names, departures.ravel())


def care_rows(index: Index, variables: Variables) -> list[Rows]:
    """Return every family of rows about people."""
    families = (presence, reusable_devices, worn, owners, fittings, holders, staff, continuity)
    return [family(index, variables) for family in families]
