"""Last safe times: not a step later, judged by care and by replay alike; and trips that are put off."""

from __future__ import annotations

import dataclasses

import pytest
from joint import ALWAYS, INF, area, depot, truck
from one_road import FULL, TRUCK, one_road, plan, planner, reached
from small_network import both_ways, network, stop, trip, vehicle

from mci.plan.trips import loading_stop
from mci.replay.trips import judge_trips
from mci.resupply.latest import find_latest
from mci.resupply.retime import Timetable
from mci.scenario.model import Scenario
from mci.scenario.network import Network, Place, PlaceKind, Road, Stock, Window

#: Incidents whose answers are in the tests of the planner, and some with two trucks, areas and patients.
BY_HAND: dict[str, Scenario] = {
    "one trip": one_road(2),
    "a longer road": one_road(2, minutes=40),
    "two patients": one_road(4, people=2),
    "four rounds": one_road(4, minutes=10, horizon=240, vehicles=(truck(loading=5, unloading=5, slots={"small": 1}),)),
    "two rounds": one_road(4, minutes=10, horizon=240, vehicles=(truck(loading=5, unloading=5, slots={"small": 2}),)),
    "a lead": one_road(
        3,
        places=(area("a"), Place("depot", "", PlaceKind.SUPPLIER, ALWAYS, lead=20)),
        stock=(Stock("depot", FULL, 6, 20),),
    ),
    "a road that closes": one_road(2, roads=both_ways("road", "a", "depot", 30, closed=(Window(50, 70),))),
    "a depot that closes": one_road(
        3, places=(area("a"), dataclasses.replace(depot(), open=(Window(0, 20), Window(45, INF))))
    ),
    "a regulator and gas": one_road(
        4, people=2, regulators=1, stock=(Stock("depot", FULL, 2, 0), Stock("depot", "reg", 1, 0))
    ),
}


def _planned(incident: Scenario):  # type: ignore[no-untyped-def]
    asked = planner(incident)
    return asked, asked.schedule(asked.trips(), losses=False)


@pytest.mark.parametrize("name", BY_HAND)
def test_nothing_is_lost_at_the_last_safe_times_and_something_a_step_later(name: str) -> None:
    """With all trips at their latest, care and replay find what the plan reaches; each a step later, alike, less."""
    incident = BY_HAND[name]
    asked, found = _planned(incident)
    latest, net = found.latest, asked.network
    assert found.departures
    assert reached(incident, found.planned) == pytest.approx(found.reached)
    assert reached(incident, latest) == pytest.approx(found.reached)
    assert asked.care.worth(net, latest).weighted == pytest.approx(found.reached)
    assert not judge_trips(incident, latest)
    for departure in found.departures:
        assert departure.margin >= 0
        moved = Timetable(net).leave(latest, departure.trip.key, departure.leave_by + asked.fine)
        assert moved is not None
        worth = asked.care.worth(net, moved).weighted
        assert worth < found.reached - 0.5
        assert reached(incident, moved) == pytest.approx(worth)


@pytest.mark.parametrize("name", BY_HAND)
def test_what_ten_minutes_cost_is_what_replay_finds(name: str) -> None:
    """Of one trip, or of a truck's rounds that are pushed on, ten minutes after the latest."""
    incident = BY_HAND[name]
    asked, found = _planned(incident)
    for departure in found.departures:
        moved = Timetable(asked.network).leave(found.latest, departure.trip.key, departure.leave_by + 10)
        assert moved is not None
        assert reached(incident, moved) == pytest.approx(found.reached - departure.lost["immediate"])


def test_a_trip_that_can_then_not_be_made_is_lost_as_a_whole() -> None:
    """Loaded by T+20, when the depot closes, or back in hand by T+55, till when the truck may be used: half an hour."""
    closing = (area("a"), dataclasses.replace(depot(), open=(Window(0, 20),)))
    leaving = dataclasses.replace(TRUCK, available_until=55)
    for incident in (one_road(3, places=closing), one_road(3, vehicles=(leaving,))):
        _, found = _planned(incident)
        (departure,) = found.departures
        assert departure.leave_by == pytest.approx(20)
        assert departure.lost == {"immediate": pytest.approx(30)}


def test_what_waits_longest_is_put_off_first() -> None:
    """Two trucks bring one cylinder each where one would do till T+90: who leaves first may leave 30 min later.

    Gas till T+60, then a cylinder for half an hour, then the other: the first to leave in the plan gets the later hour.
    """
    trucks = (truck("one", loading=5, unloading=5, slots={"small": 1}), truck("two", loading=5, unloading=5))
    incident = one_road(2, vehicles=trucks)
    asked = planner(incident)
    trips = (
        trip("one", "one", stop("depot", 0, 5, "road", load="1 small full"), stop("a", 35, 40, unload="1 small full")),
        trip("two", "two", stop("depot", 5, 10, "road", load="1 small full"), stop("a", 40, 45, unload="1 small full")),
    )
    found = {each.trip.key: each for each in find_latest(incident, asked.care, trips, asked.fine)}
    assert (found["one"].earliest, found["one"].leave_by) == (5, pytest.approx(55))
    assert (found["two"].earliest, found["two"].leave_by) == (10, pytest.approx(25))


