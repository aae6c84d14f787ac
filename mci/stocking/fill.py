"""A packing list put into an incident, as supplies that come with the caches."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from mci.demand.groups import count_demand
from mci.scenario.cache_reach import arrivals
from mci.scenario.model import DeviceStock, RegulatorStock, StaffShift
from mci.scenario.stocking import CandidateKind
from mci.stocking.incidents import load_incident

if TYPE_CHECKING:
    from collections.abc import Sequence

    from mci.lp.cache_care import Harm
    from mci.scenario.model import Lot, Scenario
    from mci.scenario.stocking import Cache, Candidate, Station, Stocking
    from mci.stocking.layout import Layout, Packed

__all__ = ["Parcels", "divide", "fill", "scaled"]

#: Units of each candidate, by cache, station and area.
Parcels = Mapping[tuple[str, str, str], Mapping[str, int]]


def divide(scenario: Scenario, layout: Layout, packed: Packed, harms: Sequence[Harm]) -> Parcels:
    """Divide what is packed among the areas of an incident.

    Where only one area has patients and can be reached it gets all.  Else whole units go where the least weighted need
    is missed, and what is not needed to where most of the need is.
    """
    need = _need(scenario)
    reached = {
        (cache.key, station.place): [
            area
            for area, moment in arrivals(station, scenario.network).items()
            if moment < scenario.horizon and need.get(area, 0) > 0
        ]
        for cache, station in _standing(layout.stocking, packed)
    }
    parcels: dict[tuple[str, str, str], Counter[str]] = defaultdict(Counter)
    several = any(len(areas) > 1 for areas in reached.values())
    wanted = _wanted(scenario, layout, packed, harms) if several else Counter()
    for (cache, place), areas in reached.items():
        for candidate in layout.stocking.candidates:
            left = packed[cache, place].get(candidate.key, 0) * candidate.units
            for area in sorted(areas, key=lambda a: -need[a]):
                given = min(left, wanted[place, candidate.key, area])
                wanted[place, candidate.key, area] -= given
                parcels[cache, place, area][candidate.key] += given
                left -= given
            if areas and left:
                parcels[cache, place, max(areas, key=lambda a: need[a])][candidate.key] += left
    return {key: {name: count for name, count in held.items() if count} for key, held in parcels.items()}


def _wanted(scenario: Scenario, layout: Layout, packed: Packed, harms: Sequence[Harm]) -> Counter[tuple[str, str, str]]:
    """Return the units of the best division: by station, candidate and area."""
    care = load_incident(scenario, layout, harms)
    shares = care.divide(layout.units @ layout.decisions(packed))
    found: Counter[tuple[str, str, str]] = Counter()
    for (supply, area), units in shares.items():
        station, candidate = layout.supplies[supply]
        found[station.place, candidate.key, area] += units
    return found


def _need(scenario: Scenario) -> dict[str, float]:
    """Return the weighted patient-minutes needed per area."""
    demand = count_demand(scenario)
    found: dict[str, float] = defaultdict(float)
    for group, present in zip(demand.groups, demand.present, strict=True):
        found[group.area] += scenario.weights[group.category] * float(present @ demand.grid.lengths)
    return dict(found)


def fill(scenario: Scenario, stocking: Stocking, parcels: Parcels) -> Scenario:
    """Return the incident with parcels in it, each there as soon as its cache is.

    Parameters
    ----------
    scenario
        The incident.
    stocking
        What the parcels hold.
    parcels
        Units by cache, station and area.
    """
    lots, regulators, devices, staff = [*scenario.lots], [*scenario.regulators], [*scenario.devices], [*scenario.staff]
    stations = {(cache.key, station.place): station for cache in stocking.caches for station in cache.stations}
    candidates = {candidate.key: candidate for candidate in stocking.candidates}
    for (cache, place, area), units in parcels.items():
        moment = arrivals(stations[cache, place], scenario.network)[area]
        for name, count in units.items():
            candidate, key = candidates[name], f"{area} {name} {cache}"
            if candidate.kind is CandidateKind.STAFF:
                staff.append(StaffShift(key, area, float(count), moment, scenario.horizon))
            elif candidate.lot is not None:
                lots.append(_lot(candidate, candidate.lot, count, key, area, moment, cache))
            elif candidate.outlets is not None:
                regulators.append(RegulatorStock(key, area, candidate.outlets, count, moment, cache))
            else:
                devices.append(DeviceStock(key, area, candidate.device, float(count), moment, cache))
    return replace(scenario, lots=tuple(lots), regulators=tuple(regulators), devices=tuple(devices), staff=tuple(staff))


def scaled(scenario: Scenario, factor: float) -> Scenario:
    """Return the incident with more or fewer patients.

    Batches are rounded so that their running total is off by less than one patient.
    """
    if factor == 1:
        return scenario
    found, exact, given = [], 0.0, 0
    for patients in scenario.patients:
        exact += patients.count * factor
        count = math.floor(exact + 0.5) - given
        given += count
        if count:
            found.append(replace(patients, count=count))
    return replace(scenario, patients=tuple(found))


def _lot(candidate: Candidate, one: Lot, count: int, key: str, area: str, moment: float, cache: str) -> Lot:
    what = one.label.partition(" x ")[2] or candidate.key
    return replace(
        one,
        key=key,
        label=f"{count} x {what}",
        area=area,
        quantity=count,
        litres=count * one.litres_each,
        available_from=moment,
        delivery=cache,
    )


def _standing(stocking: Stocking, packed: Packed) -> list[tuple[Cache, Station]]:
    return [
        (cache, station)
        for cache in stocking.caches
        for station in cache.stations
        if (cache.key, station.place) in packed
    ]
