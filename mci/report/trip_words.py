"""Trips in words: what is carried, from where to where, by which roads."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mci.plan.trips import loading_stop
from mci.report.words import PatientTime, category_word, join_words
from mci.scenario.model import CATEGORIES
from mci.scenario.network import ItemKind, network_of
from mci.units import format_moment

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from mci.plan.trips import Cargo, Stop, Trip
    from mci.scenario.model import Scenario
    from mci.scenario.network import Network, Road

__all__ = ["TripWords", "lost_words", "unloading_stops"]

#: Losses are always said in this unit: most are small.
MINUTES = PatientTime("patient-minutes", 1.0)
WORTH_SAYING = 0.005  # patient-minutes; less is the solver's arithmetic


def unloading_stops(trip: Trip, network: Network) -> tuple[Stop, ...]:
    """Return the stops at which a trip unloads anything but empties; any stop with unloading where it has none."""
    brings = [s for s in trip.stops if any(network.items[c.item].kind is not ItemKind.EMPTY for c in s.unload)]
    return tuple(brings or [stop for stop in trip.stops if stop.unload])


def lost_words(lost: Mapping[str, float]) -> str:
    """Say what is lost per category [patient-min of credit], in brackets who gains by it.

    ``Immediate 31.5, Delayed 12.0 (Minimal gains 0.5)``, or ``none``.
    """
    said = {c: f"{category_word(c)} {{}}{MINUTES.write(abs(lost.get(c, 0.0)))}" for c in CATEGORIES}
    losing = ", ".join(said[c].format("") for c in CATEGORIES if lost.get(c, 0.0) >= WORTH_SAYING)
    gaining = ", ".join(said[c].format("gains ") for c in CATEGORIES if lost.get(c, 0.0) <= -WORTH_SAYING)
    return (losing or "none") + (f" ({gaining})" if gaining else "")


class TripWords:
    """Names of places, things and roads of one network."""

    def __init__(self, scenario: Scenario) -> None:
        self.network = network_of(scenario)
        self._titles = {place.key: place.title for place in self.network.places}
        self._roads = {(road.key, road.start): road for road in self.network.roads}

    def place(self, key: str) -> str:
        """Return the title of a place."""
        return self._titles.get(key, key)

    def cargo(self, cargoes: Iterable[Cargo]) -> str:
        """Say how many of what: ``6 × EU 10L 200 bar, full and 2 × manifold 3 outlets``."""
        return join_words([f"{each.quantity} × {each.item}" for each in cargoes] or ["nothing"])

    def brings(self, trip: Trip) -> str:
        """Say what a trip brings, cylinders first, and which empties it takes back."""
        sums: dict[str, int] = {}
        for stop in trip.stops:
            for cargo in stop.unload:
                sums[cargo.item] = sums.get(cargo.item, 0) + cargo.quantity
        kinds = {item: self.network.items[item].kind for item in sums}
        said = {
            kind: "; ".join(f"{sums[item]} × {item}" for item in sums if kinds[item] is kind)
            for kind in (ItemKind.FULL, ItemKind.REGULATOR, ItemKind.DEVICE, ItemKind.EMPTY)
        }
        if said[ItemKind.EMPTY]:
            said[ItemKind.EMPTY] = f"takes back {said[ItemKind.EMPTY]}"
        return "; ".join(filter(None, said.values())) or "nothing"

    def comes_from(self, trip: Trip) -> str:
        """Name the place where a trip first loads."""
        return self.place(trip.stops[loading_stop(trip)].place)

    def goes_to(self, trip: Trip) -> str:
        """Name the places where a trip unloads what it brings."""
        places = dict.fromkeys(self.place(stop.place) for stop in unloading_stops(trip, self.network))
        return join_words(list(places) or [self.place(trip.stops[-1].place)])

    def driven(self, stop: Stop) -> Iterator[Road]:
        """Yield the roads from a stop to the next one."""
        here = stop.place
        for key in stop.via:
            if (key, here) in self._roads:
                road = self._roads[key, here]
                here = road.end
                yield road

    def roads(self, stop: Stop, following: Stop | None) -> str:
        """Say which roads lead to the next stop, and how long the vehicle waits on the way."""
        roads = list(self.driven(stop))
        words = ", ".join(f"{road.key} ({road.minutes:g} min)" for road in roads)
        if following is None or not roads:
            return words
        waits = math.floor(following.arrive - stop.depart - sum(road.minutes for road in roads) + 1e-6)
        return f"{words}; {waits} min of waiting on the way" if waits > 0 else words

    def closures(self, roads: Sequence[Road], horizon: float) -> str:
        """Say when roads are closed: ``closed``, ``closed T+30 to T+60``; empty where they never are."""
        windows = dict.fromkeys((w.start, w.end) for road in roads for w in road.closed)
        if any(start <= 0 and end >= horizon for start, end in windows):
            return "closed"
        spans = [
            f"from {format_moment(start)}" if end >= horizon else f"{format_moment(start)} to {format_moment(end)}"
            for start, end in sorted(windows)
        ]
        return f"closed {join_words(spans)}" if spans else ""
