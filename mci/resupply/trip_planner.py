"""Whole trips from a list of needs: the most urgent first, each on the vehicle that brings it with the least delay."""

from __future__ import annotations

import dataclasses
import functools
import itertools
import math
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.resupply.backlog import Backlog
from mci.resupply.draft import Draft, Part, room
from mci.resupply.empties import Empties
from mci.resupply.fleet import Call, Fleet
from mci.resupply.yard import Yard
from mci.timegrid import RESOLUTION

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from mci.plan.trips import Trip
    from mci.resupply.needs import Need, Spent
    from mci.scenario.network import Network, Vehicle

__all__ = ["STYLES", "Style", "plan_trips"]


@dataclass(frozen=True, slots=True)
class Style:
    """How trips are put together; which is best depends on the incident.

    Parameters
    ----------
    most_stops
        The most areas that one trip calls at.
    fetch_empties
        Whether empties are taken to a fill station.
    look_ahead
        What is due by so many minutes after the trip's first need is loaded into free slots [min].
    patience
        How long a vehicle waits where it loads for more of what it came for, if nothing is late by it [min].
    by_load
        Whether vehicle time is counted per thing that can be brought, which prefers the larger vehicle, or per trip,
        which prefers the nearer.
    earliest
        Whether the vehicle that is there first is taken even where another is in time.
    """

    most_stops: int = 2
    fetch_empties: bool = True
    look_ahead: float = math.inf
    patience: float = 0.0
    by_load: bool = True
    earliest: bool = False


#: Worth trying one after the other.
STYLES = (
    Style(),
    Style(most_stops=1),
    Style(most_stops=3, look_ahead=240.0),
    Style(look_ahead=60.0, earliest=True),
    Style(patience=120.0, look_ahead=480.0),
    Style(most_stops=1, by_load=False, look_ahead=120.0),
    Style(fetch_empties=False),
)


def plan_trips(
    network: Network, needs: Sequence[Need], spent: Sequence[Spent], horizon: float, style: Style | None = None
) -> tuple[Trip, ...]:
    """Return trips that serve needs, every vehicle leaving as soon as it usefully can.

    The need that is due first is served first, by the vehicle and from the place that bring it least late and, among
    those, with the least vehicle time; free slots are filled with what else is needed there or near the way.
    A need that nothing can bring by the horizon is left.

    Parameters
    ----------
    network
        Places, roads, vehicles and stock; an area gives what its stock there lends, unless it needs the like itself.
    needs, spent
        What is needed, and the empties that come back, besides those in stock.
    horizon
        Moment by which every trip must be over [min].
    style
        How trips are put together.

    Returns
    -------
    trips
        In the order in which they were made; those of one vehicle in the order of time.
    """
    return _Planner(network, needs, spent, horizon, style or Style()).run()


