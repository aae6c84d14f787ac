"""Trips at other times: one leaves later, and whatever follows on the same vehicle is put off where it must be."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from mci.plan.trips import loading_stop
from mci.resupply.hours import first_opening
from mci.resupply.routes import Routes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from mci.plan.trips import Stop, Trip
    from mci.scenario.network import Network, Vehicle

__all__ = ["Timetable"]


class Timetable:
    """Moves trips of a network in time; what they carry and where they go stays.

    Parameters
    ----------
    network
        The network.
    """

    def __init__(self, network: Network) -> None:
        self.network = network
        self._vehicles = {vehicle.key: vehicle for vehicle in network.vehicles}
        self._places = {place.key: place for place in network.places}
        self._routes = {on_foot: Routes(network, on_foot=on_foot) for on_foot in (False, True)}

    def routes(self, trip: Trip) -> Routes:
        """Return the routes of the trip's vehicle."""
        return self._routes[self._vehicles[trip.vehicle].on_foot]

    def vehicle(self, trip: Trip) -> Vehicle:
        """Return the vehicle of a trip."""
        return self._vehicles[trip.vehicle]

    def leave(self, trips: Sequence[Trip], key: str, depart: float) -> tuple[Trip, ...] | None:
        """Return the trips with one that leaves the place where it loads at another, later moment.

        Later stops keep the moment from which they load, or are later where they must be; so do later trips of the
        vehicle.

        Parameters
        ----------
        key
            The trip.
        depart
            When it leaves the place where it loads [min].

        Returns
        -------
        trips
            In the same order; ``None`` where it cannot get to where it goes, or no place opens long enough.
        """
        number = next(n for n, trip in enumerate(trips) if trip.key == key)
        vehicle = trips[number].vehicle
        moved: dict[str, Trip] = {}
        mine = sorted((t for t in trips if t.vehicle == vehicle), key=lambda trip: trip.stops[0].arrive)
        at = mine.index(trips[number])
        trip: Trip | None = self._onward(mine[at], loading_stop(mine[at]), depart)
        while trip is not None:
            moved[trip.key] = trip
            at += 1
            if at == len(mine) or mine[at].stops[0].arrive >= trip.stops[-1].depart:
                return tuple(moved.get(each.key, each) for each in trips)
            trip = self._begin(mine[at], trip.stops[-1].depart)
        return None

    def _begin(self, trip: Trip, at: float) -> Trip | None:
        """Return a trip that does not begin before a moment."""
        first = self._stop(trip, 0, at)
        return None if first is None else self._onward(trip, 0, max(first.depart, trip.stops[0].depart), first.arrive)

    def _onward(self, trip: Trip, number: int, depart: float, arrive: float | None = None) -> Trip | None:
        """Return a trip that leaves one of its stops at a moment."""
        begun = replace(trip.stops[number], depart=depart)
        stops = [*trip.stops[:number], begun if arrive is None else replace(begun, arrive=arrive)]
        for place in range(number + 1, len(trip.stops)):
            leg = self.routes(trip).soonest(stops[-1].place, trip.stops[place].place, stops[-1].depart)
            stop = None if leg is None else self._stop(trip, place, leg.arrive)
            if leg is None or stop is None:
                return None
            waits = place - 1 > number and not stops[-1].load  # before a closed road, where it has unloaded
            stops[-1] = replace(stops[-1], via=leg.roads, depart=leg.depart if waits else stops[-1].depart)
            stops.append(stop)
        return replace(trip, stops=tuple(stops))

    def _stop(self, trip: Trip, number: int, at: float) -> Stop | None:
        """Return a stop at which the vehicle is at a moment, with what is done there; ``None`` if it cannot be."""
        stop, vehicle = trip.stops[number], self.vehicle(trip)
        unloading = vehicle.unloading if stop.unload else 0.0
        loading = vehicle.loading if stop.load else 0.0
        if unloading + loading == 0:
            return replace(stop, arrive=at, depart=max(at, stop.depart) if number < len(trip.stops) - 1 else at)
        ready = stop.depart - loading if loading else 0.0
        work = first_opening(self._places[stop.place].open, at, unloading, loading, ready)
        return None if work is None else replace(stop, arrive=work.begin, depart=work.done)
