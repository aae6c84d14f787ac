"""The decisions of stocking as numbers: packs of each candidate in each cache at each station, and which station it is.

    packs      sum over stations p of y_kpj at least what is owned;  y_kpj <= most_j z_kp
    station    sum_p z_kp <= 1, z whole (left out where a cache has one station)
    limits     mass, volume, gas and slots of each cache
    money      what is bought, and kept over the years, within the budget
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from mci.lp.two_stage import Plan
from mci.scenario.stocking import Cache, Candidate, Station, Stocking

__all__ = ["Layout", "Packed", "lay_out"]

Floats = npt.NDArray[np.float64]

#: Packs of each candidate, by cache and station.
Packed = Mapping[tuple[str, str], Mapping[str, int]]


@dataclass(frozen=True, slots=True)
class Layout:
    """Decisions, and what they stand for.

    Parameters
    ----------
    plan
        Decisions and limits; the last limit is the money.
    packs
        Per decision about packs: cache, station and candidate; the others choose stations.
    costs, offset
        Cost of a list: ``costs @ decisions + offset`` [money]; the offset is what owned packs need not cost.
    limits
        Right-hand sides; without a budget the last is ``inf``.
    names
        Per limit of a cache: cache, what is limited, unit.
    supplies
        Per kind of supply: station and candidate.
    units
        Units of each supply per decision, shape ``(supplies, decisions)``.
    """

    stocking: Stocking
    plan: Plan
    packs: tuple[tuple[Cache, Station, Candidate], ...]
    costs: Floats
    offset: float
    limits: Floats
    names: tuple[tuple[str, str, str], ...]
    supplies: tuple[tuple[Station, Candidate], ...]
    units: Floats

    def cost(self, decisions: Floats) -> float:
        """Return the cost over the years of a list [money]."""
        return float(self.costs @ decisions) + self.offset

    def decisions(self, packed: Packed) -> Floats:
        """Return a list as decisions."""
        values = np.zeros(len(self.plan.lower))
        for number, (cache, station, candidate) in enumerate(self.packs):
            values[number] = packed.get((cache.key, station.place), {}).get(candidate.key, 0)
        for number, (cache, station) in enumerate(_choices(self.stocking), start=len(self.packs)):
            values[number] = float((cache.key, station.place) in packed)
        return values

    def packed(self, decisions: Floats) -> Packed:
        """Return what decisions pack; a cache that stays empty stands at its first station."""
        found: dict[tuple[str, str], dict[str, int]] = {}
        for number, (cache, station, candidate) in enumerate(self.packs):
            if decisions[number] > 0.5:  # noqa: PLR2004 - a whole number but for rounding
                found.setdefault((cache.key, station.place), {})[candidate.key] = round(float(decisions[number]))
        for cache in self.stocking.caches:
            if not any(key == cache.key for key, _ in found):
                found[cache.key, cache.stations[0].place] = {}
        return found


def _choices(stocking: Stocking) -> list[tuple[Cache, Station]]:
    return [(cache, station) for cache in stocking.caches if len(cache.stations) > 1 for station in cache.stations]


def lay_out(stocking: Stocking) -> Layout:
    """Write the caches as decisions."""
    packs = tuple((k, p, j) for k in stocking.caches for p in k.stations for j in stocking.candidates)
    choices = _choices(stocking)
    size = len(packs) + len(choices)
    most = np.array([float(j.at_most) for _, _, j in packs] + [1.0] * len(choices))
    owned = np.array([float(k.owned.get(j.key, 0)) if len(k.stations) == 1 else 0.0 for k, _, j in packs])
    costs = np.array([j.buy + stocking.years * j.yearly for _, _, j in packs])
    stations = np.array([stocking.years * p.yearly for _, p in choices])
    single = sum(stocking.years * k.stations[0].yearly for k in stocking.caches if len(k.stations) == 1)
    had = sum(j.buy * k.owned.get(j.key, 0) for k in stocking.caches for j in stocking.candidates)
    costs, offset = np.concatenate([costs, stations]), float(single - had)
    rows = list(_rows(stocking, packs, choices, size))
    names, matrix, limits = zip(*rows, strict=True) if rows else ((), (), ())
    supplies = {_identity(p, j): (p, j) for _, p, j in packs}
    places = {identity: number for number, identity in enumerate(supplies)}
    units = np.zeros((len(supplies), size))
    for number, (_, p, j) in enumerate(packs):
        units[places[_identity(p, j)], number] = j.units
    return Layout(
        stocking=stocking,
        plan=Plan(
            lower=np.concatenate([owned, np.zeros(len(choices))]),
            upper=most,
            whole=np.ones(size, dtype=bool),
            matrix=np.vstack([*matrix, costs]),
        ),
        packs=packs,
        costs=costs,
        offset=offset,
        limits=np.array([*limits, stocking.budget - offset]),
        names=names,
        supplies=tuple(supplies.values()),
        units=units,
    )


def _rows(
    stocking: Stocking,
    packs: tuple[tuple[Cache, Station, Candidate], ...],
    choices: list[tuple[Cache, Station]],
    size: int,
) -> Iterator[tuple[tuple[str, str, str], Floats, float]]:
    """Yield what limits a cache: its name, its coefficients, its right-hand side."""
    for cache in stocking.caches:
        mine = np.array([k is cache for k, _, _ in packs])

        def row(of_pack: list[float], mine: npt.NDArray[np.bool_] = mine) -> Floats:
            return np.concatenate([np.where(mine, np.array(of_pack), 0.0), np.zeros(size - len(mine))])

        limits = [
            ("payload", "kg", [j.mass_kg for _, _, j in packs], cache.payload_kg),
            ("volume", "L", [j.volume_l for _, _, j in packs], cache.volume_l),
            ("oxygen stored", "L of gas", [_gas(j) for _, _, j in packs], cache.gas_l),
            *((f"slots: {s}", "", [j.slots * (j.slot == s) for _, _, j in packs], n) for s, n in cache.slots.items()),
        ]
        for what, unit, values, limit in limits:
            if np.isfinite(limit):
                yield (cache.key, what, unit), row(values), limit
        if len(cache.stations) == 1:
            continue
        chosen = np.array([c is cache for c, _ in choices])
        yield (cache.key, "", ""), np.concatenate([np.zeros(len(packs)), chosen * 1.0]), 1.0
        for place, (owner, station) in enumerate(choices):
            if owner is not cache:
                continue
            for number, (k, p, j) in enumerate(packs):
                if k is cache and p is station:
                    linked = np.zeros(size)
                    linked[number], linked[len(packs) + place] = 1.0, -float(j.at_most)
                    yield (cache.key, "", ""), linked, 0.0
        for candidate in stocking.candidates:
            if cache.owned.get(candidate.key, 0):
                kept = row([-1.0 * (j is candidate) for _, _, j in packs])
                yield (cache.key, "", ""), kept, -float(cache.owned[candidate.key])


def _gas(candidate: Candidate) -> float:
    """Return the oxygen that a pack stores [L of free gas]."""
    lot = candidate.lot
    return candidate.units * lot.litres_each if lot is not None and np.isfinite(lot.litres_each) else 0.0



def _identity(station: Station, candidate: Candidate) -> tuple[str, float, tuple[tuple[str, float], ...], str]:
    """Return what a supply is to an incident; caches that stand together share it."""
    return station.place, station.sets_off, tuple(sorted(station.reaches.items())), candidate.key
