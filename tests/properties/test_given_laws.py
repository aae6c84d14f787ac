"""What is given to areas, asked again and again, against the whole programme with the same things as deliveries."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from common import repeatable
from hypothesis import given
from hypothesis import strategies as st
from joint import COUNTRY, depot, truck
from random_incidents import FITTED, HORIZON, MANIFOLD, SINGLE, incidents
from small_network import LARGE, SMALL, full_lot

from mci.demand.groups import count_demand
from mci.lp.allocate import allocate
from mci.lp.given import Grant
from mci.plan.deliver import deliver
from mci.plan.trips import Cargo, Stop, Trip
from mci.resupply.care import Care
from mci.scenario.model import Scenario
from mci.scenario.network import Item, ItemKind, Place, PlaceKind
from mci.settings import Settings

STEP = 10.0
STARTS = np.arange(0.0, HORIZON, STEP)
SAME = 1e-6
ITEMS = {
    item.key: item
    for item in (
        Item("small", ItemKind.FULL, 5, "small", full_lot(SMALL, 60)),
        Item("large", ItemKind.FULL, 20, "large", full_lot(LARGE, 400)),
        Item("ready", ItemKind.FULL, 5, "small", dataclasses.replace(full_lot(SMALL, 150), valve="", built_in=FITTED)),
        Item("single", ItemKind.REGULATOR, 1, outlets=SINGLE),
        Item("manifold", ItemKind.REGULATOR, 1, outlets=MANIFOLD),
        Item("mask", ItemKind.DEVICE, 0.5, device="mask"),
        Item("vent", ItemKind.DEVICE, 5, device="vent"),
    )
}


def _with_network(incident: Scenario) -> Scenario:
    areas = tuple(Place(each.key, each.key, PlaceKind.AREA, depot().open) for each in incident.areas)
    net = dataclasses.replace(COUNTRY, places=(*areas, depot()), roads=(), items=ITEMS, stock=(), vehicles=(truck(),))
    return dataclasses.replace(incident, network=net)


@st.composite
def gifts(draw: st.DrawFn, *, times: int, moments: st.SearchStrategy[float]) -> tuple[Scenario, list[Trip]]:
    """Draw an incident and trips that unload at its areas, each thing at most so many times."""
    incident = _with_network(draw(incidents()))
    trips = []
    for place in incident.areas:
        for item in ITEMS:
            for number in range(draw(st.integers(0, times))):
                at = draw(moments)
                bring = Stop(place.key, at, at, unload=(Cargo(item, draw(st.integers(1, 3))),))
                trips.append(Trip(f"{place.key} {item} {number}", "truck", (Stop("depot", 0, 0), bring)))
    return incident, trips


def _care(incident: Scenario, trips: list[Trip], goals: dict[str, float] | None = None) -> tuple[float, float]:
    """Return weighted coverage and what is missing of goals, by areas."""
    assert incident.network is not None
    grants = [Grant(area.key, item) for area in incident.areas for item in ITEMS.values()]
    care = Care(incident, grants, STARTS, goals or {}, Settings())
    care.worth(incident.network, trips[:1])  # an answer does not depend on what was asked before
    worth = care.worth(incident.network, trips)
    return worth.weighted, worth.short


def _whole(incident: Scenario, trips: list[Trip]) -> float:
    """Return the bound of the incident with the same things as deliveries."""
    made = deliver(incident, trips)
    return allocate(made, count_demand(made), Settings()).outcome.bound


ON_STEPS = st.sampled_from(STARTS.tolist())


@repeatable(40)
@given(gifts(times=1, moments=ON_STEPS))
def test_areas_reach_what_the_whole_programme_reaches(case: tuple[Scenario, list[Trip]]) -> None:
    """Each thing comes once to an area, as a step begins: both programmes say the same, summed over areas."""
    assert _care(*case)[0] == pytest.approx(_whole(*case), rel=SAME, abs=SAME)


@repeatable(40)
@given(gifts(times=3, moments=ON_STEPS))
def test_alike_things_that_come_apart_are_worth_no_less(case: tuple[Scenario, list[Trip]]) -> None:
    """Gas of later cylinders may leave through the outlets of earlier ones here, which only adds."""
    assert _care(*case)[0] >= _whole(*case) * (1 - SAME) - SAME


@repeatable(40)
@given(gifts(times=1, moments=st.floats(0.0, HORIZON)))
def test_a_moment_within_a_step_counts_from_the_next(case: tuple[Scenario, list[Trip]]) -> None:
    """What comes at any moment is worth no more than the whole programme, which knows the moment, says."""
    assert _care(*case)[0] <= _whole(*case) * (1 + SAME) + SAME


@repeatable(25)
@given(gifts(times=2, moments=ON_STEPS), st.sampled_from([0.3, 0.7, 1.0]))
def test_goals_come_first_and_then_coverage(case: tuple[Scenario, list[Trip]], share: float) -> None:
    """A goal that is met for nothing changes nothing; any goal may lower coverage, never raise it."""
    free, _ = _care(*case)
    weighted, short = _care(*case, {"immediate": share})
    assert weighted <= free * (1 + SAME) + SAME
    assert short >= 0
    assert _care(*case, {"immediate": 0.0}) == (pytest.approx(free, rel=SAME, abs=SAME), pytest.approx(0, abs=SAME))


@repeatable(25)
@given(gifts(times=2, moments=ON_STEPS))
def test_a_trip_more_is_never_worth_less(case: tuple[Scenario, list[Trip]]) -> None:
    """Without its last trip an incident reaches at most as much."""
    incident, trips = case
    assert _care(incident, trips[:-1])[0] <= _care(incident, trips)[0] * (1 + SAME) + SAME
