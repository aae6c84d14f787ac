"""Routes on a network whose roads are closed at times: the earliest arrival, and the latest departure in time for it.

Whoever finds a road closed waits before it, so leaving later never means arriving earlier (first in, first out): to
enter at the first moment allowed is always best, whatever follows.  Hence a search that settles places in the order of
earliest arrival, as Dijkstra's does, is exact.  It is written here because the weights of networkx cannot see the
time; networkx finds the shortest ways with every road open, and where nobody need wait on such a way, nothing beats it.

The latest departure is the earliest arrival on the mirrored network: roads turned round and time running backwards.

Every time is rounded to a whole number of :data:`TICKS` to the minute, a power of two, so that floats add and subtract
without error: a vehicle that leaves a road just as it closes, or enters just as it opens, is never turned away by a
last digit.
"""

from __future__ import annotations

import heapq
import itertools
import math
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

import networkx as nx

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from mci.scenario.network import Network, Road

__all__ = ["TICKS", "Leg", "Routes"]

#: Ticks in a minute; one is shorter than the time grid's resolution, and exact up to 2^33 minutes.
TICKS = 2**20


@dataclass(frozen=True, slots=True)
class Leg:
    """A way from one place to another at a certain time.

    Parameters
    ----------
    depart
        As late as it can be for this arrival, so that one waits at the start rather than on the way [min].
    arrive
        As early as it can be for this departure [min].
    roads
        Keys, in order; none where start and end are one place.
    """

    start: str
    end: str
    depart: float
    arrive: float
    roads: tuple[str, ...]


class Routes:
    """The routes of vehicles, or of people on foot.

    Nothing that was searched is forgotten, so that the same question is cheap and has the same answer.  Among routes
    that arrive at the same moment a search takes the one with fewer roads, then the first by its keys.

    Parameters
    ----------
    on_foot
        Whether to take the paths for people or the roads for vehicles; nobody takes both.
    """

    def __init__(self, network: Network, *, on_foot: bool) -> None:
        ways = [_way(road) for road in network.roads if road.on_foot is on_foot]
        self._graph: nx.MultiDiGraph[str] = nx.MultiDiGraph()
        self._graph.add_nodes_from(place.key for place in network.places)
        for way in ways:
            self._graph.add_edge(way.start, way.end, minutes=way.minutes, way=way)
        self._onward = _by_start(ways)
        self._backward = _by_start(way.mirrored() for way in ways)
        self._shortest: dict[str, dict[str, _Shortest]] = {}
        self._soonest: dict[tuple[str, str, float], Leg | None] = {}
        self._latest: dict[tuple[str, str, float], Leg | None] = {}

    def minutes(self, start: str, end: str) -> float:
        """Return the shortest time with every road open [min]; ``inf`` if there is no way."""
        shortest = self._from(start).get(end)
        return math.inf if shortest is None else shortest.minutes

    def soonest(self, start: str, end: str, at: float) -> Leg | None:
        """Return the way that arrives first, leaving at ``at`` [min] or later; ``None`` if there is none.

        It leaves as late as it can for that arrival: ``depart`` - ``at`` is the wait at the start.
        """
        at = _rounded(at)
        shortest = self._from(start).get(end)
        if shortest is None:
            return None
        if shortest.is_open(at):
            return Leg(start, end, at, at + shortest.minutes, shortest.roads)
        question = (start, end, at)
        if question not in self._soonest:
            found = _search(self._onward, start, end, at)
            self._soonest[question] = found and self.latest(start, end, found[0], at)
        return self._soonest[question]

    def latest(self, start: str, end: str, by: float, not_before: float = 0.0) -> Leg | None:
        """Return the way that leaves last and still arrives by ``by`` [min].

        ``None`` if there is none that leaves at ``not_before`` [min] or later.
        """
        leg = self._leave_last(start, end, _rounded(by))
        return leg if leg is not None and leg.depart >= _rounded(not_before) else None

    def _leave_last(self, start: str, end: str, by: float) -> Leg | None:
        shortest = self._from(start).get(end)
        if shortest is None:
            return None
        if shortest.is_open(by - shortest.minutes):
            return Leg(start, end, by - shortest.minutes, by, shortest.roads)
        question = (start, end, by)
        if question not in self._latest:
            self._latest[question] = self._search_back(start, end, by)
        return self._latest[question]

    def _search_back(self, start: str, end: str, by: float) -> Leg | None:
        mirrored = _search(self._backward, end, start, -by)
        if mirrored is None:
            return None
        depart = 0.0 - mirrored[0]  # a bare minus would turn 0.0 into -0.0
        found = _search(self._onward, start, end, depart)
        return found and Leg(start, end, depart, *found)

    def _from(self, start: str) -> dict[str, _Shortest]:
        """Return the shortest ways from a place with every road open, by where they end."""
        if start not in self._shortest:
            paths = nx.single_source_dijkstra_path(self._graph, start, weight="minutes")
            self._shortest[start] = {
                end: _Shortest(tuple(self._fastest(*step) for step in itertools.pairwise(path)))
                for end, path in paths.items()
            }
        return self._shortest[start]

    def _fastest(self, start: str, end: str) -> _Way:
        """Return the fastest of the roads that join two places."""
        ways: Iterable[_Way] = (road["way"] for road in self._graph[start][end].values())
        return min(ways, key=lambda way: (way.minutes, way.key))


