"""A network in steps of time: what is rounded, in whose favour, and what may be given where."""

from __future__ import annotations

import dataclasses
import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_network import both_ways, incident, network, vehicle

from mci.lp.haulage import NEVER, Haulage, find_fleets, whereabouts
from mci.resupply.filling import FillQueue
from mci.resupply.routes import Routes
from mci.resupply.steps import find_grants, make_haulage, with_allowance, without_lent
from mci.scenario.network import ItemKind, Network, PlaceKind, Stock
from mci.timegrid import choose_step

NET = network()
ROUTES = Routes(NET, on_foot=False)
HAULAGES = {step: make_haulage(NET, 600, step) for step in (7.0, 10.0, 60.0)}
STOPS = [place.key for place in NET.places if place.kind is not PlaceKind.JUNCTION]


@given(st.floats(1, 20_000), st.integers(1, 200))
def test_no_more_steps_than_asked_for(horizon: float, most: int) -> None:
    """The shortest usual length that is enough, or else the longest there is."""
    step = choose_step(horizon, most)
    assert horizon <= most * step or step == 720
    assert step == 1 or horizon > most * step / 4  # each length is at most 2.5 times the one before


def test_usual_lengths() -> None:
    """Four hours in 40 steps are 10 min each, in 24 too, in 23 they are 15."""
    assert [choose_step(240, most) for most in (240, 40, 24, 23, 1)] == [1, 10, 10, 15, 240]


@pytest.mark.parametrize(
    ("step", "steps", "last"), [(10, 10, 10), (30, 4, 10), (100, 1, 100), (7, 15, 2), (500, 1, 100)]
)
def test_steps_make_up_the_horizon(step: float, steps: int, last: float) -> None:
    """One after the other without a gap; the last may be shorter."""
    haulage = make_haulage(NET, 100, step)
    assert haulage.steps == steps
    assert haulage.starts[0] == 0
    assert haulage.ends[:-1].tolist() == haulage.starts[1:].tolist()
    assert haulage.ends[-1] == 100
    assert haulage.ends[-1] - haulage.starts[-1] == last


@given(st.floats(0, 99.999), st.sampled_from([1.0, 7.0, 10.0, 33.3]))
def test_a_moment_lies_in_its_step(moment: float, step: float) -> None:
    """Its step has begun and is not over; at the end and later there is none."""
    haulage = make_haulage(NET, 100, step)
    number = haulage.step(moment)
    assert haulage.starts[number] <= moment + 1e-9
    assert moment < haulage.ends[number] + 1e-9
    assert haulage.step(100) == haulage.step(100 + moment) == NEVER


def test_hops_join_neighbours() -> None:
    """Vehicles get from place to place where there is none between but junctions; porters on their path."""
    hops = {(hop.start, hop.end, hop.on_foot): hop.minutes for hop in make_haulage(NET, 600, 10).hops}
    ways = {("depot", "a"): 10, ("a", "b"): 5, ("b", "filling"): 20, ("a", "yard"): 2, ("yard", "market"): 6}
    both = ways | {(end, start): minutes for (start, end), minutes in ways.items()}
    assert hops == {(*pair, False): minutes for pair, minutes in both.items()} | {
        ("a", "b", True): 4,
        ("b", "a", True): 4,
    }


def test_a_way_past_a_place_is_no_hop() -> None:
    """Without the bridge it is 15 min by the junction; with a staging place there instead it is two hops."""
    roads = tuple(road for road in NET.roads if road.key != "bridge")
    (hop,) = [h for h in make_haulage(network(roads=roads), 600, 10).hops if (h.start, h.end) == ("depot", "a")]
    assert hop.minutes == 8 + 7
    staging = tuple(dataclasses.replace(p, kind=PlaceKind.STAGING) if p.key == "corner" else p for p in NET.places)
    pairs = {(h.start, h.end) for h in make_haulage(network(roads=roads, places=staging), 600, 10).hops}
    assert ("depot", "a") not in pairs
    assert {("depot", "corner"), ("corner", "a")} <= pairs


def test_a_junction_where_a_vehicle_begins_is_a_place() -> None:
    """Hops lead from it, and what goes past is two of them, one after the other."""
    net = network(vehicles=(vehicle("truck", "corner"),))
    hops = {(hop.start, hop.end): hop.minutes for hop in make_haulage(net, 600, 10).hops}
    assert {end for start, end in hops if start == "corner"} == {"a", "depot"}
    assert (hops["depot", "corner"], hops["corner", "a"]) == (8, 7)


def test_without_porters_nobody_walks() -> None:
    """Paths are for people only."""
    net = network(vehicles=NET.vehicles[:1])
    assert not [hop for hop in make_haulage(net, 600, 10).hops if hop.on_foot]
    assert make_haulage(network(vehicles=()), 600, 10).hops == ()


def test_a_closed_bridge_is_waited_for_or_gone_round() -> None:
    """10 min over the bridge, closed from T+50 to T+100, else 15 min round."""
    (hop,) = [each for each in make_haulage(NET, 120, 5).hops if (each.start, each.end) == ("depot", "a")]
    assert hop.arrive[:9].tolist() == [2, 3, 4, 5, 6, 7, 8, 9, 10]  # till T+40 over the bridge
    assert hop.arrive[9:21].tolist() == [12, 13, 14, 15, 16, 17, 18, 19, 20, 21, 22, 22]  # then round, till it opens
    assert hop.arrive[21:].tolist() == [23, NEVER, NEVER]


def _earliest(haulage: Haulage, start: str, step: int) -> dict[str, int]:
    """Return the first step in which a vehicle can be at each place that leaves a place in a step."""
    found = {start: step}
    for _ in haulage.network.places:
        for hop in haulage.hops:
            if not hop.on_foot and hop.start in found:
                there = min((s for s in hop.arrive[found[hop.start] :].tolist() if s != NEVER), default=NEVER)
                if there != NEVER:
                    found[hop.end] = min(there, found.get(hop.end, there))
    return found


