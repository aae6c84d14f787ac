"""Caches, goals and packing lists; what may be packed is built in :mod:`mci.scenario.build_candidates`."""

from __future__ import annotations

import math
from types import MappingProxyType
from typing import TYPE_CHECKING

from mci.catalogue import find
from mci.catalogue.model import Basis, Source
from mci.scenario.bench import PLANNER
from mci.scenario.build_candidates import build_candidates
from mci.scenario.known import nearest
from mci.scenario.network import PlaceKind
from mci.scenario.stocking import Cache, Goal, RuleOfThumb, Station, Stocking
from mci.units import format_litres

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from mci.scenario import schema_stocking as written
    from mci.scenario.bench import Bench
    from mci.scenario.network import Network
    from mci.scenario.stocking import Candidate
    from mci.scenario.yaml_positions import Where

__all__ = ["build_stocking"]

_FINDERS = (find.find_cylinder, find.find_outlet_set, find.find_device, find.find_machine)


def build_stocking(bench: Bench, network: Network | None) -> Stocking | None:
    """Return the caches and what they may be filled with; ``None`` where the planner wrote none.

    Parameters
    ----------
    network
        Whose places caches may stand at, where there is one.
    """
    part = bench.file.stocking
    if part is None:
        return None
    candidates = build_candidates(bench, part)
    by_key = {candidate.key: candidate for candidate in candidates}
    _slots_exist(bench, part)
    caches = _caches(bench, part, network, by_key)
    rules = _rules(bench, part, {cache.key: cache for cache in caches}, by_key)
    if part.years is None:
        bench.assume("years over which keeping caches is paid for", "1", Source("no years given", Basis.ASSUMPTION))
    return Stocking(
        money=part.money,
        years=1.0 if part.years is None else part.years,
        budget=math.inf if part.budget is None else part.budget,
        caches=caches,
        candidates=candidates,
        goals=_goals(bench, part),
        rules=rules,
    )


def _caches(
    bench: Bench, part: written.StockingPart, network: Network | None, candidates: Mapping[str, Candidate]
) -> tuple[Cache, ...]:
    _once(bench, ((("stocking", "caches", n, "cache"), line.cache) for n, line in enumerate(part.caches)))
    kinds = sorted({candidate.slot for candidate in candidates.values() if candidate.slot})
    caches = []
    for index, line in enumerate(part.caches):
        path: Where = ("stocking", "caches", index)
        _once(bench, (((*path, "stations", n, "at"), station.at) for n, station in enumerate(line.stations)))
        slots = {kind: math.inf if line.slots is None else line.slots.get(kind, 0.0) for kind in kinds}
        cache = Cache(
            key=line.cache,
            stations=tuple(_station(bench, (*path, "stations", n), s, network) for n, s in enumerate(line.stations)),
            payload_kg=_limit(line.payload),
            volume_l=_limit(line.volume),
            gas_l=_limit(line.gas_limit),
            slots=MappingProxyType({**(line.slots or {}), **slots}),
            owned=MappingProxyType(_packs(bench, (*path, "owned"), line.owned, candidates)),
        )
        _owned_fits(bench, (*path, "owned"), cache, candidates)
        if line.gas_limit is not None:
            bench.assume(f"most oxygen kept in {line.cache}", f"{format_litres(line.gas_limit)} of free gas", PLANNER)
        caches.append(cache)
    return tuple(caches)


def _limit(written: float | None) -> float:
    return math.inf if written is None else written


def _station(bench: Bench, path: Where, line: written.StationLine, network: Network | None) -> Station:
    if network is not None:
        places = {place.key: place.kind for place in network.places}
        if line.at not in places:
            rule = "there is no place of this name in the network"
            bench.wrong((*path, "at"), rule, nearest(line.at, places), line.at)
        elif places[line.at] is PlaceKind.JUNCTION:
            bench.wrong((*path, "at"), "is a junction, where nothing is kept", "Write staging instead.", line.at)
    elif line.reaches is None:
        rule = "does not say which areas it reaches, and there is no network whose roads say it"
        area = next(iter(bench.file.areas))
        bench.wrong(path, rule, f"Add a line such as reaches: {{{area}: 10 min}}.", line.at)
    return Station(line.at, line.yearly, line.sets_off, MappingProxyType(dict(line.reaches or {})))