def test_departures_come_in_the_order_of_leaving() -> None:
    """Of their latest times; the same incident as above."""
    _, found = _planned(BY_HAND["four rounds"])
    assert [each.leave_by for each in found.departures] == sorted(each.leave_by for each in found.departures)


def test_with_a_goal_what_is_held_is_the_goal() -> None:
    """84 min are asked for: the one cylinder may come so late that 6 of its 30 min are lost, and no later."""
    incident = one_road(2)
    asked = planner(incident, 0.7)
    (departure,) = asked.schedule(asked.trips(), losses=False).departures
    assert reached(incident, [departure.planned]) == pytest.approx(90)
    assert reached(incident, [departure.trip]) == pytest.approx(84)


def test_what_nobody_waits_for_may_leave_until_its_end() -> None:
    """A trip that brings nothing of use is put off as long as it can be over by the horizon."""
    incident = one_road(4)
    asked = planner(incident)
    idle = trip(
        "t", "truck", stop("depot", 0, 5, "road", load="1 small full"), stop("a", 35, 40, unload="1 small full")
    )
    (departure,) = find_latest(incident, asked.care, (idle,), asked.fine)
    assert departure.trip.stops[-1].depart == pytest.approx(120)
    assert departure.lost == {"immediate": pytest.approx(0)}


def test_a_moment_counts_from_the_next_step_on() -> None:
    """Steps of two minutes: in hand at T+31 counts as T+32, so the truck may leave a minute later, and no more."""
    bigger = truck(loading=5, unloading=5, slots={"small": 9})
    incident = one_road(1, minutes=21, horizon=240, vehicles=(bigger,), stock=(Stock("depot", FULL, 9, 0),))
    asked = planner(incident)
    (departure,) = asked.schedule(asked.trips(), losses=False).departures
    assert asked.fine == 2
    assert (departure.earliest, departure.leave_by, departure.arrive_by) == (5, pytest.approx(6), pytest.approx(32))


def test_arrive_by_is_told_of_the_first_area() -> None:
    """One load for two areas, 30 and then 10 min away."""
    roads = (*both_ways("road", "a", "depot", 30), *both_ways("lane", "a", "b", 10))
    incident = one_road(2, places=(area("a"), area("b"), depot()), roads=roads)
    asked = planner(incident)
    both = trip(
        "t",
        "truck",
        stop("depot", 0, 5, "road", load="3 small full"),
        stop("a", 35, 40, "lane", unload="2 small full"),
        stop("b", 50, 55, unload="1 small full"),
    )
    (departure,) = find_latest(incident, asked.care, (both,), asked.fine)
    assert (departure.leave_by, departure.arrive_by) == (pytest.approx(25), pytest.approx(60))


# trips at other times

NET = network(crews=5)
TABLE = Timetable(NET)
ROUNDS = (
    trip(
        "truck 1",
        "truck",
        stop("depot", 0, 3, "bridge", load="6 small full, 1 reg"),
        stop("a", 13, 15, "lane", unload="4 small full"),
        stop("b", 20, 22, unload="2 small full, 1 reg"),
    ),
    trip("van 1", "van", stop("a", 0, 3, "lane", load="2 small full"), stop("b", 8, 10, unload="2 small full")),
    trip(
        "truck 2",
        "truck",
        stop("b", 22, 22, "lane", "bridge"),
        stop("depot", 37, 40, "bridge", load="1 small full"),
        stop("a", 50, 52, unload="1 small full"),
    ),
    trip(
        "truck 3",
        "truck",
        stop("a", 110, 110, "bridge"),
        stop("depot", 120, 123, "bridge", load="1 small full"),
        stop("a", 133, 135, unload="1 small full"),
    ),
)


def test_the_loading_stop_is_where_something_is_loaded_first() -> None:
    """Not the stop from which a truck goes to load; of a trip that loads nothing the first."""
    assert [loading_stop(each) for each in ROUNDS] == [0, 0, 1, 1]
    assert loading_stop(trip("t", "truck", stop("a", 0, 0, "lane"), stop("b", 5, 5))) == 0


@pytest.mark.parametrize("key", [each.key for each in ROUNDS])
def test_leaving_at_the_planned_time_changes_nothing(key: str) -> None:
    """All stops of all trips are where and when they were."""
    planned = next(each for each in ROUNDS if each.key == key)
    assert TABLE.leave(ROUNDS, key, planned.stops[loading_stop(planned)].depart) == ROUNDS


