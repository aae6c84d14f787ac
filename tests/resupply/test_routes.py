"""Routes: networkx where every road is open; all simple ways and a time-expanded graph where not; laws of waiting."""

from __future__ import annotations

import dataclasses
import itertools
import math
from collections.abc import Iterator, Sequence

import networkx as nx
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from published import published

from mci.resupply.routes import TICKS, Leg, Routes
from mci.scenario.network import Network, Place, PlaceKind, Road, Window

PLACES = "abcde"
#: By then every road that opens again is open, and everybody has arrived [min].
LAST = 80


def _network(roads: Sequence[Road], places: str = PLACES) -> Network:
    always = (Window(0, math.inf),)
    nodes = tuple(Place(key, key, PlaceKind.JUNCTION, always) for key in places)
    return Network(nodes, tuple(roads), (), {}, (), math.inf)


def _routes(*roads: Road) -> Routes:
    return Routes(_network(roads), on_foot=False)


def _road(way: str, minutes: float, *closed: tuple[float, float], key: str = "", on_foot: bool = False) -> Road:
    return Road(key or way, way[0], way[1], minutes, tuple(Window(*each) for each in closed), on_foot)


@st.composite
def _some_roads(draw: st.DrawFn, times: st.SearchStrategy[float], windows: int = 2) -> tuple[Road, ...]:
    """Roads between five places, some both ways, some side by side, closed up to ``windows`` times or for ever."""
    ways = draw(st.lists(st.sampled_from(list(itertools.permutations(PLACES, 2))), min_size=2, max_size=9))
    roads = []
    for number, (start, end) in enumerate(ways):
        begins = draw(st.lists(times, max_size=windows))
        closed = [(begin, begin + draw(times | st.just(math.inf))) for begin in begins]
        roads.append(_road(start + end, draw(times) + 1, *closed, key=f"road {number}"))
        if draw(st.booleans()):
            roads.append(dataclasses.replace(roads[-1], start=end, end=start))
    return tuple(roads)


WHOLE = st.integers(0, 12).map(float)
EIGHTHS = st.integers(0, 96).map(lambda number: number / 8)
ANY = st.floats(0.0, 12.0)


def _free(road: Road, depart: float) -> bool:
    """Tell whether nobody is on a closed road who enters it at a moment."""
    arrive = depart + road.minutes
    return not any(max(each.start, depart) < min(each.end, arrive) for each in road.closed)


def _simple_ways(roads: Sequence[Road], here: str, end: str, seen: str = "") -> Iterator[tuple[Road, ...]]:
    if here == end:
        yield ()
        return
    for road in roads:
        if road.start == here and road.end not in seen + here:
            for rest in _simple_ways(roads, road.end, end, seen + here):
                yield (road, *rest)


def _first_arrival(way: Sequence[Road], at: float) -> float:
    """Return when one arrives who enters each road at the first free moment: at once, or as a window ends."""
    for road in way:
        moments = [at, *(each.end for each in road.closed if at < each.end < math.inf)]
        at = min((each + road.minutes for each in moments if _free(road, each)), default=math.inf)
    return at


def _last_departure(way: Sequence[Road], by: float) -> float:
    """Return when one must leave who leaves each road at the last free moment: just in time, or as a window begins."""
    for road in reversed(way):
        moments = [by, *(each.start for each in road.closed if each.start < by)]
        by = max((each - road.minutes for each in moments if _free(road, each - road.minutes)), default=-math.inf)
    return by


def _check(leg: Leg, roads: Sequence[Road]) -> None:
    """Walk the roads of a leg: a chain from its start to its end, on time, and on no closed road."""
    chosen, here = [], leg.start
    for key in leg.roads:
        chosen.append(next(road for road in roads if road.key == key and road.start == here))
        here = chosen[-1].end
    assert here == leg.end
    assert _first_arrival(chosen, leg.depart) == leg.arrive
    assert not chosen or _free(chosen[0], leg.depart)  # one waits before leaving, not after


@given(_some_roads(ANY, windows=0), ANY)
def test_without_closures_as_networkx(roads: tuple[Road, ...], at: float) -> None:
    """With every road open at all times a route takes what networkx's Dijkstra says, whenever one leaves."""
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(PLACES)
    for road in sorted(roads, key=lambda road: -road.minutes):  # the fastest of those side by side is kept
        graph.add_edge(road.start, road.end, minutes=road.minutes)
    lengths = dict(nx.all_pairs_dijkstra_path_length(graph, weight="minutes"))
    routes = _routes(*roads)
    for start, end in itertools.product(PLACES, PLACES):
        length = lengths[start].get(end, math.inf)
        assert routes.minutes(start, end) == pytest.approx(length, abs=1e-5)
        soonest, latest = routes.soonest(start, end, at), routes.latest(start, end, at, -math.inf)
        if length == math.inf:
            assert soonest is None
            assert latest is None
        else:
            assert soonest is not None
            assert latest is not None
            assert (soonest.depart, soonest.arrive) == pytest.approx((at, at + length), abs=1e-5)
            assert (latest.depart, latest.arrive) == pytest.approx((at - length, at), abs=1e-5)


