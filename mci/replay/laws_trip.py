"""The laws that trips must keep by themselves: where a vehicle is, which way, for how long, with what on it.

A law takes all visits and yields what breaks it.  What there is to be loaded, and what has become of it, is in
:mod:`mci.replay.laws_store`.  Whatever names nothing known is told once, as ``known``, and passed over here.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from mci.replay.floor import TOLERANCE
from mci.replay.visits import Fault, Visits
from mci.replay.words import at
from mci.scenario.network import ItemKind, PlaceKind

if TYPE_CHECKING:
    from mci.replay.visits import Visit
    from mci.scenario.network import Network, Place, Road

__all__ = ["TRIP_LAWS"]

_NOISE_KG = 1e-6
_TAKE_NOTHING = (PlaceKind.DEPOT, PlaceKind.SUPPLIER, PlaceKind.JUNCTION)


def one_place(visits: Visits) -> Iterator[Fault]:
    """A vehicle begins where and when it is there, each trip where and after its last one ended, and ends in time."""
    for trips in visits.rounds.values():
        vehicle = trips[0][0].vehicle
        where, since, what = vehicle.place, vehicle.available_from, "is there"
        for trip in trips:
            first, last = trip[0], trip[-1]
            if first.stop.place != where:
                reason = f"{vehicle.key} is at {where}, not at {first.stop.place}"
                yield Fault(first.row, first.stop.arrive, reason)
            if first.stop.arrive < since - TOLERANCE:
                reason = f"{vehicle.key} {what} from {at(since)} on, not at {at(first.stop.arrive)}"
                yield Fault(first.row, first.stop.arrive, reason)
            if last.stop.depart > vehicle.available_until + TOLERANCE:
                reason = (
                    f"{vehicle.key} may be used until {at(vehicle.available_until)}, not until {at(last.stop.depart)}"
                )
                yield Fault(last.row, last.stop.depart, reason)
            where, since, what = last.stop.place, last.stop.depart, f"is free after {last.trip}"


def road(visits: Visits) -> Iterator[Fault]:
    """Roads lead from stop to stop, and nobody arrives before they allow it, waiting before those that are closed."""
    for visit in visits:
        way = _find_way(visits.network, visit)
        if isinstance(way, str):
            yield Fault(visit.row, visit.stop.depart, way)
        elif way is not None and visit.following is not None:
            soonest = _arrival(way, visit.stop.depart)
            if not visit.following.arrive >= soonest - TOLERANCE:
                when = f"not before {at(soonest)}" if math.isfinite(soonest) else "never, since it stays closed"
                reason = (
                    f"{visit.vehicle.key} leaves {visit.stop.place} at {at(visit.stop.depart)} and is at "
                    f"{visit.following.place} by this way {when}, not at {at(visit.following.arrive)}"
                )
                yield Fault(visit.row, visit.stop.depart, reason)


def _find_way(network: Network, visit: Visit) -> list[Road] | str | None:
    """Return the roads to the next stop, or why they do not lead there; ``None`` where something is not known."""
    if visit.following is None:
        return f"{visit.stop.place} is the last stop, but roads are named" if visit.stop.via else None
    places, roads = {place.key for place in network.places}, {road.key for road in network.roads}
    if not (places >= {visit.stop.place, visit.following.place} and roads >= set(visit.stop.via)):
        return None
    way: list[Road] = []
    here, on_foot = visit.stop.place, visit.vehicle.on_foot
    for key in visit.stop.via:
        leading = [road for road in network.roads if road.key == key and road.start == here]
        if not leading:
            return f"{key} does not lead on from {here}"
        mine = [road for road in leading if road.on_foot is on_foot]
        if not mine:
            return f"{visit.vehicle.key} cannot take {key}, which is for {'vehicles' if on_foot else 'people on foot'}"
        way.append(mine[0])
        here = mine[0].end
    target = visit.following.place
    return way if here == target else f"the way ends at {here}, not at {target}"


def _arrival(way: list[Road], depart: float) -> float:
    """Return when roads are driven, waiting before each that would be closed while one is on it [min]."""
    now = depart
    for each in way:
        for closed in sorted(each.closed, key=lambda window: window.start):
            if now < closed.end - TOLERANCE and now + each.minutes > closed.start + TOLERANCE:
                now = closed.end
        now += each.minutes
    return now


def time_at_stop(visits: Visits) -> Iterator[Fault]:
    """A vehicle stays as long as unloading and then loading takes."""
    for visit in visits:
        stop, vehicle = visit.stop, visit.vehicle
        needed = vehicle.unloading * bool(stop.unload) + vehicle.loading * bool(stop.load)
        if not stop.depart - stop.arrive >= needed - TOLERANCE:
            done = " and ".join(word for word, what in (("unloading", stop.unload), ("loading", stop.load)) if what)
            reason = (
                f"{done} at {stop.place} takes {needed:g} min, not {stop.depart - stop.arrive:.2f} min"
                if done
                else f"{vehicle.key} leaves {stop.place} at {at(stop.depart)}, before it is there at {at(stop.arrive)}"
            )
            yield Fault(visit.row, stop.arrive, reason)


def hours(visits: Visits) -> Iterator[Fault]:
    """A place is open from the beginning to the end of unloading, and of loading."""
    for visit in visits:
        stop = visit.stop
        if visit.place is None:
            continue
        for what, row, start, end in (
            ("unloading", visit.row, stop.arrive, visit.unloaded_at),
            ("loading", visit.row + len(stop.unload), visit.loading_at, stop.depart),
        ):
            if (stop.unload if what == "unloading" else stop.load) and not _is_open(visit.place, start, end):
                windows = ", ".join(f"{at(window.start)} to {at(window.end)}" for window in visit.place.open)
                reason = f"{what} at {stop.place} from {at(start)} to {at(end)}, which is open {windows or 'never'}"
                yield Fault(row, start, reason)


def _is_open(place: Place, start: float, end: float) -> bool:
    return any(start >= window.start - TOLERANCE and end <= window.end + TOLERANCE for window in place.open)


def _carry(visits: Visits) -> Iterator[tuple[Visit, Counter[str], Counter[str]]]:
    """Yield every visit with what is aboard before and after it; no less than nothing is."""
    for key in visits.rounds:
        after: Counter[str] = Counter()
        for visit in visits.of_vehicle(key):
            before = after.copy()
            for carried in visit.unload:
                after[carried.item.key] = max(after[carried.item.key] - carried.quantity, 0)
            for carried in visit.load:
                after[carried.item.key] += carried.quantity
            yield visit, before, after


def aboard(visits: Visits) -> Iterator[Fault]:
    """No more is unloaded than is aboard."""
    for visit, before, _ in _carry(visits):
        for carried in visit.unload:
            there = before[carried.item.key]
            if carried.quantity > there:
                reason = f"{carried.quantity} {carried.item.key} are unloaded, where {there} are aboard"
                yield Fault(carried.row, visit.stop.arrive, reason)
            before[carried.item.key] = max(there - carried.quantity, 0)


def slots(visits: Visits) -> Iterator[Fault]:
    """Cylinders aboard, full and empty, have a slot of their kind whenever a vehicle leaves with more."""
    items = visits.network.items
    for visit, _, after in _carry(visits):
        for kind in dict.fromkeys(carried.item.cylinder for carried in visit.load if carried.item.cylinder):
            number = sum(count for key, count in after.items() if items[key].cylinder == kind)
            have = visit.vehicle.slots.get(kind, 0)
            if number > have:
                reason = (
                    f"{visit.vehicle.key} leaves with {number} {kind}, full or empty, and has {have} slots for them"
                )
                yield Fault(visit.load[0].row, visit.stop.depart, reason)


def weight(visits: Visits) -> Iterator[Fault]:
    """What is aboard weighs no more than the payload whenever a vehicle leaves with more."""
    items = visits.network.items
    for visit, _, after in _carry(visits):
        kg, most = sum(items[key].kg * count for key, count in after.items()), visit.vehicle.payload_kg
        if visit.load and kg > most + _NOISE_KG:
            reason = f"{visit.vehicle.key} leaves with {kg:.10g} kg and carries {most:g} kg"
            yield Fault(visit.load[0].row, visit.stop.depart, reason)


def place(visits: Visits) -> Iterator[Fault]:
    """Depots and suppliers take nothing, fill stations only empties that they fill, junctions neither take nor give."""
    for visit in visits:
        if visit.place is None:
            continue
        kind, filling = visit.place.kind, visit.place.filling
        for carried in visit.unload:
            empty = carried.item.kind is ItemKind.EMPTY
            fills = filling is not None and empty and carried.item.cylinder in filling.cylinders
            if kind in _TAKE_NOTHING or (kind is PlaceKind.FILL_STATION and not fills):
                reason = f"{visit.stop.place} is a {kind.value} and takes no {carried.item.key}"
                yield Fault(carried.row, visit.stop.arrive, reason)
        if kind is PlaceKind.JUNCTION:
            for carried in visit.load:
                reason = f"{visit.stop.place} is a junction, where nothing is loaded"
                yield Fault(carried.row, visit.loading_at, reason)


def crews(visits: Visits) -> Iterator[Fault]:
    """No more people are under way at once, between leaving a stop and beginning at the next, than there are."""
    if math.isinf(visits.network.crews):
        return
    legs = [
        (visit.stop.depart, visit.following.arrive, visit.vehicle.crew, visit)
        for visit in visits
        if visit.following is not None and visit.following.place != visit.stop.place
    ]
    for depart, _, _, visit in legs:
        busy = sum(crew for start, end, crew, _ in legs if start <= depart + TOLERANCE and depart < end - TOLERANCE)
        if busy > visits.network.crews:
            reason = f"{busy} people are under way at once, and there are {visits.network.crews:g}"
            yield Fault(visit.row, depart, reason)


#: Every law of trips by themselves by its name.
TRIP_LAWS: tuple[tuple[str, Callable[[Visits], Iterator[Fault]]], ...] = (
    ("one place", one_place),
    ("road", road),
    ("time at stop", time_at_stop),
    ("hours", hours),
    ("aboard", aboard),
    ("slots", slots),
    ("weight", weight),
    ("place", place),
    ("crews", crews),
)
