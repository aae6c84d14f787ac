"""A checker of trips that shares nothing with the planner: it follows every vehicle, thing and road."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence

from mci.plan.trips import Stop, Trip
from mci.resupply.needs import Need, Spent
from mci.scenario.network import ItemKind, Network, PlaceKind, Road, Vehicle

__all__ = ["arrivals", "faults", "lateness"]

SLACK = 1e-5


def arrivals(network: Network, trips: Sequence[Trip]) -> dict[tuple[str, str], list[float]]:
    """Return when things are usable, per area and item."""
    areas = {place.key for place in network.places if place.kind is PlaceKind.AREA}
    vehicles = {vehicle.key: vehicle for vehicle in network.vehicles}
    found: defaultdict[tuple[str, str], list[float]] = defaultdict(list)
    for trip in trips:
        for stop in trip.stops:
            for cargo in stop.unload if stop.place in areas else ():
                usable = stop.arrive + vehicles[trip.vehicle].unloading
                found[stop.place, cargo.item] += [usable] * cargo.quantity
    return {key: sorted(times) for key, times in found.items()}


def lateness(network: Network, needs: Sequence[Need], trips: Sequence[Trip], never: float) -> float:
    """Return the sum of minutes after the due times; what does not come is taken to come at ``never``."""
    come = {key: iter(times) for key, times in arrivals(network, trips).items()}
    ordered = sorted(needs, key=lambda need: need.due)
    return sum(max(0.0, next(come.get((need.area, need.item), iter(())), never) - need.due) for need in ordered)


def faults(
    network: Network, needs: Sequence[Need], spent: Sequence[Spent], horizon: float, trips: Sequence[Trip]
) -> list[str]:
    """Return everything that is wrong with trips."""
    return [
        *(fault for vehicle in network.vehicles for fault in _vehicle(network, vehicle, horizon, trips)),
        *_stock(network, needs, spent, trips),
        *_crews(network, trips),
        *_too_many(network, needs, trips),
    ]


def _vehicle(network: Network, vehicle: Vehicle, horizon: float, trips: Sequence[Trip]) -> Iterator[str]:
    mine = sorted((trip for trip in trips if trip.vehicle == vehicle.key), key=lambda trip: trip.stops[0].arrive)
    where, free = vehicle.place, vehicle.available_from
    for trip in mine:
        if len(trip.stops) < 2 or trip.stops[0].place != where or trip.stops[0].arrive < free - SLACK:
            yield f"{trip.key}: begins elsewhere or too early"
        for stop, following in zip(trip.stops, trip.stops[1:], strict=False):
            yield from _way(network, vehicle, trip, stop, following)
        yield from _loads(network, vehicle, trip)
        for stop in trip.stops:
            yield from _hours(network, vehicle, trip, stop)
        where, free = trip.stops[-1].place, trip.stops[-1].depart
        if free > min(horizon, vehicle.available_until) + SLACK:
            yield f"{trip.key}: over too late"


def _way(network: Network, vehicle: Vehicle, trip: Trip, stop: Stop, following: Stop) -> Iterator[str]:
    where, time = stop.place, stop.depart
    for key in stop.via:
        roads = [road for road in network.roads if road.key == key and road.start == where]
        if len(roads) != 1 or roads[0].on_foot is not vehicle.on_foot:
            yield f"{trip.key}: no such way on from {where}: {key}"
            return
        time = _through(roads[0], time)
        where = roads[0].end
    if where != following.place or time > following.arrive + SLACK:
        yield f"{trip.key}: cannot be at {following.place} by {following.arrive}, but at {where} at {time}"


def _through(road: Road, time: float) -> float:
    for window in sorted(road.closed, key=lambda window: window.start):
        if time < window.end - SLACK and time + road.minutes > window.start + SLACK:
            time = window.end
    return time + road.minutes


def _loads(network: Network, vehicle: Vehicle, trip: Trip) -> Iterator[str]:
    aboard: Counter[str] = Counter()
    for stop in trip.stops:
        aboard.subtract({cargo.item: cargo.quantity for cargo in stop.unload})
        if min(aboard.values(), default=0) < 0 or any(cargo.quantity < 1 for cargo in (*stop.unload, *stop.load)):
            yield f"{trip.key}: unloads what is not aboard"
        aboard.update({cargo.item: cargo.quantity for cargo in stop.load})
        slots: Counter[str] = Counter()
        for item, count in aboard.items():
            slots[network.items[item].cylinder] += count
        del slots[""]
        if any(count > vehicle.slots.get(kind, 0) for kind, count in slots.items()):
            yield f"{trip.key}: more than its slots"
        if sum(network.items[item].kg * count for item, count in aboard.items()) > vehicle.payload_kg + SLACK:
            yield f"{trip.key}: more than its payload"
    if sum(aboard.values()):
        yield f"{trip.key}: ends with something aboard"


def _hours(network: Network, vehicle: Vehicle, trip: Trip, stop: Stop) -> Iterator[str]:
    place = next(place for place in network.places if place.key == stop.place)
    work = []
    if stop.unload:
        work.append((stop.arrive, stop.arrive + vehicle.unloading))
    if stop.load:
        work.append((stop.depart - vehicle.loading, stop.depart))
    if stop.depart - stop.arrive < sum(end - start for start, end in work) - SLACK:
        yield f"{trip.key}: too short a stop at {stop.place}"
    for start, end in work:
        if not any(window.start - SLACK <= start and end <= window.end + SLACK for window in place.open):
            yield f"{trip.key}: {stop.place} is closed at {start} to {end}"
    takes = {PlaceKind.AREA: set(ItemKind) - {ItemKind.EMPTY}, PlaceKind.FILL_STATION: {ItemKind.EMPTY}}
    for cargo in stop.unload:
        if network.items[cargo.item].kind not in takes.get(place.kind, set()):
            yield f"{trip.key}: {stop.place} does not take {cargo.item}"


def _stock(network: Network, needs: Sequence[Need], spent: Sequence[Spent], trips: Sequence[Trip]) -> Iterator[str]:
    changes: defaultdict[tuple[str, str], list[tuple[float, int, int]]] = defaultdict(list)
    queues: defaultdict[str, list[tuple[float, str]]] = defaultdict(list)
    for place, item, quantity, at in [*_come(network, spent), *_brought(network, trips)]:
        filled = any(here.key == place and here.filling for here in network.places)
        if filled and network.items[item].kind is ItemKind.EMPTY:
            queues[place] += [(at, item)] * quantity
        else:
            changes[place, item].append((at, 0, quantity))
    for place, item, quantity, at in _taken(network, trips):
        changes[place, item].append((at + SLACK, 1, -quantity))
        if any((need.area, need.item) == (place, item) for need in needs):
            yield f"{item} is taken away from {place}"
    for place, queue in queues.items():
        for full, at in _filled(network, place, sorted(queue, key=lambda each: each[0])):
            changes[place, full].append((at, 0, 1))
    for (place, item), rows in changes.items():
        level = 0
        for at, _, change in sorted(rows):
            level += change
            if level < 0:
                yield f"{-level} {item} too many taken at {place} at {at}"


def _come(network: Network, spent: Sequence[Spent]) -> list[tuple[str, str, int, float]]:
    stock = [(heap.place, heap.item, heap.quantity, heap.available_from) for heap in network.stock]
    return stock + [(empties.area, empties.item, 1, at) for empties in spent for at in empties.at]


def _brought(network: Network, trips: Sequence[Trip]) -> Iterator[tuple[str, str, int, float]]:
    """Yield what comes to fill stations; what comes to areas is used there."""
    vehicles = {vehicle.key: vehicle for vehicle in network.vehicles}
    areas = {place.key for place in network.places if place.kind is PlaceKind.AREA}
    for trip in trips:
        for stop in trip.stops:
            for cargo in () if stop.place in areas else stop.unload:
                yield stop.place, cargo.item, cargo.quantity, stop.arrive + vehicles[trip.vehicle].unloading


def _taken(network: Network, trips: Sequence[Trip]) -> Iterator[tuple[str, str, int, float]]:
    vehicles = {vehicle.key: vehicle for vehicle in network.vehicles}
    for trip in trips:
        for stop in trip.stops:
            for cargo in stop.load:
                yield stop.place, cargo.item, cargo.quantity, stop.depart - vehicles[trip.vehicle].loading


def _filled(network: Network, key: str, queue: Sequence[tuple[float, str]]) -> Iterator[tuple[str, float]]:
    place = next(place for place in network.places if place.key == key)
    assert place.filling is not None
    time = 0.0
    for at, empty in queue:
        kind = network.items[empty].cylinder
        assert kind in place.filling.cylinders
        full = next(
            item
            for item in network.items.values()
            if item.lot
            and item.lot.cylinder
            and item.cylinder == kind
            and item.lot.gauge_psi == item.lot.cylinder.full_psi
        )
        assert full.lot is not None
        takes = max(60 / place.filling.per_hour, full.lot.litres_each * 60 / place.filling.litres_per_hour)
        begins = [
            max(time, at, window.start) for window in place.open if max(time, at, window.start) + takes <= window.end
        ]
        if begins:
            time = begins[0] + takes
            yield full.key, time


def _crews(network: Network, trips: Sequence[Trip]) -> Iterator[str]:
    crew = {vehicle.key: vehicle.crew for vehicle in network.vehicles}
    changes = []
    for trip in trips:
        for stop, following in zip(trip.stops, trip.stops[1:], strict=False):
            if following.arrive - stop.depart > 2 * SLACK:
                changes += [(stop.depart + SLACK, crew[trip.vehicle]), (following.arrive - SLACK, -crew[trip.vehicle])]
    people = 0
    for at, change in sorted(changes):
        people += change
        if people > network.crews:
            yield f"{people} people under way at {at}"


def _too_many(network: Network, needs: Sequence[Need], trips: Sequence[Trip]) -> Iterator[str]:
    wanted = Counter((need.area, need.item) for need in needs)
    for key, times in arrivals(network, trips).items():
        if len(times) > wanted[key]:
            yield f"more than needed of {key}"
