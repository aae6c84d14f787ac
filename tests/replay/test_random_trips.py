"""Random trips made by counting minutes one by one: the judge agrees, and notices whatever is then made wrong."""

from __future__ import annotations

import dataclasses
from collections import Counter

from hypothesis import given
from hypothesis import strategies as st
from small_network import ITEMS, incident, network

from mci.plan.trips import Cargo, Stop, Trip
from mci.replay.trips import judge_trips
from mci.scenario.model import Scenario
from mci.scenario.network import Network, PlaceKind, Road, Vehicle, Window

LAST = 1000  # min: nobody drives so long
TAKES = (PlaceKind.AREA, PlaceKind.STAGING)


@st.composite
def _networks(draw: st.DrawFn) -> Network:
    """Return the small network with random whole minutes, closures and hours."""
    made = network()
    windows = st.lists(
        st.tuples(st.integers(0, 80), st.integers(1, 30)).map(lambda w: Window(w[0], w[0] + w[1])), max_size=2
    ).map(tuple)
    roads = [dataclasses.replace(each, minutes=draw(st.integers(1, 12)), closed=draw(windows)) for each in made.roads]
    opens = draw(st.integers(0, 40))
    places = [
        dataclasses.replace(each, open=(Window(opens, opens + 5), Window(opens + 30, LAST)))
        if each.key in ("yard", "market")
        else each
        for each in made.places
    ]
    return dataclasses.replace(made, roads=tuple(roads), places=tuple(places))


def _drive(road: Road, now: int) -> int:
    """Return when a road is driven, waiting minute by minute until none of its minutes is closed."""
    while any(w.start <= minute < w.end for w in road.closed for minute in range(now, now + int(road.minutes))):
        now += 1
    return now + int(road.minutes)


def _begin(net: Network, place: str, now: int, minutes: int) -> int:
    """Return the first minute from which a place stays open long enough."""
    windows = next(each.open for each in net.places if each.key == place)
    while not any(w.start <= now and now + minutes <= w.end for w in windows):
        now += 1
    return now


@dataclasses.dataclass
class _Making:
    """Trips as they are made: what every vehicle holds and what is left to be loaded."""

    net: Network
    left: Counter[tuple[str, str]]


def _visit(draw: st.DrawFn, making: _Making, who: Vehicle, place: str, now: int, aboard: Counter[str]) -> Stop:
    kind = next(each.kind for each in making.net.places if each.key == place)
    unload = load = ()
    if kind in TAKES:
        unload = tuple(Cargo(key, draw(st.integers(1, count))) for key, count in aboard.items() if count)
        unload = unload if draw(st.booleans()) else ()
    aboard.subtract({cargo.item: cargo.quantity for cargo in unload})
    item = draw(st.sampled_from(["small full", "reg"]))
    room = min(making.left[place, item], who.slots["small"] - aboard["small full"] if item == "small full" else 3)
    if kind is not PlaceKind.JUNCTION and room > 0:
        load = (Cargo(item, draw(st.integers(1, room))),)
        making.left[place, item] -= load[0].quantity
        aboard[item] += load[0].quantity
    unloading, loading = int(who.unloading) * bool(unload), int(who.loading) * bool(load)
    begin = _begin(making.net, place, now, unloading + loading) if unloading + loading else now
    return Stop(place, begin, begin + unloading + loading, unload, load)


@st.composite
def _trips(draw: st.DrawFn) -> tuple[Scenario, list[Trip]]:
    """Return trips that leave as soon as they can; what they load is there from the start, or at the supplier."""
    net = draw(_networks())
    lead = {each.key: int(each.lead) for each in net.places}
    made = _Making(net, Counter({(each.place, each.item): each.quantity for each in net.stock}))
    trips = []
    for who in net.vehicles:
        here, now, aboard = who.place, 0, Counter[str]()
        for number in range(draw(st.integers(0, 2))):
            stops = [_visit(draw, made, who, here, now, aboard)]
            for _ in range(draw(st.integers(1, 3))):
                now = int(stops[-1].depart)
                ways = [each for each in net.roads if each.start == here and each.on_foot is who.on_foot]
                road = draw(st.sampled_from(ways))
                stops[-1] = dataclasses.replace(stops[-1], via=(road.key,))
                here, now = road.end, max(_drive(road, now), lead[road.end])
                stops.append(_visit(draw, made, who, here, now, aboard))
            now = int(stops[-1].depart)
            trips.append(Trip(f"{who.key} {number}", who.key, tuple(stops)))
    return incident(net), trips


@given(_trips())
def test_trips_made_minute_by_minute_can_be_carried_out(made: tuple[Scenario, list[Trip]]) -> None:
    """Nothing is found."""
    assert judge_trips(*made) == ()


def _changed(trips: list[Trip], trip: int, number: int, stop: Stop) -> list[Trip]:
    stops = list(trips[trip].stops)
    stops[number] = stop
    return [*trips[:trip], dataclasses.replace(trips[trip], stops=tuple(stops)), *trips[trip + 1 :]]


def _laws(scenario: Scenario, trips: list[Trip]) -> set[str]:
    return {each.law for each in judge_trips(scenario, trips)}


@given(_trips(), st.data())
def test_no_minute_can_be_saved(made: tuple[Scenario, list[Trip]], data: st.DataObject) -> None:
    """Trips that lose no time arrive a minute too early, or leave a minute too early, only against a law."""
    scenario, trips = made
    if not trips:
        return
    index = data.draw(st.integers(0, len(trips) - 1))
    number = data.draw(st.integers(1, len(trips[index].stops) - 1))
    stop = trips[index].stops[number]
    if stop.place == "market" and not stop.load:
        return  # waits for its lead time for nothing
    soon = dataclasses.replace(stop, arrive=stop.arrive - 1, depart=stop.depart - 1)
    assert _laws(scenario, _changed(trips, index, number, soon)) & {"road", "hours", "stock"}
    short = dataclasses.replace(stop, depart=stop.depart - 1)
    assert "time at stop" in _laws(scenario, _changed(trips, index, number, short))


@given(_trips(), st.data())
def test_nothing_more_can_be_unloaded_or_loaded(made: tuple[Scenario, list[Trip]], data: st.DataObject) -> None:
    """A thing that is not aboard, and a hundred that are not there."""
    scenario, trips = made
    if not trips:
        return
    index = data.draw(st.integers(0, len(trips) - 1))
    number = data.draw(st.integers(0, len(trips[index].stops) - 1))
    stop = trips[index].stops[number]
    item = data.draw(st.sampled_from(sorted(ITEMS)))
    more = dataclasses.replace(stop, unload=(*stop.unload, Cargo(item, 100)))
    assert "aboard" in _laws(scenario, _changed(trips, index, number, more))
    more = dataclasses.replace(stop, load=(*stop.load, Cargo(item, 100)))
    assert _laws(scenario, _changed(trips, index, number, more)) & {"stock", "place", "filling", "empties"}
