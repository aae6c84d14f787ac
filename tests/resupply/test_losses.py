"""What a loss costs: all that trips gain where nothing takes its place, exactly nothing where nobody uses it."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import pytest
from incidents import patients
from joint import area, depot, truck
from one_road import FULL, TRUCK, one_road, plan, planner
from small_network import both_ways

from mci.plan.trips import Trip
from mci.resupply.disrupt import parts_of, without
from mci.resupply.losses import find_losses, used_parts
from mci.resupply.planner import Planner
from mci.resupply.schedule import Goal, Loss
from mci.scenario.model import Scenario
from mci.scenario.network import Network, Stock
from mci.settings import Settings

#: A second depot, as far away, that has nothing, and a second road to the first, 20 min longer.
SPARE = {
    "places": (area("a"), depot(), depot("far")),
    "roads": (
        *both_ways("road", "a", "depot", 30),
        *both_ways("long", "a", "depot", 50),
        *both_ways("lane", "a", "far", 30),
    ),
}


def _losses(incident: Scenario, share: float | None = None) -> dict[str, Loss]:
    return {loss.key: loss for loss in plan(incident, share, losses=True).losses}


def test_the_only_one_costs_all_that_trips_gain() -> None:
    """An hour is brought by one truck, on one road, from one depot: each of them costs that hour."""
    found = plan(one_road(2), losses=True)
    gained = found.reached - found.without_trips
    assert gained == pytest.approx(60)
    assert [(loss.kind, loss.key) for loss in found.losses] == [
        ("place", "depot"),
        ("road", "road"),
        ("vehicle", "truck"),
    ]
    for loss in found.losses:
        assert loss.lost == {"immediate": pytest.approx(gained)}
        assert loss.weighted == pytest.approx(gained)


def test_the_next_best_costs_the_difference() -> None:
    """Gas for 30 min: by the road more is there after 40 min, by the other after 60 min; the bridge costs 20 min."""
    found = _losses(one_road(1, **SPARE))
    assert found["road"].lost == {"immediate": pytest.approx(20)}
    assert found["depot"].weighted == found["truck"].weighted == pytest.approx(80)


def test_what_nobody_uses_costs_exactly_nothing() -> None:
    """A road, a depot and a vehicle that no trip needs."""
    more = {**SPARE, "vehicles": (TRUCK, truck("other", "far", loading=5, unloading=5))}
    found = _losses(one_road(1, **more))
    assert {key for key, loss in found.items() if loss.weighted == 0} == {"long", "far", "lane", "other"}
    for key in ("long", "far", "lane", "other"):
        assert found[key].lost == {"immediate": 0.0}


def test_what_can_be_replaced_costs_nothing() -> None:
    """The truck is used, but another stands beside it."""
    found = _losses(one_road(2, vehicles=(TRUCK, dataclasses.replace(TRUCK, key="other"))))
    assert found["truck"].weighted == pytest.approx(0, abs=1e-6)
    assert found["depot"].weighted == pytest.approx(60)


def test_a_goal_that_is_missed_is_a_loss() -> None:
    """Delayed is to have two hours; without the road to the near depot more comes 30 min too late.

    Meanwhile nobody can have anything; with two cylinders for the last half hour an Immediate patient has oxygen too.
    That weighs more than what is missing, and is a loss all the same.
    """
    incident = one_road(
        2,
        places=(area("a"), depot(), depot("far")),
        roads=(
            *both_ways("road", "a", "depot", 30),
            *both_ways("long", "a", "far", 70),
            *both_ways("side", "depot", "far", 10),
        ),
        stock=(Stock("depot", FULL, 3, 0), Stock("far", FULL, 3, 0)),
    )
    two = (patients(1, "one"), patients(1, "one", category="delayed"))
    asked = Planner(dataclasses.replace(incident, patients=two), Settings(), [Goal("delayed", 1.0)])
    found = {loss.key: loss for loss in asked.schedule(asked.trips()).losses}
    assert found["road"].lost == {"delayed": pytest.approx(30), "immediate": pytest.approx(-30)}
    assert found["road"].weighted == 0.0


def test_used_parts_are_those_of_trips() -> None:
    """Vehicle, places and roads; of no trips none."""
    found = plan(one_road(2))
    assert used_parts(found.planned) == {"truck", "depot", "a", "road"}
    assert used_parts(()) == set()


def test_each_part_is_lost_once_and_only_what_is_used_is_planned_again() -> None:
    """The largest loss first; planning again is asked for the network without just that part."""
    incident = one_road(1, **SPARE)
    asked = planner(incident)
    trips, net = asked.trips(), asked.network
    seen: list[Network] = []

    def replan(less: Network) -> Sequence[Trip]:
        seen.append(less)
        return ()

    losses = find_losses(net, asked.care, trips, replan)
    assert {(loss.kind, loss.key) for loss in losses} == {(kind, key) for key, kind in parts_of(net).items()}
    assert len(losses) == len(parts_of(net))
    assert seen == [without(net, key) for key in parts_of(net) if key in used_parts(trips)]
    sizes = [sum(loss.lost.values()) for loss in losses]
    assert sizes == sorted(sizes, reverse=True)


def test_planning_again_may_do_better_and_costs_nothing_then() -> None:
    """An hour too late before; without the depot or the road, as told here, in time."""
    incident = one_road(2, **SPARE)
    asked = planner(incident)
    trips = asked.trips()
    late = tuple(dataclasses.replace(trip, stops=tuple(_later(stop) for stop in trip.stops)) for trip in trips)
    assert asked.care.worth(asked.network, late).weighted < asked.care.worth(asked.network, trips).weighted
    losses = find_losses(asked.network, asked.care, late, lambda _: trips)
    assert {loss.key for loss in losses if loss.lost == {"immediate": 0.0} and loss.weighted == 0.0} == {
        key for key, kind in parts_of(asked.network).items() if kind != "vehicle"
    }


def _later(stop):  # type: ignore[no-untyped-def]
    return dataclasses.replace(stop, arrive=stop.arrive + 60, depart=stop.depart + 60)