class _Planner:
    """What is left to do, and what is booked."""

    def __init__(
        self, network: Network, needs: Sequence[Need], spent: Sequence[Spent], horizon: float, style: Style
    ) -> None:
        self._network, self._style = network, style
        self._backlog = Backlog(network, needs)
        self._yard = Yard(network, self._backlog.kinds, spent)
        self._fleet = Fleet(network, horizon)
        self._empties = Empties(network, self._fleet, self._yard, self._backlog)
        self._order = {vehicle.key: number for number, vehicle in enumerate(network.vehicles)}
        self._trips: list[Trip] = []
        self._made: Counter[str] = Counter()

    def run(self) -> tuple[Trip, ...]:
        """Make trips until nothing more can be served."""
        fetched: set[tuple[str, str]] = set()
        while need := self._backlog.most_urgent():
            area, item, due = need
            draft = self._serve(area, item, due)
            if draft is not None:
                fetched.discard((area, item))
            elif self._style.fetch_empties and (area, item) not in fetched:
                draft = self._empties.fetch(area, item, due)
                fetched.add((area, item))
            if draft is None:
                self._backlog.give_up(area, item)
            else:
                self._book(draft)
        return tuple(self._trips)

    def _book(self, draft: Draft) -> None:
        vehicle = draft.vehicle
        for number, part in enumerate(draft.parts):
            place = part.call.place
            for item, quantity in part.loaded.items():
                self._yard.take(place, item, quantity, draft.loading(number))
            if place not in self._yard.queues:
                self._backlog.serve(place, part.unloaded)
            elif part.unloaded:
                self._yard.bring(place, part.unloaded.items(), draft.usable(number))
                for empty in part.unloaded:
                    self._backlog.revive(self._yard.queues[place].makes[empty])
        self._fleet.book(vehicle, draft.visits)
        self._made[vehicle.key] += 1
        self._trips.append(draft.trip(f"{vehicle.key}, trip {self._made[vehicle.key]}"))

    def _serve(self, area: str, item: str, due: float) -> Draft | None:
        """Return the best trip for the most urgent need, filled up."""
        draft = self._first(area, item, due)
        if draft is None:
            return None
        draft = self._wait(draft, item, due)
        until = max(due, draft.usable(1)) + self._style.look_ahead
        draft.parts[0].call = dataclasses.replace(draft.parts[0].call, ready=draft.loading(0))
        self._fill(draft, 1, until)
        for _ in range(1, self._style.most_stops):
            longer = self._call_at_another(draft, until)
            if longer is None:
                break
            draft = longer
        return self._empties.take_along(draft) if self._style.fetch_empties else draft

    # which vehicle, from where

    def _options(self, area: str, item: str, due: float) -> Iterator[tuple[tuple[float, float], int, int, str, int]]:
        """Yield every vehicle and place with the least lateness and vehicle time that it can have."""
        by = due + self._style.look_ahead
        wanted = self._backlog.wanted(area, item, by)
        for number, place in enumerate(self._yard.givers(item)):
            if place == area:
                continue
            ready, left = self._yard.when(place, item, 1), self._yard.left(place, item)
            for vehicle in self._network.vehicles:
                share = min(room(vehicle, self._network.items, {}, item), wanted, left)
                there = self._fleet.minutes(vehicle, self._fleet.place[vehicle.key], place)
                onward = self._fleet.minutes(vehicle, place, area)
                if share == 0 or there + onward == math.inf:
                    continue
                begin = max(self._fleet.free[vehicle.key] + there, ready)
                usable = begin + vehicle.loading + onward + vehicle.unloading
                busy = there + vehicle.loading + onward + vehicle.unloading
                key = self._key(usable, due, busy, share)
                yield key, self._order[vehicle.key], number, place, share

    def _key(self, usable: float, due: float, busy: float, share: int) -> tuple[float, float]:
        late = usable if self._style.earliest else max(0.0, usable - due)
        return late, busy / share if self._style.by_load else busy

    def _first(self, area: str, item: str, due: float) -> Draft | None:
        """Return the trip that brings one thing least late; among those, in the least vehicle time."""
        best: tuple[tuple[float, float], float, int, int] | None = None
        chosen = None
        for bound, rank, number, place, share in sorted(self._options(area, item, due)):
            if best is not None and bound > best[0]:
                break
            ready = self._yard.when(place, item, 1)
            parts = [Part(Call(place, load=True, ready=ready)), Part(Call(area, unload=True))]
            draft = self._draft(self._network.vehicles[rank], parts)
            if draft is None:
                continue
            usable = draft.usable(1)
            key = (self._key(usable, due, draft.busy, share), usable, rank, number)
            if best is None or key < best:
                best, chosen = key, draft
        return chosen

    def _draft(self, vehicle: Vehicle, parts: Sequence[Part]) -> Draft | None:
        visits = self._fleet.drive(vehicle, [part.call for part in parts])
        return None if visits is None else Draft(vehicle, tuple(parts), visits)

    def _wait(self, draft: Draft, item: str, due: float) -> Draft:
        """Return the trip a little later, with more things, where it can wait for them and still be in time."""
        if self._style.patience == 0:
            return draft
        (source, area), begin = (part.call.place for part in draft.parts), draft.loading(0)
        most = min(
            room(draft.vehicle, self._network.items, {}, item),
            self._yard.left(source, item),
            self._backlog.wanted(area, item, due + self._style.look_ahead),
        )
        for quantity in range(most, self._yard.free(source, item, begin), -1):
            ready = self._yard.when(source, item, quantity)
            if ready <= begin + self._style.patience:
                first = Part(Call(source, load=True, ready=ready))
                later = self._draft(draft.vehicle, [first, draft.parts[1]])
                if later is not None and later.usable(1) <= due:
                    return later
        return draft

    # what else it carries

    def _taker(self, draft: Draft) -> Callable[[str], bool]:
        """Return what loads one more of an item where the trip loads, if there is room and stock."""
        loaded, source, begin = draft.parts[0].loaded, draft.parts[0].call.place, draft.loading(0)

        def take(item: str) -> bool:
            if loaded[item] >= self._yard.free(source, item, begin):
                return False
            if room(draft.vehicle, self._network.items, loaded, item) == 0:
                return False
            loaded[item] += 1
            return True

        return take

    def _fill(self, draft: Draft, number: int, until: float) -> bool:
        """Load what is needed at a call; return whether it is anything."""
        part = draft.parts[number]
        part.unloaded, first = self._backlog.pick(part.call.place, until, self._taker(draft))
        part.allowed = max(first, draft.usable(number))
        return bool(part.unloaded)

    def _call_at_another(self, draft: Draft, until: float) -> Draft | None:
        """Return the trip with the area that is least out of the way and makes nothing late; ``None`` if none is."""
        for _, area, position in sorted(self._detours(draft, until)):
            parts = [*draft.parts[:position], Part(Call(area, unload=True)), *draft.parts[position:]]
            longer = self._draft(draft.vehicle, parts)
            if longer is not None and longer.in_time and self._fill(longer, position, until):
                return longer
        return None

    def _detours(self, draft: Draft, until: float) -> Iterator[tuple[float, str, int]]:
        """Yield the minutes that a call at another area costs, where that is less than going there alone."""
        vehicle, loaded, begin = draft.vehicle, draft.parts[0].loaded, draft.loading(0)
        called = [part.call.place for part in draft.parts]
        minutes = functools.partial(self._fleet.minutes, vehicle)
        for area, items in self._backlog.areas().items():
            direct = minutes(called[0], area)
            if area in called or direct == math.inf or self._backlog.first_due(area) > until:
                continue
            if not any(
                self._yard.free(called[0], item, begin) > loaded[item]
                and room(vehicle, self._network.items, loaded, item)
                for item in items
            ):
                continue
            yield minutes(called[-1], area), area, len(called)
            for position, (before, after) in enumerate(itertools.pairwise(called), start=1):
                added = minutes(before, area) + minutes(area, after) - minutes(before, after)
                if added < direct + RESOLUTION:
                    yield added, area, position
