"""Every departure as late as is safe, and what is lost by leaving later still."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mci.plan.deliver import hand_over
from mci.plan.trips import loading_stop
from mci.replay.trips import judge_trips
from mci.resupply.care import NOTHING, difference
from mci.resupply.retime import Timetable
from mci.resupply.schedule import Departure
from mci.scenario.network import PlaceKind, network_of
from mci.timegrid import RESOLUTION

if TYPE_CHECKING:
    from collections.abc import Sequence

    from mci.plan.trips import Trip
    from mci.resupply.care import Care, Worth
    from mci.scenario.model import Scenario

__all__ = ["find_latest"]

#: Delay for which the loss is told [min].
DELAY = 10.0


def find_latest(scenario: Scenario, care: Care, trips: Sequence[Trip], step: float) -> tuple[Departure, ...]:
    """Put every trip off as far as nothing is lost, the one that leaves first before the others.

    Whoever must decide first gets the most time.  What is held is what the goals miss or, without goals, the
    weighted coverage, patients and litres divisible.

    Parameters
    ----------
    scenario
        The incident with its network.
    care
        What trips are worth.
    trips
        Trips that can be carried out.
    step
        Trips are put off by whole steps [min].
    """
    search = _Search(scenario, care, tuple(trips), step)
    for key in [trip.key for trip in sorted(trips, key=_leaves)]:
        search.put_off(key)
    return search.departures(tuple(trips))


def _leaves(trip: Trip) -> tuple[float, str]:
    return trip.stops[loading_stop(trip)].depart, trip.key


class _Search:
    """Trips that are put off one after the other."""

    def __init__(self, scenario: Scenario, care: Care, trips: tuple[Trip, ...], step: float) -> None:
        network = network_of(scenario)
        self._scenario, self._network, self._care, self._step = scenario, network, care, step
        self._table = Timetable(network)
        self._hold = self._worth(trips)
        self.trips = trips

    def _worth(self, trips: Sequence[Trip]) -> Worth:
        return self._care.worth(self._network, trips)

    def _can_be(self, trips: Sequence[Trip]) -> bool:
        return not any(finding.judged for finding in judge_trips(self._scenario, trips))

    def _in_time(self, trip: Trip) -> bool:
        """Tell whether a trip is over by the end of the plan, and while its vehicle may be used."""
        until = min(self._scenario.horizon, self._table.vehicle(trip).available_until)
        return trip.stops[-1].depart <= until + RESOLUTION

    def _is_safe(self, trip: Trip, steps: int) -> bool:
        """Tell whether nothing is lost if a trip is so many steps later; of two delays the shorter is as safe."""
        moved = self._later(trip, steps)
        if moved is None or not all(map(self._in_time, moved)):
            return False
        return self._worth(moved).as_good_as(self._hold, NOTHING)

    def _later(self, trip: Trip, steps: int) -> tuple[Trip, ...] | None:
        return self._table.leave(self.trips, trip.key, self._departure(trip, steps))

    def _departure(self, trip: Trip, steps: int) -> float:
        """Return the moment to leave so that what comes first is in hand some steps after it is now [min].

        In hand at the start of a step, since a moment counts from the next step on.
        """
        number = loading_stop(trip)
        start, end = trip.stops[number], trip.stops[number + 1]
        unloading = self._table.vehicle(trip).unloading if end.unload else 0.0
        in_hand = self._step * (math.ceil((end.arrive + unloading) / self._step - 1e-9) + steps)
        leg = self._table.routes(trip).latest(start.place, end.place, in_hand - unloading)
        return start.depart if leg is None else max(start.depart, leg.depart)

    def put_off(self, key: str) -> None:
        """Put a trip off as far as it can be: strides that double, then halve, then back to what can be carried out.

        What cannot be carried out a little later may be later still, as where a place closes and opens again.
        """
        trip = next(each for each in self.trips if each.key == key)
        good, bad = -1, math.ceil((self._scenario.horizon - trip.stops[0].arrive) / self._step) + 1
        stride = 1
        while bad - good > 1:
            middle = min(good + stride, (good + bad) // 2) if stride else (good + bad) // 2
            if self._is_safe(trip, middle):
                good, stride = middle, 2 * stride
            else:
                bad, stride = middle, 0
        later = (self._later(trip, steps) for steps in range(good, -1, -1))
        self.trips = next((moved for moved in later if moved is not None and self._can_be(moved)), self.trips)

    def departures(self, planned: Sequence[Trip]) -> tuple[Departure, ...]:
        """Return every trip with its last safe times, in the order of leaving."""
        first = {trip.key: trip for trip in planned}
        return tuple(self._tell(trip, first[trip.key]) for trip in sorted(self.trips, key=_leaves))

    def _tell(self, trip: Trip, planned: Trip) -> Departure:
        number = loading_stop(trip)
        start = trip.stops[number]
        return Departure(
            planned=planned,
            trip=trip,
            earliest=planned.stops[loading_stop(planned)].depart,
            leave_by=start.depart,
            arrive_by=self._in_hand(trip),
            lost=self._lost(trip),
            request_by=self._request_by(trip),
        )

    def _in_hand(self, trip: Trip) -> float:
        brought = [batch.at for batch in hand_over(self._network, [trip]) if batch.trip]
        return min(brought, default=trip.stops[loading_stop(trip) + 1].arrive)

    def _request_by(self, trip: Trip) -> float | None:
        suppliers = {place.key: place for place in self._network.places if place.kind is PlaceKind.SUPPLIER}
        loading = self._table.vehicle(trip).loading
        asked = [
            stop.depart - loading - suppliers[stop.place].lead
            for stop in trip.stops
            if stop.load and stop.place in suppliers
        ]
        return min(asked, default=None)

    def _lost(self, trip: Trip) -> dict[str, float]:
        """Return the credit-minutes lost per category if a trip leaves later than it must, or can then not be made."""
        depart = trip.stops[loading_stop(trip)].depart + DELAY
        moved = self._table.leave(self.trips, trip.key, depart)
        if moved is None or not self._can_be(moved):
            moved = tuple(each for each in self.trips if each.key != trip.key)
        now, then = self._worth(self.trips).credit, self._worth(moved).credit
        return difference(now, then)
