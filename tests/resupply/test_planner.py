"""The planner on incidents of one truck, one road and one area, against what a person works out by hand."""

from __future__ import annotations

import dataclasses
import itertools

import pytest
from incidents import patients
from joint import ALWAYS, area, depot, errand, truck
from one_road import FULL, items, one_road, plan
from small_network import both_ways, stop, trip

from mci.demand.groups import count_demand
from mci.errors import UsageError
from mci.lp.allocate import allocate
from mci.plan.deliver import deliver
from mci.plan.trips import Trip
from mci.replay.trips import judge_trips
from mci.resupply.planner import Planner
from mci.resupply.schedule import Departure, Schedule
from mci.scenario.model import DeviceStock, Scenario
from mci.scenario.network import Place, PlaceKind, Stock
from mci.settings import Settings


def _only(schedule: Schedule) -> Departure:
    (departure,) = schedule.departures
    return departure


@pytest.mark.parametrize(("own", "minutes"), [(2, 30), (2, 40), (2, 20), (3, 30), (3, 50)])
def test_one_trip_by_hand(own: int, minutes: float) -> None:
    """``own`` half hours of two hours are there; the rest must be in hand when they end.

    Loaded at T+5; arrive by 30 x own; leave by that less unloading and the road; ten minutes later still, ten
    credit-minutes are lost.  A pair of rows that differ in one thing: a road 10 min longer, or 10 min shorter, leaves
    10 min less, or more; a second and third cylinder give half an hour each.
    """
    found = plan(one_road(own, minutes=minutes))
    departure = _only(found)
    assert (found.without_trips, found.reached) == (pytest.approx(30 * own), pytest.approx(120))
    assert found.cylinders == 4 - own
    assert departure.earliest == pytest.approx(5)
    assert departure.arrive_by == pytest.approx(30 * own)
    assert departure.leave_by == pytest.approx(30 * own - 5 - minutes)
    assert departure.margin == pytest.approx(30 * own - 10 - minutes)
    assert departure.lost == {"immediate": pytest.approx(10)}
    assert departure.request_by is None
    assert departure.planned.stops == (
        stop("depot", 0, 5, "road", load=f"{4 - own} small full"),
        stop("a", 5 + minutes, 10 + minutes, unload=f"{4 - own} small full"),
    )


def test_what_cannot_come_in_time_leaves_at_once() -> None:
    """With half an hour of gas and 40 min until more is there nobody waits: ten minutes are lost already."""
    found = plan(one_road(1))
    assert found.reached == pytest.approx(110)
    assert (_only(found).leave_by, _only(found).margin) == (pytest.approx(5), pytest.approx(0))


def test_two_patients_lose_twice_as_much() -> None:
    """Two patients on four cylinders: the same hour, and 20 credit-minutes in ten."""
    departure = _only(plan(one_road(4, people=2)))
    assert departure.leave_by == pytest.approx(25)
    assert departure.lost == {"immediate": pytest.approx(20)}


def test_a_supplier_is_asked_its_lead_before() -> None:
    """Left by T+55, loaded from T+50 on, asked 20 min before that; at the earliest it is ready at T+20."""
    places = (area("a"), Place("depot", "", PlaceKind.SUPPLIER, ALWAYS, lead=20))
    departure = _only(plan(one_road(3, places=places, stock=(Stock("depot", FULL, 6, 20),))))
    assert departure.earliest == pytest.approx(25)
    assert departure.leave_by == pytest.approx(55)
    assert departure.request_by == pytest.approx(30)


def test_a_truck_may_stand_at_a_junction() -> None:
    """Ten minutes from the depot and ten from the area: loaded at T+15 it brings all that is missing."""
    places = (area("a"), depot(), Place("fork", "", PlaceKind.JUNCTION, ALWAYS))
    roads = (*both_ways("road", "a", "fork", 10), *both_ways("lane", "fork", "depot", 10))
    vehicles = (truck(place="fork", loading=5, unloading=5),)
    found = plan(one_road(2, places=places, roads=roads, vehicles=vehicles))
    assert (found.bound, found.reached) == (pytest.approx(120, abs=0.1), pytest.approx(120))
    assert _only(found).earliest == pytest.approx(15)


