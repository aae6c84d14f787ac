"""When a cache is where: as written, or as early as the roads and their closures allow."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_stocking import stocking_text

from mci.scenario import read_scenario
from mci.scenario.cache_reach import arrivals
from mci.scenario.network import Network, Place, PlaceKind, Road, Window
from mci.scenario.stocking import Station

PLACES = "abcd"


def _network(roads):
    kinds = (PlaceKind.DEPOT, PlaceKind.JUNCTION, PlaceKind.AREA, PlaceKind.AREA)
    places = tuple(Place(key, key, kind, (Window(0, math.inf),)) for key, kind in zip(PLACES, kinds, strict=True))
    return Network(places, tuple(roads), (), {}, (), math.inf)


def test_minutes_that_are_written_count(write):
    """The planner's minutes are added to when it sets off, whatever roads there are."""
    trailer = read_scenario(write(stocking_text(network=True))).stocking.caches[0]
    assert arrivals(trailer.stations[0], None) == {"field": 15, "gate": 5}
    assert arrivals(trailer.stations[1], None) == {"field": 22}


@pytest.mark.parametrize(
    ("sets_off", "there"),
    [
        (5, 20),  # over the bridge before it closes
        (10, 25),  # just off the bridge when it closes
        (11, 51),  # the long way beats waiting until T+50
        (30, 65),  # waiting for the bridge beats the long way
    ],
)
def test_roads_say_the_rest(write, sets_off, there):
    """From the north gate: bridge and lane take 15 min, the bridge is closed from T+20 to T+50; the other way 40."""
    network = read_scenario(write(stocking_text(network=True))).network
    assert arrivals(Station("north gate", 0, sets_off, {}), network) == {"field": there}


def test_caches_take_no_stairs(write):
    """The gate is reached on foot only, so by no cache; an area where one stands is reached when it sets off."""
    network = read_scenario(write(stocking_text(network=True))).network
    assert arrivals(Station("gate", 0, 3, {}), network) == {"gate": 3}


ROAD = st.builds(
    Road,
    st.just("r"),
    st.sampled_from(PLACES),
    st.sampled_from(PLACES),
    st.integers(1, 6).map(float),
    st.tuples(st.integers(0, 6), st.integers(1, 4), st.integers(1, 5), st.integers(1, 4)).map(
        lambda n: (Window(n[0], n[0] + n[1]), Window(n[0] + n[1] + n[2], sum(n)))
    ),
    st.booleans(),
)


@given(st.lists(ROAD, max_size=7), st.integers(0, 12))
def test_arrival_is_the_first_minute_at_which_one_can_be_there(roads, sets_off):
    """Against trying every minute: who is at a place may stay or be on any road that is open all the while."""
    network = _network(roads)
    there = {(float(sets_off), "a")}
    for minute in range(sets_off, 60):
        for place in [p for m, p in there if m == minute]:
            there.add((minute + 1.0, place))
            for road in roads:
                shut = {m for window in road.closed for m in range(int(window.start), int(window.end))}
                on_it = set(range(minute, minute + int(road.minutes)))
                if road.start == place and not road.on_foot and not on_it & shut:
                    there.add((minute + road.minutes, road.end))
    expected = {}
    for area, moments in itertools.groupby(sorted(there, key=lambda each: each[::-1]), key=lambda each: each[1]):
        if area in "cd":
            expected[area] = min(moment for moment, _ in moments)
    assert arrivals(Station("a", 0, sets_off, {}), network) == expected
