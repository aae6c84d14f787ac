"""The figure of the network: flows add up, boxes and labels stand clear of each other, always the same."""

from __future__ import annotations

import dataclasses
import functools
import itertools
import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_resupply import crowded_resupply, made_resupply

from mci.pipeline_resupply import ResupplyRun
from mci.report.network_layout import arrange, boxes_overlap, hits
from mci.report.network_series import WIDTH_IN, NetworkPicture, carried, network_picture
from mci.scenario.network import Network, Place, PlaceKind, Road

RUNS = (made_resupply, crowded_resupply)


@functools.cache
def picture_of(make: Callable[[], ResupplyRun]) -> NetworkPicture:
    """Return the picture of a plan, made once."""
    return network_picture(make())


@pytest.mark.parametrize("make", RUNS)
def test_nothing_stands_on_anything_else(make: Callable[[], ResupplyRun]) -> None:
    """No two boxes overlap, no label overlaps a box or another label, and all stand on the page."""
    picture = picture_of(make)
    boxes = [mark.box for mark in picture.places] + [road.label_box for road in picture.roads]
    assert [pair for pair in itertools.combinations(boxes, 2) if boxes_overlap(*pair)] == []
    assert all(b[0] >= 0 and b[1] >= 0 and b[2] <= WIDTH_IN and b[3] <= picture.height for b in boxes)


@pytest.mark.parametrize("make", RUNS)
def test_no_road_runs_under_a_place_where_it_does_not_stop(make: Callable[[], ResupplyRun]) -> None:
    """A line seen to enter a box ends there."""
    picture = picture_of(make)
    for road in picture.roads:
        points = np.array([road.point(step / 20) for step in range(21)])
        for mark in picture.places:
            if (mark.x, mark.y) not in (road.start, road.end):
                assert not hits(points[:-1], points[1:], mark.box).any(), (road, mark)


def test_the_picture_is_always_the_same() -> None:
    """Two drawings of one plan agree to the last bit."""
    assert network_picture(crowded_resupply()) == picture_of(crowded_resupply)


def test_roads_carry_what_trips_have_aboard() -> None:
    """Over the ridge road go 6 and 4 full cylinders in, 5 empties out; on the way to the supplier nothing."""
    flows = carried(made_resupply())
    assert flows["ridge road", "fork"] == (10, 0)
    assert flows["ridge road", "north"] == (0, 5)
    assert flows["valley road", "mill"] == (0, 0)
    assert flows["tunnel walkway", "south"] == (2, 0)


def test_labels_say_minutes_cylinders_and_closures() -> None:
    """Every road has its travel time; what is closed, on foot or one-way says so."""
    labels = {road.key: road.label for road in picture_of(made_resupply).roads}
    assert labels["ridge road"] == ("ridge road, 14 min", "10 full, 5 empty")
    assert labels["old bridge"] == ("old bridge, 9 min", "closed")
    assert labels["quarry road"][-1] == "closed T+30 to T+60"
    assert labels["tunnel walkway"][-1] == "on foot"
    assert labels["one-way lane"][-1] == "only to Ridge fork"


def test_two_roads_between_the_same_places_are_apart() -> None:
    """The lane and the service road join the same places and bend to different sides."""
    roads = {road.key: road for road in picture_of(made_resupply).roads}
    assert math.dist(roads["one-way lane"].point(0.5), roads["service road"].point(0.5)) > 0.3


def _alone(places: int) -> ResupplyRun:
    """Return the plan with a network of places in a row, or a single one, and no trips."""
    found = made_resupply()
    network = found.scenario.network
    assert network is not None
    made = tuple(Place(f"p{n}", f"Place {n}", PlaceKind.DEPOT, ()) for n in range(places))
    roads = tuple(Road(f"r{n}", f"p{n}", f"p{n + 1}", 5.0) for n in range(places - 1))
    bare = Network(made, roads, (), network.items, (), math.inf)
    return dataclasses.replace(
        found,
        scenario=dataclasses.replace(found.scenario, network=bare),
        schedule=dataclasses.replace(found.schedule, departures=()),
    )


@pytest.mark.parametrize("places", [1, 2, 3])
def test_small_networks_are_drawn_too(places: int) -> None:
    """One place, two, a row of three: every box on the page."""
    picture = network_picture(_alone(places))
    assert len(picture.places) == places
    assert all(mark.box[0] >= 0 and mark.box[2] <= WIDTH_IN for mark in picture.places)


@settings(max_examples=15, deadline=None)
@given(data=st.data())
def test_boxes_of_any_network_stand_apart(data: st.DataObject) -> None:
    """Whatever roads there are, connected or not, up to 14 boxes stand on the page and clear of each other."""
    count = data.draw(st.integers(2, 14))
    place = st.integers(0, count - 1)
    roads = data.draw(st.lists(st.tuples(place, place, st.floats(1, 300)), max_size=24))
    sizes = [(1.1, 0.4)] * count
    boxes = [(x - 0.55, y - 0.2, x + 0.55, y + 0.2) for x, y in arrange(sizes, roads, 7.2, 8.0)]
    assert not any(boxes_overlap(*pair) for pair in itertools.combinations(boxes, 2))
    assert all(box[0] >= 0 and box[1] >= 0 and box[2] <= 7.2 and box[3] <= 8.0 for box in boxes)


def test_near_in_time_is_near_on_paper() -> None:
    """In a row of four places with one long road, the ends of that road are the farthest apart of all neighbours."""
    roads = [(0, 1, 5.0), (1, 2, 120.0), (2, 3, 5.0)]
    at = arrange([(0.3, 0.2)] * 4, roads, 7.2, 4.0)
    lengths = [math.dist(at[a], at[b]) for a, b, _ in roads]
    assert max(lengths) == lengths[1]


numbers = st.integers(-4, 4)
points = st.tuples(numbers, numbers)
boxes = st.builds(lambda x, y, w, h: (x, y, x + w, y + h), numbers, numbers, st.integers(1, 4), st.integers(1, 4))


@settings(max_examples=200, deadline=None)
@given(points, points, boxes)
def test_a_line_hits_a_box_where_one_of_its_points_is_inside(
    start: tuple[int, int], end: tuple[int, int], box: tuple[int, int, int, int]
) -> None:
    """Tried in 840 steps; corners and sides alone are no hit."""
    tried = np.array(start) + np.linspace(0, 1, 841)[:, None] * np.subtract(end, start)
    inside = ((tried > np.array(box[:2]) + 1e-9) & (tried < np.array(box[2:]) - 1e-9)).all(axis=1)
    assert hits(start, end, box) == inside.any()
    assert hits([start, end], [end, start], [box, box]).tolist() == [inside.any()] * 2


@settings(max_examples=100, deadline=None)
@given(st.lists(boxes, min_size=1, max_size=4))
def test_boxes_overlap_where_a_unit_square_is_in_both(made: list[tuple[int, int, int, int]]) -> None:
    """Whole numbers: squares counted one by one, for all pairs at once and for each alone."""
    squares = [{(x, y) for x in range(box[0], box[2]) for y in range(box[1], box[3])} for box in made]
    counted = [[bool(one & other) for other in squares] for one in squares]
    each = np.array(made)
    assert boxes_overlap(each[:, None], each).tolist() == counted
    assert [[bool(boxes_overlap(one, other)) for other in made] for one in made] == counted
