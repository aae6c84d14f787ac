"""Every stop of the trips with all that it names looked up, each vehicle's in the order of time."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from itertools import zip_longest
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from collections.abc import Set as AbstractSet

    from mci.plan.trips import Stop, Trip
    from mci.scenario.network import Item, Network, Place, Vehicle

__all__ = ["Carried", "Fault", "Visit", "Visits", "look_up_visits"]


class Fault(NamedTuple):
    """What is wrong in a row of the table of trips (0 where no row is to blame), and when [min]."""

    row: int
    minute: float
    reason: str
    judged: bool = True


class Carried(NamedTuple):
    """Things of one kind that a row loads or unloads."""

    row: int
    item: Item
    quantity: int


@dataclass(slots=True)
class Visit:
    """A stop of a vehicle.

    Parameters
    ----------
    row
        Its first row in the table of trips.
    place
        ``None`` where the network has no such place.
    following
        The next stop of the trip; ``None`` at the last one.
    """

    row: int
    trip: str
    stop: Stop
    vehicle: Vehicle
    place: Place | None
    following: Stop | None
    unload: list[Carried] = field(default_factory=list)
    load: list[Carried] = field(default_factory=list)

    @property
    def unloaded_at(self) -> float:
        """When what is unloaded can be used [min]."""
        return self.stop.arrive + self.vehicle.unloading

    @property
    def loading_at(self) -> float:
        """When what is loaded must be there [min]."""
        return self.stop.depart - self.vehicle.loading


@dataclass(frozen=True, slots=True)
class Visits:
    """All stops of known vehicles.

    Parameters
    ----------
    rounds
        Per vehicle, its trips in the order of time, each with its stops.
    """

    network: Network
    rounds: dict[str, list[list[Visit]]]

    def __iter__(self) -> Iterator[Visit]:
        """Yield every stop, vehicle by vehicle."""
        return (visit for trips in self.rounds.values() for trip in trips for visit in trip)

    def of_vehicle(self, key: str) -> list[Visit]:
        """Return the stops of a vehicle in the order of time."""
        return [visit for trip in self.rounds[key] for visit in trip]


def look_up_visits(network: Network, trips: Sequence[Trip]) -> tuple[Visits, dict[str, list[Fault]]]:
    """Look up what trips name; also return the faults of the laws ``known`` and ``whole``.

    The trips of a vehicle that nobody knows are left out, and so is cargo that is unknown or not a whole number.
    Rows are counted as in :func:`mci.plan.trip_table.trip_rows`.
    """
    faults: dict[str, list[Fault]] = {"known": [], "whole": []}
    vehicles = {vehicle.key: vehicle for vehicle in network.vehicles}
    places, roads = {place.key: place for place in network.places}, {road.key for road in network.roads}
    rounds: dict[str, list[list[Visit]]] = defaultdict(list)
    row, keys = 1, set[str]()
    for trip in trips:
        if trip.stops:
            faults["known"] += _unknown_trip(trip, row, vehicles, keys)
        keys.add(trip.key)
        visits = []
        for stop, following in zip_longest(trip.stops, trip.stops[1:]):
            if stop.place not in places:
                faults["known"].append(Fault(row, stop.arrive, f"there is no place {stop.place!r}"))
            for road in dict.fromkeys(stop.via):
                if road not in roads:
                    faults["known"].append(Fault(row, stop.depart, f"there is no road {road!r}"))
            vehicle = vehicles.get(trip.vehicle)
            if vehicle is not None:
                visit = Visit(row, trip.key, stop, vehicle, places.get(stop.place), following)
                _look_up_cargo(network.items, visit, faults)
                visits.append(visit)
            row += max(1, len(stop.unload) + len(stop.load))
        if visits:
            rounds[trip.vehicle].append(visits)
    for mine in rounds.values():
        mine.sort(key=lambda visits: visits[0].stop.arrive)
    return Visits(network, dict(rounds)), faults


def _unknown_trip(trip: Trip, row: int, vehicles: Mapping[str, Vehicle], keys: AbstractSet[str]) -> Iterator[Fault]:
    minute = trip.stops[0].arrive
    if trip.vehicle not in vehicles:
        yield Fault(row, minute, f"there is no vehicle {trip.vehicle!r}")
    if trip.key in keys:
        yield Fault(row, minute, f"there is another trip {trip.key!r}")


def _look_up_cargo(items: Mapping[str, Item], visit: Visit, faults: dict[str, list[Fault]]) -> None:
    stop = visit.stop
    for number, cargo in enumerate((*stop.unload, *stop.load)):
        row, unloaded = visit.row + number, number < len(stop.unload)
        minute = stop.arrive if unloaded else visit.loading_at
        if cargo.item not in items:
            faults["known"].append(Fault(row, minute, f"there is no item {cargo.item!r}"))
        elif not (cargo.quantity > 0 and cargo.quantity == int(cargo.quantity)):
            faults["whole"].append(Fault(row, minute, f"{cargo.quantity:g} of {cargo.item} is no whole number above 0"))
        else:
            (visit.unload if unloaded else visit.load).append(Carried(row, items[cargo.item], cargo.quantity))
