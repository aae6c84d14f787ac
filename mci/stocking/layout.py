"""The decisions of stocking as numbers: packs of each candidate in each cache at each station, and which station it is.

packs      owned_kj z_kp <= y_kpj <= most_j z_kp
station    sum_p z_kp <= 1, z whole (left out where a cache has one station)
limits     mass, volume, gas and slots of each cache, per station: sum_j m_j y_kpj <= M_k z_kp
money      what is bought, and kept over the years, within the budget
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from mci.lp.two_stage import Plan
from mci.scenario.stocking import Cache, Candidate, Station, Stocking

__all__ = ["Layout", "Packed", "lay_out"]

Floats = npt.NDArray[np.float64]

#: Packs of each candidate, by cache and station.
Packed = Mapping[tuple[str, str], Mapping[str, int]]
Packs = Sequence[tuple[Cache, Station, Candidate]]
Choices = Sequence[tuple[Cache, Station]]


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
            if decisions[number] > 0.5:
                found.setdefault((cache.key, station.place), {})[candidate.key] = round(float(decisions[number]))
        for cache in self.stocking.caches:
            if not any(key == cache.key for key, _ in found):
                found[cache.key, cache.stations[0].place] = {}
        return found


def _choices(stocking: Stocking) -> Choices:
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
    rows = [row for cache in stocking.caches for row in _limit_rows(cache, packs, choices, size)]
    rows += [row for cache in stocking.caches for row in _station_rows(cache, packs, choices, size)]
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
            matrix=np.vstack([*(row for row, _ in rows), costs]),
        ),
        packs=packs,
        costs=costs,
        offset=offset,
        limits=np.array([*(limit for _, limit in rows), stocking.budget - offset]),
        supplies=tuple(supplies.values()),
        units=units,
    )


def _limit_rows(cache: Cache, packs: Packs, choices: Choices, size: int) -> Iterator[tuple[Floats, float]]:
    """Yield what a cache can take, coefficients and right-hand side: ``sum_j m_j y_kpj <= M_k z_kp`` per station.

    Where there is one station its ``z`` is 1.
    """
    places = _places(cache, packs, choices)
    for limit in cache.limits:
        if not np.isfinite(limit.allowed):
            continue
        values = [limit.takes(candidate) for _, _, candidate in packs]
        for station in cache.stations:
            row = _at_station(cache, station, packs, values, size)
            if station.place in places:
                row[places[station.place]] = -limit.allowed
            yield row, 0.0 if station.place in places else limit.allowed


def _station_rows(cache: Cache, packs: Packs, choices: Choices, size: int) -> Iterator[tuple[Floats, float]]:
    """Yield what makes a cache stand at one station, and keep there what is owned.

    ``sum_p z_kp <= 1``, ``y_kpj <= most_j z_kp`` and ``owned_kj z_kp <= y_kpj``; who owns anything stands somewhere.
    """
    places = _places(cache, packs, choices)
    if not places:
        return
    chosen = np.zeros(size)
    chosen[list(places.values())] = 1.0
    yield chosen, 1.0
    if any(cache.owned.values()):
        yield -chosen, -1.0
    for number, (owner, station, candidate) in enumerate(packs):
        if owner is cache:
            most, owned = np.zeros(size), np.zeros(size)
            most[number], most[places[station.place]] = 1.0, -float(candidate.at_most)
            yield most, 0.0
            owned[number], owned[places[station.place]] = -1.0, float(cache.owned.get(candidate.key, 0))
            if owned[places[station.place]]:
                yield owned, 0.0


def _places(cache: Cache, packs: Packs, choices: Choices) -> Mapping[str, int]:
    """Return the decision that stands for each station of a cache that has several."""
    return {station.place: n for n, (owner, station) in enumerate(choices, start=len(packs)) if owner is cache}


def _at_station(cache: Cache, station: Station, packs: Packs, values: Sequence[float], size: int) -> Floats:
    """Return coefficients of what one cache packs at one station."""
    row = np.zeros(size)
    row[: len(packs)] = [v * (k is cache and p is station) for v, (k, p, _) in zip(values, packs, strict=True)]
    return row


def _identity(station: Station, candidate: Candidate) -> tuple[str, float, tuple[tuple[str, float], ...], str]:
    """Return what a supply is to an incident; caches that stand together share it."""
    return station.place, station.sets_off, tuple(sorted(station.reaches.items())), candidate.key
