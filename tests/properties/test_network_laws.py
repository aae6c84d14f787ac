"""Laws of the bound on transport and allocation, for every small network."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Sequence

import pytest
from common import repeatable
from hypothesis import given
from hypothesis import strategies as st
from joint import ALWAYS, bound, joint
from random_networks import countries, tours
from small_network import both_ways

from mci.demand.groups import count_demand
from mci.lp.allocate import allocate
from mci.lp.area_value import AreaValue
from mci.lp.haul_plan import TIDY, plan_hauls
from mci.lp.parts import split
from mci.plan.deliver import deliver
from mci.plan.trips import Trip
from mci.resupply.care import Care
from mci.resupply.disrupt import delayed, parts_of, without
from mci.resupply.steps import find_grants, make_haulage, without_lent
from mci.scenario.model import Scenario
from mci.scenario.network import Network
from mci.settings import Settings

STEP = 10.0
Edit = Callable[[Network], Network]


def _slack(incident: Scenario) -> float:
    """Return what two bounds may differ by where the optimum is the same: the share that tidiness may cost."""
    weights = sum(batch.count * incident.weights[batch.course[0].category] for batch in incident.patients)
    return 2 * TIDY * weights * incident.horizon + 1e-6


def _roads(net: Network, **changes: object) -> Network:
    """Return the network with the first road, both ways, changed."""
    first = net.roads[0].key
    changed = (dataclasses.replace(r, **changes) if r.key == first else r for r in net.roads)  # type: ignore[arg-type]
    return dataclasses.replace(net, roads=tuple(changed))


def _vehicles(net: Network, change: Callable[..., dict[str, object]]) -> Network:
    changed = (dataclasses.replace(v, **change(v)) for v in net.vehicles)  # type: ignore[arg-type]
    return dataclasses.replace(net, vehicles=tuple(changed))


def _places(net: Network, change: Callable[..., dict[str, object]]) -> Network:
    changed = (dataclasses.replace(p, **change(p)) for p in net.places)  # type: ignore[arg-type]
    return dataclasses.replace(net, places=tuple(changed))


def _faster_filling(net: Network) -> Network:
    def twice(place: object) -> dict[str, object]:
        old = place.filling  # type: ignore[attr-defined]
        if old is None:
            return {}
        return {"filling": dataclasses.replace(old, per_hour=2 * old.per_hour, litres_per_hour=2 * old.litres_per_hour)}

    return _places(net, twice)


#: Whatever makes a network better, by name.
BETTER: dict[str, Edit] = {
    "a faster road": lambda net: _roads(net, minutes=net.roads[0].minutes / 2 if net.roads[0].minutes > 10 else 10.0),
    "a road that never closes": lambda net: _roads(net, closed=()),
    "one more road": lambda net: dataclasses.replace(net, roads=(*net.roads, *both_ways("new", "a", "d", 10.0))),
    "bigger trucks": lambda net: _vehicles(net, lambda v: {"slots": {"small": v.slots["small"] + 2, "large": 2}}),
    "more payload": lambda net: _vehicles(net, lambda v: {"payload_kg": v.payload_kg + 10}),
    "no limit of payload": lambda net: _vehicles(net, lambda _: {"payload_kg": math.inf}),
    "trucks that come earlier": lambda net: _vehicles(net, lambda _: {"available_from": 0.0}),
    "quicker hands": lambda net: _vehicles(net, lambda v: {"loading": 0.0, "unloading": min(v.unloading, 10.0)}),
    "one more truck": lambda net: dataclasses.replace(
        net, vehicles=(*net.vehicles, dataclasses.replace(net.vehicles[0], key="new"))
    ),
    "one more truck of another kind": lambda net: dataclasses.replace(
        net, vehicles=(*net.vehicles, dataclasses.replace(net.vehicles[0], key="new", payload_kg=9.0, loading=30.0))
    ),
    "stock that is ready earlier": lambda net: dataclasses.replace(
        net, stock=tuple(dataclasses.replace(each, available_from=0.0) for each in net.stock)
    ),
    "longer hours": lambda net: _places(net, lambda _: {"open": ALWAYS}),
    "faster filling": _faster_filling,
    "more people": lambda net: dataclasses.replace(net, crews=net.crews + 1),
}


def _edited(incident: Scenario, edit: Edit) -> Scenario:
    assert incident.network is not None
    return dataclasses.replace(incident, network=edit(incident.network))


@repeatable(12)
@given(countries())
def test_a_better_network_never_lowers_the_bound(incident: Scenario) -> None:
    """Where steps divide all times: with a faster road, a bigger truck and so on, each by itself, it is as high."""
    least = bound(incident, STEP) - _slack(incident)
    found = {name: bound(_edited(incident, edit), STEP) for name, edit in BETTER.items()}
    assert [name for name, reached in found.items() if reached < least] == []


@repeatable(12)
@given(countries(), st.data())
def test_a_loss_never_raises_the_bound(incident: Scenario, data: st.DataObject) -> None:
    """Without a road, a vehicle or what a place gives, or with one late, there is no more than before."""
    net = incident.network
    assert net is not None
    before = bound(incident, STEP)
    key = data.draw(st.sampled_from(sorted(parts_of(net))))
    assert bound(_edited(incident, lambda net: without(net, key)), STEP) <= before + _slack(incident)
    late = data.draw(st.sampled_from(sorted(k for k, kind in parts_of(net).items() if kind != "road")))
    assert bound(_edited(incident, lambda net: delayed(net, late, 20.0)), STEP) <= before + _slack(incident)


@repeatable(25)
@given(st.booleans().flatmap(lambda whole: countries(whole=whole)), st.sampled_from([7.0, 10.0, 15.0, 30.0]), st.data())
def test_no_trips_beat_the_bound(incident: Scenario, step: float, data: st.DataObject) -> None:
    """Trips found by driving about, whatever the length of a step: what they reach at best is within the bound."""
    trips = data.draw(tours(incident))
    made = deliver(incident, trips)
    reached = allocate(made, count_demand(made), Settings()).outcome.bound
    found = bound(incident, step)
    assert reached <= found + _slack(incident)
    assert _worth(incident, trips, step) <= found + _slack(incident)


def _worth(incident: Scenario, trips: Sequence[Trip], step: float) -> float:
    """Return what trips are worth when asked area by area."""
    net = incident.network
    assert net is not None
    haulage = make_haulage(net, incident.horizon, step)
    care = Care(without_lent(incident, net), find_grants(haulage), haulage.starts, {}, Settings())
    return care.worth(net, trips).weighted


@repeatable(15)
@given(st.booleans().flatmap(lambda whole: countries(whole=whole)))
def test_the_bound_lies_between_nothing_brought_and_everything_there(incident: Scenario) -> None:
    """At least what the areas reach alone; at most what they would if all stood at each of them from the start."""
    alone = allocate(incident, count_demand(incident), Settings()).outcome.bound
    found = bound(incident, STEP)
    assert found >= alone - _slack(incident)
    assert found <= joint(incident, STEP).full


@repeatable(15)
@given(countries())
def test_what_is_given_is_worth_the_bound_to_the_areas(incident: Scenario) -> None:
    """Each area asked apart what the programme gives to it is worth: together the bound."""
    made = joint(incident, STEP)
    plan = plan_hauls(made, Settings())
    own = without_lent(incident, made.haulage.network)
    total = 0.0
    for part, demand in split(own, count_demand(own, moments=made.haulage.starts.tolist())):
        mine = [number for number, grant in enumerate(plan.grants) if grant.area == part.areas[0].key]
        grants = [plan.grants[number] for number in mine]
        area = AreaValue(part, demand, grants, made.haulage.starts, {}, Settings())
        total += area.value(plan.given[mine]).weighted
    assert total == pytest.approx(plan.bound, abs=_slack(incident))


@repeatable(15)
@given(countries(), st.sampled_from([2, 3, 4]))
def test_finer_steps_never_raise_the_bound(incident: Scenario, times: int) -> None:
    """Steps that divide the coarser ones, and all times, round less away in favour of the trips."""
    assert bound(incident, STEP) <= bound(incident, STEP * times) + _slack(incident)


@repeatable(10)
@given(countries(), st.sampled_from(["immediate", "delayed"]), st.sampled_from([0.3, 0.8]))
def test_a_higher_goal_asks_for_no_fewer_cylinders(incident: Scenario, category: str, share: float) -> None:
    """What is missing of a goal, and if nothing is, the cylinders that it takes, grow with its share."""
    low, high = (plan_hauls(joint(incident, STEP, {category: each}), Settings()) for each in (share, 1.0))
    assert sum(low.missing.values()) <= sum(high.missing.values()) + 1e-4
    if sum(high.missing.values()) < 1e-6:
        assert low.fewest <= high.cylinders + 1e-3
