"""Vehicles: where each is and from when it is free, and when it gets through a row of calls."""

from __future__ import annotations

import itertools
import math
from bisect import bisect_right
from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.resupply.hours import Work, first_opening
from mci.resupply.routes import Routes
from mci.timegrid import RESOLUTION

if TYPE_CHECKING:
    from collections.abc import Sequence

    from mci.scenario.network import Network, Vehicle

__all__ = ["Call", "Fleet", "Visit"]


@dataclass(frozen=True, slots=True)
class Call:
    """A place to be called at, what is done there, and the moment before which loading is not begun [min]."""

    place: str
    unload: bool = False
    load: bool = False
    ready: float = 0.0


@dataclass(frozen=True, slots=True)
class Visit:
    """A call with its times, and the roads to the next one."""

    place: str
    arrive: float
    depart: float
    roads: tuple[str, ...] = ()


class _Crews:
    """People under way, between leaving a stop and beginning at the next."""

    def __init__(self, limit: float) -> None:
        self._limit = limit
        self._changes: list[tuple[float, int]] = []
        self._times = [-math.inf]  # from each of these on ...
        self._people = [0]  # ... so many are under way

    def book(self, visits: Sequence[Visit], people: int) -> None:
        """Enter people under way."""
        for visit, following in itertools.pairwise(visits):
            self._changes += [(visit.depart, people), (following.arrive, -people)]
        self._changes.sort()
        self._times = [-math.inf, *(moment for moment, _ in self._changes)]
        self._people = list(itertools.accumulate((change for _, change in self._changes), initial=0))

    def wait(self, depart: float, arrive: float, people: int) -> float:
        """Return from when so many more can be under way for as long [min]; ``depart`` if at once, ``inf`` if never."""
        if people > self._limit:
            return math.inf
        minutes = arrive - depart
        number = bisect_right(self._times, depart + RESOLUTION) - 1
        while number < len(self._times) and self._times[number] < depart + minutes - RESOLUTION:
            if self._people[number] + people > self._limit:
                depart = self._times[number + 1]
            number += 1
        return depart


class Fleet:
    """Vehicles of a network; each begins a trip where its last one ended.

    Parameters
    ----------
    network
        The network.
    horizon
        Moment by which every trip must be over [min].
    """

    def __init__(self, network: Network, horizon: float) -> None:
        self.vehicles = network.vehicles
        self.place = {vehicle.key: vehicle.place for vehicle in network.vehicles}
        self.free = {vehicle.key: vehicle.available_from for vehicle in network.vehicles}
        self._until = {vehicle.key: min(horizon, vehicle.available_until) for vehicle in network.vehicles}
        self._hours = {place.key: place.open for place in network.places}
        self._routes = {on_foot: Routes(network, on_foot=on_foot) for on_foot in (False, True)}
        self._crews = _Crews(network.crews)

    def minutes(self, vehicle: Vehicle, start: str, end: str) -> float:
        """Return the shortest time from place to place with every road open [min]; ``inf`` if there is no way."""
        return self._routes[vehicle.on_foot].minutes(start, end)

    def drive(self, vehicle: Vehicle, calls: Sequence[Call]) -> list[Visit] | None:
        """Return when a vehicle gets through calls, beginning as soon as it can.

        Where the first call is not where the vehicle is, the way there comes first.  Loading and unloading are
        within one opening; loading is the last thing done before leaving.

        Parameters
        ----------
        vehicle
            Which.
        calls
            In order; no place twice in a row.

        Returns
        -------
        visits
            ``None`` where there is no way, or not in time.
        """
        here, free = self.place[vehicle.key], self.free[vehicle.key]
        visits: list[Visit] = []
        work: Work | None = Work(free, free, math.inf)
        for call in calls:
            if call.place == here and not visits:
                work = self._work(vehicle, call, free)
            elif work is not None:
                left = self._leave(vehicle, here, work, call)
                if left is None:
                    return None
                visits.append(left[0])
                here, work = call.place, left[1]
            if work is None or work.done > self._until[vehicle.key] + RESOLUTION:
                return None
        return [*visits, Visit(here, work.begin, work.done)] if work else None

    def _work(self, vehicle: Vehicle, call: Call, at: float) -> Work | None:
        unloading, loading = vehicle.unloading * call.unload, vehicle.loading * call.load
        return first_opening(self._hours[call.place], at, unloading, loading, call.ready)

    def _leave(self, vehicle: Vehicle, here: str, work: Work, call: Call) -> tuple[Visit, Work] | None:
        """Return the visit that is over and the work at the next call; one leaves later where crews are short."""
        moment = work.done
        while moment <= work.closes + RESOLUTION:
            leg = self._routes[vehicle.on_foot].soonest(here, call.place, moment)
            there = None if leg is None else self._work(vehicle, call, leg.arrive)
            if leg is None or there is None or there.done > self._until[vehicle.key] + RESOLUTION:
                return None
            depart = max(moment, min(leg.depart, work.closes))
            later = self._crews.wait(depart, there.begin, vehicle.crew)
            if later <= depart:
                return Visit(here, work.begin, depart, leg.roads), there
            moment = later
        return None

    def book(self, vehicle: Vehicle, visits: Sequence[Visit]) -> None:
        """Send a vehicle; its next trip begins where and when this one ends."""
        self._crews.book(visits, vehicle.crew)
        self.place[vehicle.key], self.free[vehicle.key] = visits[-1].place, visits[-1].depart