@dataclass(frozen=True, slots=True)
class _Way:
    """A road with its times rounded, and its windows as pairs in the order of their beginning."""

    key: str
    start: str
    end: str
    minutes: float
    closed: tuple[tuple[float, float], ...]

    def enter(self, time: float) -> float:
        """Return the first moment from ``time`` on at which it can be entered; ``inf`` if there is none."""
        for begin, finish in self.closed:
            if begin < time + self.minutes and time < finish:
                time = finish
        return time

    def mirrored(self) -> _Way:
        """Return it turned round, with time running backwards."""
        closed = sorted((-finish, -begin) for begin, finish in self.closed)
        return _Way(self.key, self.end, self.start, self.minutes, tuple(closed))


class _Shortest:
    """A shortest way with every road open."""

    __slots__ = ("_ways", "minutes", "roads")

    def __init__(self, ways: tuple[_Way, ...]) -> None:
        self.minutes = sum((way.minutes for way in ways), start=0.0)
        self.roads = tuple(way.key for way in ways)
        self._ways = ways if any(way.closed for way in ways) else ()

    def is_open(self, at: float) -> bool:
        """Tell whether one who leaves at ``at`` need not wait on the way."""
        for way in self._ways:
            if way.enter(at) != at:
                return False
            at += way.minutes
        return True


def _rounded(time: float) -> float:
    return round(time * TICKS) / TICKS if math.isfinite(time) else time


def _way(road: Road) -> _Way:
    windows = sorted((_rounded(window.start), _rounded(window.end)) for window in road.closed)
    closed = tuple((begin, finish) for begin, finish in windows if begin < finish)
    return _Way(road.key, road.start, road.end, _rounded(road.minutes), closed)


def _by_start(ways: Iterable[_Way]) -> Mapping[str, list[_Way]]:
    found: dict[str, list[_Way]] = defaultdict(list)
    for way in ways:
        found[way.start].append(way)
    return dict(found)


def _search(ways: Mapping[str, list[_Way]], start: str, end: str, at: float) -> tuple[float, tuple[str, ...]] | None:
    """Return the earliest arrival and the roads to it, leaving at ``at``; ``None`` if there is no way."""
    reached: list[tuple[float, int, tuple[str, ...], str]] = [(at, 0, (), start)]
    settled = set()
    while reached:
        time, count, roads, place = heapq.heappop(reached)
        if place == end:
            return time, roads
        if place in settled:
            continue
        settled.add(place)
        for way in ways.get(place, ()):
            entered = way.enter(time)
            if entered < math.inf and way.end not in settled:
                heapq.heappush(reached, (entered + way.minutes, count + 1, (*roads, way.key), way.end))
    return None