@pytest.mark.parametrize("row", published("shortest_paths"), ids=lambda row: row["source"][:12])
def test_published_shortest_paths(row: dict[str, str]) -> None:
    """Shortest lengths of a textbook's graph, whose edges here are roads of as many minutes."""
    edges = [edge.split() for edge in row["edges"].split(";")]
    roads = [_road(way.replace("-", ""), float(minutes)) for way, minutes in edges]
    routes = Routes(_network(roads, "stxyz"), on_foot=False)
    for end, length in (each.split() for each in row["lengths"].split(";")):
        assert routes.minutes(row["start"], end) == float(length)


@given(_some_roads(EIGHTHS), EIGHTHS)
def test_as_all_simple_ways_with_waiting(roads: tuple[Road, ...], at: float) -> None:
    """First arrival, and last departure for it or for any time, as the best over all simple ways one by one."""
    routes = _routes(*roads)
    for start, end in itertools.permutations(PLACES, 2):
        ways = list(_simple_ways(roads, start, end))
        arrive = min((_first_arrival(way, at) for way in ways), default=math.inf)
        soonest = routes.soonest(start, end, at)
        assert (math.inf if soonest is None else soonest.arrive) == arrive
        if soonest is not None:
            assert soonest.depart == max(_last_departure(way, arrive) for way in ways)
            _check(soonest, roads)
        depart = max((_last_departure(way, at) for way in ways), default=-math.inf)
        latest = routes.latest(start, end, at, -math.inf)
        assert (-math.inf if latest is None else latest.depart) == depart
        if latest is not None:
            assert latest.arrive == min(_first_arrival(way, depart) for way in ways)
            _check(latest, roads)


@given(_some_roads(WHOLE), WHOLE)
def test_as_a_time_expanded_graph(roads: tuple[Road, ...], at: float) -> None:
    """First arrival as networkx's shortest path from minute to minute, where waiting is an edge like any other."""
    graph: nx.DiGraph[tuple[str, int]] = nx.DiGraph()
    for minute in range(LAST):
        graph.add_edges_from((((place, minute), (place, minute + 1)) for place in PLACES), minutes=1)
        for road in roads:
            if _free(road, minute):
                after = minute + int(road.minutes)
                graph.add_edge((road.start, minute), (road.end, after), minutes=after - minute)
    routes = _routes(*roads)
    for start in PLACES:
        lengths = nx.single_source_dijkstra_path_length(graph, (start, int(at)), weight="minutes")
        for end in PLACES:
            first = min((length for (place, _), length in lengths.items() if place == end), default=math.inf)
            leg = routes.soonest(start, end, at)
            assert (math.inf if leg is None else leg.arrive) == at + first


@given(_some_roads(ANY), ANY, ANY)
def test_leaving_later_never_arrives_earlier(roads: tuple[Road, ...], at: float, delay: float) -> None:
    """First in, first out; and to have to arrive later never means to leave earlier."""
    routes = _routes(*roads)
    for start, end in itertools.permutations(PLACES, 2):
        early, late = routes.soonest(start, end, at), routes.soonest(start, end, at + delay)
        assert late is None or (early is not None and early.arrive <= late.arrive)
        tight, loose = routes.latest(start, end, at, -math.inf), routes.latest(start, end, at + delay, -math.inf)
        assert tight is None or (loose is not None and tight.depart <= loose.depart)


@given(_some_roads(ANY), ANY, st.data())
def test_a_better_road_never_hurts(roads: tuple[Road, ...], at: float, data: st.DataObject) -> None:
    """Opening a road, or making it faster, makes no arrival later and no departure earlier."""
    number = data.draw(st.integers(0, len(roads) - 1))
    road = roads[number]
    opened = dataclasses.replace(road, closed=road.closed[1:])
    faster = dataclasses.replace(road, minutes=road.minutes * data.draw(st.floats(0.1, 1.0)))
    before = _routes(*roads)
    for better in (opened, faster):
        after = _routes(*roads[:number], better, *roads[number + 1 :])
        for start, end in itertools.permutations(PLACES, 2):
            old, new = before.soonest(start, end, at), after.soonest(start, end, at)
            assert old is None or (new is not None and new.arrive <= old.arrive)
            last, later = before.latest(start, end, at, -math.inf), after.latest(start, end, at, -math.inf)
            assert last is None or (later is not None and later.depart >= last.depart)


@given(_some_roads(ANY), ANY)
def test_latest_and_soonest_are_inverse(roads: tuple[Road, ...], by: float) -> None:
    """One who leaves at the latest moment is in time, one who leaves 0.01 min later is not; to the last digit."""
    routes = _routes(*roads)
    for start, end in itertools.permutations(PLACES, 2):
        latest = routes.latest(start, end, by, -math.inf)
        if latest is not None:
            assert routes.soonest(start, end, latest.depart) == latest
            assert latest.arrive <= by + 0.5 / TICKS
            late = routes.soonest(start, end, latest.depart + 0.01)
            assert late is None or late.arrive > by
        soonest = routes.soonest(start, end, by)
        if soonest is not None:
            assert soonest.depart >= by - 0.5 / TICKS
            assert routes.latest(start, end, soonest.arrive, -math.inf) == soonest