def _packs(bench: Bench, path: Where, packs: Mapping[str, int], candidates: Mapping[str, Candidate]) -> dict[str, int]:
    """Return packs by key of candidate, in the order of the candidates; note what is none, twice, or too many."""
    found: dict[str, int] = {}
    for name, count in packs.items():
        key = _key(name, candidates)
        if key is None:
            fix = nearest(name, candidates)
            bench.wrong((*path, name), "is not among the candidates", fix, name)
        elif key in found:
            bench.wrong((*path, name), f"names {key} twice", "Write each candidate once.", name)
        else:
            found[key] = count
            most = candidates[key].at_most
            if count > most:
                rule = f"is more than the {most} packs of {key} that may be in one cache"
                bench.wrong((*path, name), rule, "Write fewer, or raise 'at most' of the candidate.", str(count))
    return {key: found[key] for key in candidates if key in found}


def _key(name: str, candidates: Mapping[str, Candidate]) -> str | None:
    """Return the candidate that is meant: by its key, or by another name that the catalogue has for it."""
    if name in candidates:
        return name
    for finder in _FINDERS:
        try:
            key = finder(name).key
        except find.UnknownEntryError:
            continue
        if key in candidates:
            return key
    return None


def _owned_fits(bench: Bench, path: Where, cache: Cache, candidates: Mapping[str, Candidate]) -> None:
    """Note a mistake for every limit of a cache that what it holds already goes beyond."""
    for rule in cache.beyond(cache.owned, candidates):
        bench.wrong(path, f"what it holds already is more than it may: {rule}", "Check the limit, or own fewer.")


def _slots_exist(bench: Bench, part: written.StockingPart) -> None:
    """Note a mistake where no cache has the kind of slot that a candidate needs."""
    if any(cache.slots is None for cache in part.caches):
        return  # one without slots takes whatever needs any
    known = {kind for cache in part.caches for kind in cache.slots or {}}
    for index, line in enumerate(part.candidates):
        if line.slot is not None and line.slot not in known:
            path: Where = ("stocking", "candidates", index, "slot")
            bench.wrong(path, "no cache has slots of this kind", nearest(line.slot, known), line.slot)


def _goals(bench: Bench, part: written.StockingPart) -> tuple[Goal, ...]:
    goals: list[Goal] = []
    seen = set()
    for index, line in enumerate(part.goals):
        worst = 1.0 if line.worst is None else line.worst
        what = (line.category, line.coverage is None, worst)
        if what in seen:
            path: Where = ("stocking", "goals", index)
            bench.wrong(path, f"is a second goal of this kind for {line.category}", "Keep the stricter of the two.")
        seen.add(what)
        goals.append(Goal(line.category, line.coverage, line.without_oxygen, worst))
    return tuple(goals)


def _rules(
    bench: Bench, part: written.StockingPart, caches: Mapping[str, Cache], candidates: Mapping[str, Candidate]
) -> tuple[RuleOfThumb, ...]:
    _once(bench, ((("stocking", "rules of thumb", n, "rule"), line.rule) for n, line in enumerate(part.rules_of_thumb)))
    return tuple(
        RuleOfThumb(line.rule, _listed(bench, ("stocking", "rules of thumb", n, "packs"), line, caches, candidates))
        for n, line in enumerate(part.rules_of_thumb)
    )


def _listed(
    bench: Bench,
    path: Where,
    line: written.RuleLine,
    caches: Mapping[str, Cache],
    candidates: Mapping[str, Candidate],
) -> Mapping[str, Mapping[str, int]]:
    """Return what is in every cache by a packing list; what a cache holds already stays in it."""
    for name in line.packs:
        if name not in caches:
            bench.wrong((*path, name), "there is no cache of this name", nearest(name, caches), name)
    packs = {}
    for key, cache in caches.items():
        listed = _packs(bench, (*path, key), line.packs.get(key, {}), candidates)
        all_of_it = {c: max(listed.get(c, 0), cache.owned.get(c, 0)) for c in candidates}
        packs[key] = MappingProxyType({c: count for c, count in all_of_it.items() if count})
    return MappingProxyType(packs)


def _once(bench: Bench, named: Iterable[tuple[Where, str]]) -> None:
    """Note a mistake for every name that was used before."""
    seen: set[str] = set()
    for path, name in named:
        if name in seen:
            bench.wrong(path, "this name is used twice", "Give each its own name.", name)
        seen.add(name)