def test_later_trips_of_the_vehicle_are_pushed_only_where_they_must_be() -> None:
    """Left 20 min later the truck is free at T+42 and at the depot at T+57, so it leaves again at T+60.

    By then the bridge is closed (T+50 to T+100): by the ring, 15 min.  The third trip begins at T+110 and stays, and so
    does that of the van.  Of the bridge, the way back begins at T+47, so it too goes round: 5 and 15 min, at T+62.
    """
    moved = TABLE.leave(ROUNDS, "truck 1", 23)
    assert moved is not None
    assert moved[0].stops == (
        stop("depot", 0, 23, "bridge", load="6 small full, 1 reg"),
        stop("a", 33, 35, "lane", unload="4 small full"),
        stop("b", 40, 42, unload="2 small full, 1 reg"),
    )
    assert moved[1] is ROUNDS[1]
    assert moved[2].stops == (
        stop("b", 42, 42, "lane", "ring east", "ring west"),
        stop("depot", 62, 65, "ring west", "ring east", load="1 small full"),
        stop("a", 80, 82, unload="1 small full"),
    )
    assert moved[3] is ROUNDS[3]


def test_a_later_load_keeps_its_moment() -> None:
    """What the truck waits for at the depot, till T+48, it waits for also if it comes 5 min later."""
    second = trip(
        "truck 2",
        "truck",
        stop("b", 22, 22, "lane", "bridge"),
        stop("depot", 37, 48, "bridge", load="1 small full"),
        stop("a", 58, 60, unload="1 small full"),
    )
    moved = TABLE.leave((ROUNDS[0], second), "truck 1", 8)
    assert moved is not None
    assert moved[1].stops == (
        stop("b", 27, 27, "lane", "bridge"),
        stop("depot", 42, 48, "ring west", "ring east", load="1 small full"),
        stop("a", 63, 65, unload="1 small full"),
    )


def test_a_pause_takes_up_the_delay() -> None:
    """The third trip alone is put off; what comes before it stays."""
    moved = TABLE.leave(ROUNDS, "truck 3", 150)
    assert moved is not None
    assert moved[:3] == ROUNDS[:3]
    assert moved[3].stops[0] == ROUNDS[3].stops[0]  # it goes to the depot when it was to, and waits there
    assert moved[3].stops[1:] == (
        stop("depot", 120, 150, "bridge", load="1 small full"),
        stop("a", 160, 162, unload="1 small full"),
    )


def test_a_place_that_closes_is_waited_for_or_is_none() -> None:
    """A depot that closes at T+200 and opens at T+260, and closes for good at T+600."""
    moved = TABLE.leave(ROUNDS, "truck 2", 180)
    assert moved is not None
    assert moved[3].stops[1:] == (
        stop("depot", 260, 263, "bridge", load="1 small full"),
        stop("a", 273, 275, unload="1 small full"),
    )
    assert TABLE.leave(ROUNDS, "truck 2", 590) is None


def test_where_no_way_is_left_there_is_no_trip() -> None:
    """The only road closes for good."""
    net = Network(
        places=(area("a"), depot()),
        roads=(Road("road", "depot", "a", 30, closed=(Window(60, INF),)),),
        vehicles=(TRUCK,),
        items=NET.items,
        stock=(),
        crews=INF,
    )
    one = trip("t", "truck", stop("depot", 0, 5, "road", load="1 small full"), stop("a", 35, 40, unload="1 small full"))
    assert Timetable(net).leave([one], "t", 30) is not None
    assert Timetable(net).leave([one], "t", 31) is None


def test_who_walks_takes_the_path() -> None:
    """Porters four minutes on foot, a truck five by the lane."""
    table = Timetable(network(vehicles=(vehicle("truck", "a"), vehicle("porters", "a", on_foot=True))))
    for who, way, minutes in (("truck", "lane", 5), ("porters", "path", 4)):
        one = trip("t", who, stop("a", 0, 3, way, load="1 small full"), stop("b", 99, 99, unload="1 small full"))
        moved = table.leave([one], "t", 10)
        assert moved is not None
        assert moved[0].stops[0].via == (way,)
        assert moved[0].stops[1].arrive == pytest.approx(10 + minutes)


def test_two_batches_leave_through_their_own_outlets() -> None:
    """Two patients until T+75, two small cylinders there and three on a truck that takes two: the third by T+45.

    Each lasts 30 min on one outlet, so the third gives all of its gas by T+75 only if it is opened at T+45, while the
    two before it are half full.  Counted as one stock its gas would leave through three outlets, and T+60 would do.
    Orders agree to the minute.
    """
    incident = one_road(
        2, people=2, minutes=10, horizon=75, vehicles=(truck(slots={"small": 2}),), stock=(Stock("depot", FULL, 3, 0),)
    )
    schedule = plan(incident)
    assert [departure.arrive_by for departure in schedule.departures] == [25.0, 45.0]
    assert reached(incident, schedule.latest) == pytest.approx(schedule.reached)