@given(st.floats(0, 599), st.sampled_from([7.0, 10.0, 60.0]), st.sampled_from(list(itertools.permutations(STOPS, 2))))
def test_nobody_arrives_before_the_steps_say(leave: float, step: float, pair: tuple[str, str]) -> None:
    """Whoever leaves within a step, by any way, is there when the programme has them there, or later."""
    haulage = HAULAGES[step]
    leg = ROUTES.soonest(*pair, leave)
    assert leg is not None
    first = _earliest(haulage, pair[0], haulage.step(leave)).get(pair[1])
    assert leg.arrive >= (600 if first is None else haulage.starts[first]) - 1e-6


def test_vehicles_alike_are_one_fleet() -> None:
    """Where and when they are there makes no difference; what they take, and how fast, does."""
    one = vehicle("one", "depot")
    alike = vehicle("two", "a", available_from=30, available_until=90)
    others = [
        dataclasses.replace(one, key=f"{change}", **change)  # type: ignore[arg-type]
        for change in (
            {"slots": {"small": 1}},
            {"payload_kg": 1},
            {"crew": 5},
            {"loading": 9},
            {"unloading": 9},
            {"on_foot": True},
        )
    ]
    fleets = find_fleets([one, *others, alike])
    assert [each.key for each in fleets[0].vehicles] == ["one", "two"]
    assert len(fleets) == 1 + len(others)
    assert fleets[0].like is one


def _where(net: Network) -> dict[str, set[str]]:
    return {key: set(places) for key, places in whereabouts(make_haulage(net, 600, 60)).items()}


def test_things_can_be_wherever_they_are_taken() -> None:
    """From the depot to every place on a road; empties too, from where cylinders are used up."""
    where = _where(NET)
    assert where["small full"] == where["reg"] == where["small empty"] == set(STOPS)
    assert where["large empty"] == set()  # nobody fills large ones, so nobody fetches them


def test_things_stay_where_nobody_takes_them() -> None:
    """No slots for large cylinders: they stay at the depot; no vehicle at all: everything stays, or is filled there."""
    small_only = network(vehicles=(vehicle("truck", "depot", slots={"small": 3}),))
    assert _where(small_only)["large full"] == {"depot"}
    assert _where(small_only)["reg"] == set(STOPS)
    stuck = _where(network(vehicles=()))
    assert stuck["small full"] == {"a", "depot", "market", "filling"}
    assert stuck["small half"] == {"depot"}
    assert stuck["small empty"] == {"a", "b", "filling"}


def test_one_way_roads_lead_one_way() -> None:
    """What is at ``a`` stays there if the only road leads to it."""
    net = network(
        roads=both_ways("bridge", "depot", "a", 10)[:1], stock=(Stock("a", "reg", 1, 0), Stock("depot", "mask", 1, 0))
    )
    where = _where(net)
    assert (where["reg"], where["mask"]) == ({"a"}, {"a", "depot"})


def test_grants_are_everything_but_empties_where_it_can_be() -> None:
    """In the order of places and items; each names a stock of its own."""
    grants = find_grants(make_haulage(NET, 600, 60))
    assert [(grant.area, grant.item.key) for grant in grants] == [
        (area, key) for area in ("a", "b") for key, item in NET.items.items() if item.kind is not ItemKind.EMPTY
    ]
    assert len({grant.key for grant in grants}) == len(grants)
    small_only = network(vehicles=(vehicle("truck", "depot", slots={"small": 3}),))
    assert "large full" not in {grant.item.key for grant in find_grants(make_haulage(small_only, 600, 60))}


def test_what_is_lent_is_in_the_network_only() -> None:
    """Three of five cylinders and both regulators are lent: the area has two cylinders and no regulator of its own."""
    lending = network(stock=(Stock("a", "small full", 3, 0, source="a small"), Stock("a", "reg", 2, 0, source="a-reg")))
    made = incident(lending)
    own = without_lent(made, lending)
    assert [(lot.quantity, lot.litres) for lot in own.lots] == [(2, pytest.approx(2 * 450))]
    assert [(each.area, each.quantity) for each in own.regulators] == [("b", 1)]
    assert own.devices == made.devices


def test_all_may_be_lent() -> None:
    """A lot of which nothing is left is none; devices of which none is left are still counted."""
    lending = network(
        stock=(Stock("a", "small full", 5, 0, source="a small"), Stock("a", "mask", 4, 0, source="a-mask"))
    )
    made = incident(lending)
    made = dataclasses.replace(made, devices=tuple(dataclasses.replace(each, quantity=4) for each in made.devices))
    own = without_lent(made, lending)
    assert own.lots == ()
    assert [each.quantity for each in own.devices] == [0, 4]


def test_without_lending_nothing_changes() -> None:
    """What stands at depots is no area's."""
    made = incident()
    bare = network(stock=tuple(each for each in NET.stock if not each.source))
    assert without_lent(made, bare) == made


def test_an_allowance_fills_no_faster() -> None:
    """Cylinders with less gas to count on take as long to fill as before."""
    before = next(place for place in NET.places if place.filling)
    assert before.filling is not None
    net = network(
        places=(dataclasses.replace(before, filling=dataclasses.replace(before.filling, litres_per_hour=3000.0)),)
    )
    minutes = [
        FillQueue(each.places[0].filling, each.places[0].open, each.items).minutes("small empty")  # type: ignore[arg-type]
        for each in (net, with_allowance(net, 0.2))
    ]
    assert minutes[0] == pytest.approx(minutes[1])
