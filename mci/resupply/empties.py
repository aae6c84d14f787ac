"""Empties on their way to a fill station: taken along from areas, or fetched on purpose."""

from __future__ import annotations

import dataclasses
import math
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.resupply.draft import Draft, Part, room
from mci.resupply.fleet import Call

if TYPE_CHECKING:
    from collections.abc import Iterator

    from mci.resupply.backlog import Backlog
    from mci.resupply.fleet import Fleet
    from mci.resupply.yard import Yard
    from mci.scenario.network import Network, Vehicle

__all__ = ["Empties"]


@dataclass(frozen=True, slots=True, order=True)
class _Fetch:
    """A way to get empties filled, and how late the first of them could be where it is needed; the least is best."""

    late: float
    lacking: int
    usable: float
    rank: int
    place: str
    station: str
    empty: str


class Empties:
    """Chooses which empties are worth filling: no more than are needed and not in stock anywhere.

    Parameters
    ----------
    network, fleet, yard, backlog
        The network, and what is booked and needed by now.
    """

    def __init__(self, network: Network, fleet: Fleet, yard: Yard, backlog: Backlog) -> None:
        self._network, self._fleet, self._yard, self._backlog = network, fleet, yard, backlog

    def _short(self, full: str) -> int:
        """Return how many full cylinders are needed beyond those in stock."""
        in_stock = sum(self._yard.left(place, full) for place in self._yard.givers(full))
        return max(self._backlog.left(full) - in_stock, 0)

    def take_along(self, draft: Draft) -> Draft:
        """Return the trip with empties taken along, to the station that takes most and has them full first."""
        best, chosen = (0, math.inf), draft
        for station in self._yard.queues:
            longer = self._to_station(draft, station)
            if longer is not None:
                empties = longer.parts[-1].unloaded
                full = self._yard.full_by(station, empties.items(), longer.usable(len(longer.parts) - 1))
                if full < math.inf:
                    best, chosen = min((best, chosen), ((-empties.total(), full), longer), key=lambda each: each[0])
        return chosen

    def _to_station(self, draft: Draft, station: str) -> Draft | None:
        """Return the trip with what it can take along to a station; ``None`` if that is nothing, or too late."""
        taken: Counter[str] = Counter()
        for number in range(1, len(draft.parts)):
            load = self._at_area(draft, number, station, taken)
            part = draft.parts[number]
            stops = dataclasses.replace(part, call=dataclasses.replace(part.call, load=True), loaded=load)
            parts = (*draft.parts[:number], stops, *draft.parts[number + 1 :])
            longer = self._drive(draft.vehicle, parts) if load else None
            if longer is not None and longer.in_time:
                draft = longer
                taken += load
        if not taken:
            return None
        last = Part(Call(station, unload=True), unloaded=taken)
        return self._drive(draft.vehicle, (*draft.parts, last))

    def _at_area(self, draft: Draft, number: int, station: str, taken: Counter[str]) -> Counter[str]:
        """Return what can be loaded at a call as soon as the vehicle has unloaded there."""
        part = draft.parts[number]
        aboard = sum((later.unloaded for later in draft.parts[number + 1 :]), Counter(taken))
        load: Counter[str] = Counter()
        makes = self._yard.queues[station].makes
        for empty, full in makes.items():
            count = min(
                self._yard.free(part.call.place, empty, draft.usable(number)),
                room(draft.vehicle, self._network.items, aboard + load, empty),
                self._short(full) - sum(taken[other] for other in makes if makes[other] == full),
            )
            if count > 0:
                load[empty] = count
        return load

    def _drive(self, vehicle: Vehicle, parts: tuple[Part, ...]) -> Draft | None:
        visits = self._fleet.drive(vehicle, [part.call for part in parts])
        return None if visits is None else Draft(vehicle, parts, visits)

    def fetch(self, area: str, item: str, due: float) -> Draft | None:
        """Return a trip that only fetches empties, so that a need can be served; ``None`` if there is none.

        Parameters
        ----------
        area, item, due
            The need.
        """
        for option in sorted(self._fetches(area, item, due)):
            vehicle = self._network.vehicles[option.rank]
            ready = self._yard.when(option.place, option.empty, 1)
            parts = (Part(Call(option.place, load=True, ready=ready)), Part(Call(option.station, unload=True)))
            draft = self._drive(vehicle, parts)
            if draft is None:
                continue
            count = min(
                self._yard.free(option.place, option.empty, draft.loading(0)), self._most(vehicle, option.empty, item)
            )
            draft.parts[0].loaded[option.empty] = draft.parts[1].unloaded[option.empty] = count
            if self._yard.full_by(option.station, [(option.empty, count)], draft.usable(1)) < math.inf:
                return draft
        return None

    def _most(self, vehicle: Vehicle, empty: str, full: str) -> int:
        """Return how many empties a vehicle would fetch."""
        return min(room(vehicle, self._network.items, {}, empty), max(self._short(full), 1))

    def _fetches(self, area: str, item: str, due: float) -> Iterator[_Fetch]:
        """Yield every way to fetch empties that become an item."""
        minutes, free = self._fleet.minutes, self._fleet.free
        for station, queue in self._yard.queues.items():
            onward = min(v.loading + minutes(v, station, area) + v.unloading for v in self._network.vehicles)
            for empty in (empty for empty, full in queue.makes.items() if full == item):
                for place in self._yard.givers(empty):
                    for rank, vehicle in enumerate(self._network.vehicles):
                        there = minutes(vehicle, self._fleet.place[vehicle.key], place)
                        begin = max(free[vehicle.key] + there, self._yard.when(place, empty, 1))
                        way = vehicle.loading + minutes(vehicle, place, station) + vehicle.unloading
                        usable = begin + way + queue.minutes(empty) + onward
                        most = self._most(vehicle, empty, item)
                        if usable < math.inf and most:
                            lacking = most - self._yard.free(place, empty, begin)
                            late = max(0.0, usable - due)
                            yield _Fetch(late, max(lacking, 0), usable, rank, place, station, empty)
