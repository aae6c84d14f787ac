"""The rows about gas: connection, content, outlets, units, regulators, power, reserve.

One family per function, the equation in its docstring.  Every row is written so that no
executable plan violates it; together with the objective that makes the optimum a bound.
Notation: ``u`` patients connected (``connect``), ``c`` units in use (``use``), ``x`` patients
served (``serve``), ``tau_k`` length of period ``k`` [min], ``f`` flow of a draw level [L/min].
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from mci.lp.index import Index, is_stored_to
from mci.lp.names import make_name
from mci.lp.programme import ABSENT, Resource, Rows, RowWriter
from mci.lp.variables import Variables
from mci.scenario.model import Lot, LotKind

__all__ = ["lot_resource", "supply_rows"]

Floats = npt.NDArray[np.float64]


def lot_resource(lot: Lot) -> Resource:
    """Return the resource of which one more is one more unit (or outlet, where piped) of this lot."""
    return Resource("lot", lot.area, lot.key)


def _flows(index: Index, variables: Variables) -> Floats:
    return np.array([index.levels[link.level].flow for link in variables.links])


def connection(index: Index, variables: Variables) -> Rows:
    """Everybody served is connected: ``sum_s u_sfk = sum_(g,r: f) x_grk`` per draw level and period.

    Connecting patients per flow keeps one large cylinder with one outlet from serving many.
    """
    periods = np.arange(index.grid.periods)
    writer = RowWriter()
    for number, option in enumerate(index.options):
        if option.level >= 0:
            writer.add(option.level * index.grid.periods + periods, variables.serve[number], -1.0)
    for number, link in enumerate(variables.links):
        writer.add(link.level * index.grid.periods + periods, variables.connect[number], 1.0)
    names = [make_name("connection", level, k) for level in range(len(index.levels)) for k in periods.tolist()]
    return writer.finish(names, 0.0, equal=True)


def content(index: Index, variables: Variables) -> Rows:
    """No lot gives more than it holds: ``sum_k tau_k sum_f f u_sfk <= litres_s``.

    Nothing is drawn before the lot is there, because no column exists then.
    """
    limited = [number for number, lot in enumerate(index.lots) if np.isfinite(lot.litres)]
    place = {lot: row for row, lot in enumerate(limited)}
    writer = RowWriter()
    for number, link in enumerate(variables.links):
        lot = index.sources[link.source].lot
        if lot in place:
            flow = index.levels[link.level].flow
            writer.add(place[lot], variables.connect[number], flow * index.grid.lengths)
    lots = [index.lots[number] for number in limited]
    grows = {lot_resource(lot): _unit_vector(row, lot.litres_each, len(lots)) for row, lot in enumerate(lots)}
    return writer.finish([make_name("content", n) for n in limited], [lot.litres for lot in lots], grows=grows)


def _unit_vector(place: int, value: float, size: int) -> Floats:
    return _block(place, value, size, 1)


def _block(place: int, value: float, blocks: int, size: int) -> Floats:
    """Return zeros for ``blocks`` blocks of ``size`` rows, but ``value`` in block ``place``."""
    vector = np.zeros((blocks, size))
    vector[place] = value
    return vector.ravel()


def _outlet_limits(index: Index, variables: Variables) -> Iterator[tuple[str, int, Floats, float]]:
    """Yield, per source and limit, the weight of each link and what one unit in use allows.

    A limit that another one implies is left out, if it stays so with one more outlet on a pipe
    (one more unit brings its own flow).
    """
    flows = _flows(index, variables)
    levels = np.array([link.level for link in variables.links], dtype=np.intp)
    owner = np.array([link.source for link in variables.links], dtype=np.intp)
    strong = np.array([index.levels[level].high_pressure for level in levels], dtype=bool)
    for number, source in enumerate(index.sources):
        mine, outlets = owner == number, source.outlets
        if not mine.any():
            continue
        low, high = mine & ~strong, mine & strong
        if low.any():
            yield "outlets", number, low.astype(float), float(outlets.outlets)
        if high.any():
            yield "strong", number, high.astype(float), float(outlets.high_pressure_outlets)
        more = int(index.lots[source.lot].kind is LotKind.PIPED)
        fullest = (outlets.outlets + more) * flows[low].max(initial=0)
        fullest += (outlets.high_pressure_outlets + more) * flows[high].max(initial=0)
        if fullest > outlets.total_max_lpm:
            yield "rate", number, np.where(mine, flows, 0.0), outlets.total_max_lpm


def outlets(index: Index, variables: Variables) -> Rows:
    """Units in use limit patients and flow: ``sum_f u <= outlets c``, likewise high-pressure outlets and flow.

    Where units in use are not counted (nothing shared can bind), ``c`` is the number of units.
    """
    periods = np.arange(index.grid.periods)
    writer = RowWriter()
    names: list[str] = []
    rhs: list[float] = []
    grows: dict[Resource, list[tuple[int, float]]] = {}
    for limit, number, weights, allowed in _outlet_limits(index, variables):
        lot = index.lots[index.sources[number].lot]
        first_row = len(names)
        rows = first_row + periods
        for link in np.flatnonzero(weights).tolist():
            writer.add(rows, variables.connect[link], weights[link])
        use = variables.use[number]
        counted = bool((use != ABSENT).any())
        writer.add(rows, use, -allowed)
        names.extend(make_name(limit, number, k) for k in periods.tolist())
        rhs.extend([0.0 if counted else allowed * lot.quantity] * len(periods))
        if not counted:
            one_more = _one_more_allows(lot, limit, allowed)
            grows.setdefault(lot_resource(lot), []).extend((int(row), one_more) for row in rows)
    return writer.finish(names, rhs, grows={key: _scatter(pairs, len(names)) for key, pairs in grows.items()})


def _one_more_allows(lot: Lot, limit: str, allowed: float) -> float:
    """Say what one more adds: a unit with all its outlets, but on a pipe one outlet and no gas flow."""
    if lot.kind is not LotKind.PIPED:
        return allowed
    return 0.0 if limit == "rate" else 1.0


def _scatter(pairs: list[tuple[int, float]], size: int) -> Floats:
    vector = np.zeros(size)
    for row, value in pairs:
        vector[row] += value
    return vector


def units(index: Index, variables: Variables) -> Rows:
    """No more units in use than there are: ``sum over outlet kinds of c_sk <= N_s``."""
    periods = np.arange(index.grid.periods)
    writer = RowWriter()
    for number, source in enumerate(index.sources):
        writer.add(source.lot * index.grid.periods + periods, variables.use[number], 1.0)
    names = [make_name("units", lot, k) for lot in range(len(index.lots)) for k in periods.tolist()]
    size = len(periods)
    grows = {lot_resource(lot): _block(number, 1.0, len(index.lots), size) for number, lot in enumerate(index.lots)}
    return writer.finish(names, np.repeat([float(lot.quantity) for lot in index.lots], size), grows=grows)


def regulators(index: Index, variables: Variables) -> Rows:
    """No more regulators in use than there are: ``sum over lots that they fit of c_sk <= R_k``."""
    periods = np.arange(index.grid.periods)
    size = len(periods)
    writer = RowWriter()
    for number, source in enumerate(index.sources):
        if source.pool >= 0:
            writer.add(source.pool * size + periods, variables.use[number], 1.0)
    pools = index.regulator_pools
    names = [make_name("regulators", pool, k) for pool in range(len(pools)) for k in periods.tolist()]
    grows = {
        Resource("regulator", pool.area, pool.outlets.key): _block(number, 1.0, len(pools), size)
        for number, pool in enumerate(pools)
    }
    rhs = np.concatenate([pool.stock for pool in pools]) if pools else np.zeros(0)
    return writer.finish(names, rhs, grows=grows)


def power(index: Index, variables: Variables) -> Rows:
    """No more electrical power than there is: ``sum_s watts_s c_sk <= P_ak``, in whole units.

    Machines run or do not run, so what they draw together is a multiple of the largest power ``g`` that all of
    theirs are multiples of, and ``P`` may be rounded down to one.  No executable plan is lost.
    """
    periods = np.arange(index.grid.periods)
    size = len(periods)
    limited = [area for area in index.areas if np.isfinite(index.power[area]).any()]
    step = {area: _common_watts([lot.watts_each for lot in index.lots if lot.area == area]) for area in limited}
    writer = RowWriter()
    for number, source in enumerate(index.sources):
        lot = index.lots[source.lot]
        if lot.watts_each > 0 and lot.area in limited:
            writer.add(limited.index(lot.area) * size + periods, variables.use[number], lot.watts_each)
    names = [make_name("power", row, k) for row in range(len(limited)) for k in periods.tolist()]
    grows = {
        Resource("power", area, f"{_one_more_watts(step[area]):g} W"): _block(
            row, _one_more_watts(step[area]), len(limited), size
        )
        for row, area in enumerate(limited)
    }
    rhs = [_whole_watts(index.power[area], step[area]) for area in limited]
    return writer.finish(names, np.concatenate(rhs) if rhs else np.zeros(0), grows=grows)


def _common_watts(watts: list[float]) -> float:
    """Return the largest power of which each is a multiple, to the milliwatt [W]; 0 if there is none."""
    return math.gcd(*(round(1000 * each) for each in watts)) / 1000


def _one_more_watts(step: float) -> float:
    """Return what one more is: enough for a machine, and 100 W or more."""
    return step * math.ceil(100.0 / step) if step > 0 else 100.0


def _whole_watts(available: Floats, step: float) -> Floats:
    if step <= 0:
        return available
    return np.asarray(np.floor(available / step + 1e-9) * step)


def reserve(index: Index, variables: Variables) -> Rows:
    """Leave the reserve at the end: ``sum of litres drawn in the area <= litres there - reserve``.

    Counts what cylinders and vessels hold that are there at the end: not those that come later or
    are gone by then.
    """
    end = float(index.grid.points[-1])
    kept = [area for area in index.areas if index.reserve.get(area, 0) > 0]
    writer = RowWriter()
    for number, link in enumerate(variables.links):
        lot = index.lots[index.sources[link.source].lot]
        if lot.area in kept and is_stored_to(lot, end):
            flow = index.levels[link.level].flow
            writer.add(kept.index(lot.area), variables.connect[number], flow * index.grid.lengths)
    lots = [lot for lot in index.lots if lot.area in kept and is_stored_to(lot, end)]
    held = {area: sum(lot.litres for lot in lots if lot.area == area) for area in kept}
    grows = {lot_resource(lot): _unit_vector(kept.index(lot.area), lot.litres_each, len(kept)) for lot in lots}
    names = [make_name("reserve", row) for row in range(len(kept))]
    return writer.finish(names, [held[area] - index.reserve[area] for area in kept], grows=grows)


def supply_rows(index: Index, variables: Variables) -> list[Rows]:
    """Return every family of rows about gas."""
    families = (connection, content, outlets, units, regulators, power, reserve)
    return [family(index, variables) for family in families]