@pytest.mark.parametrize(("slots", "leave_by"), [(1, [105, 135, 165, 195]), (2, [105, 165]), (4, [105])])
def test_bigger_trucks_make_fewer_trips(slots: int, leave_by: list[float]) -> None:
    """Four cylinders must be there one after the other from T+120 on, every half hour; a round takes half an hour.

    So each trip is as late as if it were alone: the truck is back just in time for the next.
    """
    bigger = truck(loading=5, unloading=5, slots={"small": slots})
    found = plan(one_road(4, minutes=10, horizon=240, vehicles=(bigger,)))
    assert found.reached == pytest.approx(240)
    assert [each.leave_by for each in found.departures] == pytest.approx(leave_by)
    assert [each.earliest for each in found.departures] == pytest.approx([5, 35, 65, 95][: len(leave_by)])
    assert [each.arrive_by for each in found.departures] == pytest.approx([each + 15 for each in leave_by])


def test_a_goal_is_met_with_no_more_than_it_takes() -> None:
    """70 % of two hours are 84 min: one cylinder, of which 24 min must be used, in hand by T+96."""
    found = plan(one_road(2), 0.7)
    (met,) = found.met
    assert (met.needed, met.reached) == (pytest.approx(84), pytest.approx(84))
    assert (found.cylinders, found.fewest_cylinders, found.fewest_trips, found.missing) == (1, 1, 1, pytest.approx(0))
    assert _only(found).leave_by == pytest.approx(96 - 35)
    assert found.obstacles == ()


def test_a_goal_that_is_met_needs_no_trip() -> None:
    """Half of two hours are there."""
    found = plan(one_road(2), 0.5)
    assert (found.departures, found.cylinders, found.fewest_cylinders, found.fewest_trips) == ((), 0, 0, 0)


def test_without_a_network_there_is_nothing_to_plan() -> None:
    """It is said what to add."""
    with pytest.raises(UsageError, match="no network: add places, roads and vehicles"):
        Planner(dataclasses.replace(one_road(), network=None), Settings())


# the fewest, against all loads of all journeys

MIXED = truck(slots={"small": 2, "large": 1})


def _mixed(people: int, small: int, large: int) -> Scenario:
    """Return two hours with no gas of the area's own; the truck can be there at T+20 and T+60 and T+100."""
    stock = (Stock("depot", FULL, small, 0), Stock("depot", "large full", large, 0))
    return errand(
        horizon=120,
        people=[patients(people, "one")],
        roads=both_ways("road", "a", "depot", 20),
        vehicles=(MIXED,),
        items=items(),
        stock=tuple(each for each in stock if each.quantity),
    )


def _journeys(loads: tuple[tuple[int, int], ...]) -> list[Trip]:
    """Return a truck's rounds with so many small and large ones, one after the other from T+0 on."""
    trips = []
    for number, (small, large) in enumerate(loads):
        at, load = 40.0 * number, f"{small} small full, {large} large full"
        before = (stop("a", at - 20, at - 20, "road"),) if number else ()
        stops = (*before, stop("depot", at, at, "road", load=load), stop("a", at + 20, at + 20, unload=load))
        trips.append(trip(f"truck {number}", "truck", *stops))
    return trips


def _fewest(incident: Scenario, small: int, large: int, share: float) -> tuple[int, int] | None:
    """Try all loads of up to three journeys: the fewest cylinders, and with those the fewest journeys."""
    demand = count_demand(incident)
    need = share * float((demand.present @ demand.grid.lengths).sum())
    loads = [pair for pair in itertools.product(range(3), range(2)) if sum(pair)]
    best = (99, 99)
    for rounds in range(4):
        for chosen in itertools.product(loads, repeat=rounds):
            brought = sum(map(sum, chosen)), rounds
            in_stock = sum(s for s, _ in chosen) <= small and sum(g for _, g in chosen) <= large
            if in_stock and brought < best:
                made = deliver(incident, _journeys(chosen))
                if allocate(made, count_demand(made), Settings()).outcome.bound >= need - 1e-6:
                    best = brought
    return best if best[0] < 99 else None