@given(_some_roads(EIGHTHS), EIGHTHS)
def test_the_same_roads_every_time(roads: tuple[Road, ...], at: float) -> None:
    """A question asked twice, or of other routes on the same network, has the same answer."""
    first, second = _routes(*roads), _routes(*roads)
    pairs = list(itertools.permutations(PLACES, 2))
    answers = [first.soonest(start, end, at) for start, end in pairs]
    assert answers == [first.soonest(start, end, at) for start, end in pairs]
    assert answers == [second.soonest(start, end, at) for start, end in reversed(pairs)][::-1]


@given(_some_roads(WHOLE), WHOLE, st.data())
def test_vehicles_and_people_keep_apart(roads: tuple[Road, ...], at: float, data: st.DataObject) -> None:
    """People take the paths only, vehicles the roads only: as if the others were not there."""
    mixed = [dataclasses.replace(road, on_foot=data.draw(st.booleans())) for road in roads]
    assume({road.on_foot for road in mixed} == {False, True})
    for on_foot in (False, True):
        both = Routes(_network(mixed), on_foot=on_foot)
        alone = Routes(_network([road for road in mixed if road.on_foot is on_foot]), on_foot=on_foot)
        for start, end in itertools.permutations(PLACES, 2):
            assert both.minutes(start, end) == alone.minutes(start, end)
            assert both.soonest(start, end, at) == alone.soonest(start, end, at)


def test_a_bridge_by_hand() -> None:
    """A road of 10 min to a bridge of 5 min, closed from T+20 to T+60; the way round takes 40 min.

    Leaving at T+5 one is over the bridge as it closes; at T+6 the way round is better; at T+30 one had better wait 20
    min for the bridge.  To be there by T+45 one leaves at T+5, by T+64 at T+24 and goes round.
    """
    routes = _routes(_road("ab", 10), _road("bc", 5, (20, 60)), _road("ac", 40))
    assert routes.soonest("a", "c", 5) == Leg("a", "c", 5, 20, ("ab", "bc"))
    assert routes.soonest("a", "c", 6) == Leg("a", "c", 6, 46, ("ac",))
    assert routes.soonest("a", "c", 30) == Leg("a", "c", 50, 65, ("ab", "bc"))
    assert routes.latest("a", "c", 45) == Leg("a", "c", 5, 20, ("ab", "bc"))
    assert routes.latest("a", "c", 64) == Leg("a", "c", 24, 64, ("ac",))
    assert routes.latest("a", "c", 64, not_before=25) is None


def test_closures_that_follow_each_other() -> None:
    """A road of 5 min is no use in the 4 min between two closures, whether one counts from the start or the end."""
    routes = _routes(_road("ab", 5, (14, 30), (5, 10)))
    assert routes.soonest("a", "b", 1) == Leg("a", "b", 30, 35, ("ab",))
    assert routes.latest("a", "b", 34) == Leg("a", "b", 0, 5, ("ab",))


def test_a_road_that_never_opens_again() -> None:
    """Over it before it closes or not at all."""
    routes = _routes(_road("ab", 10, (30, math.inf)))
    assert routes.soonest("a", "b", 20) == Leg("a", "b", 20, 30, ("ab",))
    assert routes.soonest("a", "b", 20.1) is None
    assert routes.latest("a", "b", 500) == Leg("a", "b", 20, 30, ("ab",))
    assert routes.minutes("a", "b") == 10
    just = _routes(_road("ab", 30, (30, math.inf))).latest("a", "b", 500)
    assert just is not None
    assert str(just.depart) == "0.0"  # and not -0.0


def test_staying_takes_no_time() -> None:
    """From a place to itself: no roads and no time, at any moment."""
    routes = _routes(_road("ab", 10, (0, math.inf)), _road("ba", 1))
    assert routes.soonest("a", "a", 7) == routes.latest("a", "a", 7) == Leg("a", "a", 7, 7, ())
    assert routes.minutes("a", "a") == 0


def test_the_last_digit_closes_no_road() -> None:
    """Moments that a sum of floats misses by its last digit count as met: 0.1 + 0.2 min before a closure at 0.3."""
    routes = _routes(_road("ab", 0.1), _road("bc", 0.2, (0.3, 50)))
    leg = routes.soonest("a", "c", 0)
    assert leg is not None
    assert leg.arrive == pytest.approx(0.3, abs=1e-6)


def test_equal_ways_go_by_fewer_roads_then_by_key() -> None:
    """Where the shortest way is closed, of three others that are alike: fewer roads, then the first by its keys."""
    shut = _road("ac", 1, (0, math.inf), key="shut")
    roads = [shut, _road("ab", 1), _road("bc", 1), _road("ac", 2, key="two"), _road("ac", 2, key="one")]
    for order in itertools.permutations(roads):
        leg = _routes(*order).soonest("a", "c", 5)
        assert leg is not None
        assert leg.roads == ("one",)