@pytest.mark.parametrize(
    ("people", "small", "large", "share"),
    [(1, 4, 0, 0.4), (1, 4, 0, 0.75), (1, 2, 1, 0.5), (1, 3, 1, 0.8), (2, 4, 1, 0.5), (2, 4, 2, 0.8), (3, 5, 1, 0.4)],
)
def test_cylinders_and_trips_are_the_fewest(people: int, small: int, large: int, share: float) -> None:
    """As many as the best of all whole loads of all journeys; the programme's fewest are no more."""
    incident = _mixed(people, small, large)
    best = _fewest(incident, small, large, share)
    found = plan(incident, share)
    assert best is not None
    assert (found.cylinders, len(found.departures)) == best
    assert found.fewest_cylinders <= best[0]
    assert found.fewest_trips <= best[1]


def test_nothing_is_brought_that_nobody_draws() -> None:
    """Half an hour is there; one large cylinder lasts for all that is left, so no small one comes along."""
    heaps = (Stock("depot", FULL, 5, 0), Stock("depot", "large full", 1, 0))
    found = plan(one_road(1, minutes=10, vehicles=(truck(),), stock=heaps))
    assert found.reached == pytest.approx(120)
    assert found.cylinders == 1


def test_more_is_brought_where_whole_cylinders_fall_short() -> None:
    """40 % of four hours are 96 min; one large cylinder, in hand at T+25, serves one patient for 95: one more comes."""
    heaps = (Stock("depot", FULL, 4, 0), Stock("depot", "large full", 2, 0))
    slow = truck(loading=5, slots={"small": 2, "large": 1})
    found = plan(one_road(0, people=2, minutes=20, vehicles=(slow,), stock=heaps), 0.4)
    (met,) = found.met
    assert met.reached == pytest.approx(met.needed) == pytest.approx(96)
    assert found.cylinders == 2


# what forbids a goal


def _missing_hour(**changes: object) -> Scenario:
    """Return two hours of which the first half hour is there; the truck takes no time to load."""
    return one_road(1, **{"vehicles": (truck(),), **changes})  # type: ignore[arg-type]


_LATE_STOCK = {
    "places": (area("a"), Place("depot", "", PlaceKind.SUPPLIER, ALWAYS, lead=20)),
    "stock": (Stock("depot", FULL, 6, 20),),
}


def _masks(count: int) -> Scenario:
    masks = (DeviceStock("a-mask", "a", "mask", count, 0, ""),)
    return dataclasses.replace(one_road(4, people=2), devices=masks)


def _no_hands() -> Scenario:
    return dataclasses.replace(one_road(2, change=2), staff=())


OBSTACLES = {
    "60 min of road, gas for 30": (_missing_hour(minutes=60), 30, {"travel time"}),
    "room for one": (_missing_hour(vehicles=(truck(slots={"small": 1}),)), 30, {"travel time", "vehicles"}),
    "payload for one": (_missing_hour(vehicles=(truck(payload_kg=5),)), 30, {"travel time", "vehicles"}),
    "a truck from T+30 on": (_missing_hour(vehicles=(truck(available_from=30),)), 30, {"travel time", "vehicles"}),
    "crew for none": (_missing_hour(crews=0.0), 90, {"travel time", "vehicles"}),
    "a lead of 20 min": (_missing_hour(**_LATE_STOCK), 20, {"travel time", "opening hours and lead times"}),
    "one cylinder of two": (one_road(2, stock=(Stock("depot", FULL, 1, 0),)), 30, {"cylinders in the network"}),
    "one regulator for two": (one_road(4, people=2, regulators=1), 120, {"regulators"}),
    "no regulator": (one_road(2, regulators=0), 120, {"regulators"}),
    "one mask for two": (_masks(1), 120, {"devices"}),
    "no mask": (_masks(0), 240, {"devices"}),
    "nobody to change cylinders": (_no_hands(), 120, {"staff who change cylinders"}),
}


@pytest.mark.parametrize("name", OBSTACLES)
def test_what_forbids_a_goal_is_named(name: str) -> None:
    """All of the need is asked for: how much is missing, and each constraint without which nothing would be."""
    incident, missing, constraints = OBSTACLES[name]
    found = plan(incident, 1.0)
    assert found.missing == pytest.approx(missing, abs=1e-3)
    assert {each.constraint.split(" (")[0] for each in found.obstacles} == constraints
    assert [each.missing for each in found.obstacles] == pytest.approx([0] * len(constraints), abs=1e-3)
    (met,) = found.met
    assert met.needed - met.reached >= found.missing - 1e-3
    assert not judge_trips(incident, found.planned)
