"""How things stand at a moment: replay's own services cut there, every litre reckoned, and who is on what."""

from __future__ import annotations

import dataclasses
import math
from collections import defaultdict

import pytest
from hypothesis import given
from hypothesis import strategies as st
from incidents import cylinders, ladder, patients, regulator, scenario
from ordered import forgetful, with_orders
from properties.common import repeatable
from quay import change, connect, incident, off, orders

from mci.plan.orders import Action, Order, sort_orders
from mci.plan.things import find_supplies
from mci.replay.judge import replay, stand_at
from mci.replay.verdict import Service
from mci.scenario.model import Scenario, Spell

ORDERED = st.one_of(with_orders(), forgetful())
MOMENTS = st.one_of(st.sampled_from([0.0, 10.0, 30.0, 45.0, 60.0]), st.floats(0, 60))
#: Two moments closer than this are one [min].
SAME = 2e-5


def _minutes(services: list[Service]) -> dict[tuple[object, ...], float]:
    """Return minutes of service by everything else that a service says."""
    found: dict[tuple[object, ...], float] = defaultdict(float)
    for each in services:
        whole = dataclasses.replace(each, start=0.0, end=0.0)
        found[dataclasses.astuple(whole)] += each.end - each.start
    return {key: minutes for key, minutes in found.items() if minutes > SAME}


@repeatable(100)
@given(ORDERED)
def test_at_the_horizon_everything_has_been_given(pair: tuple[Scenario, tuple[Order, ...]]) -> None:
    """The services are those of replay, and so are the litres left."""
    made, plan = pair
    end, verdict = stand_at(made, plan, made.horizon), replay(made, plan)
    assert end.services == verdict.services
    assert {key: end.litres[key] for key in verdict.left} == verdict.left
    assert end.minute == made.horizon
    assert stand_at(made, plan, math.inf) == end


@repeatable(150)
@given(ORDERED, MOMENTS)
def test_services_so_far_are_those_of_replay_cut_at_the_moment(
    pair: tuple[Scenario, tuple[Order, ...]], minute: float
) -> None:
    """What comes later changes nothing of what has been given."""
    made, plan = pair
    standing = stand_at(made, plan, minute)
    assert minute <= standing.minute <= minute + SAME
    cut = [
        dataclasses.replace(each, end=min(each.end, standing.minute))
        for each in replay(made, plan).services
        if each.start < standing.minute
    ]
    expected, found = _minutes(cut), _minutes(list(standing.services))
    assert found.keys() == expected.keys()
    assert all(found[key] == pytest.approx(expected[key], abs=SAME) for key in found)


@repeatable(150)
@given(ORDERED, MOMENTS)
def test_every_litre_is_where_it_was_or_was_breathed(pair: tuple[Scenario, tuple[Order, ...]], minute: float) -> None:
    """Start less left is flow times time; what is made or piped never runs out."""
    made, plan = pair
    standing = stand_at(made, plan, minute)
    drawn: dict[str, float] = defaultdict(float)
    for each in standing.services:
        drawn[each.supply] += each.flow_lpm * (each.end - each.start)
    for supply in find_supplies(made):
        left = standing.litres[supply.key]
        assert left >= 0
        if math.isfinite(supply.litres):
            assert supply.litres - left == pytest.approx(drawn[supply.key], abs=1e-2)
        else:
            assert left == math.inf


@repeatable(150)
@given(ORDERED, MOMENTS)
def test_who_is_served_next_is_connected_with_gas(pair: tuple[Scenario, tuple[Order, ...]], minute: float) -> None:
    """Connections with gas are the services of replay that go on across the moment; the others get nothing."""
    made, plan = pair
    standing = stand_at(made, plan, minute)
    now = standing.minute
    after = {
        each.patient: (each.device, each.flow_lpm, each.supply, each.regulator)
        for each in replay(made, plan).services
        if each.start <= now + 1e-9 and each.end > now + SAME
    }
    with_gas = {
        key: (each.device, each.flow_lpm, each.supply, each.regulator)
        for key, each in standing.connected.items()
        if each.gas
    }
    if now < made.horizon - SAME:
        assert after.items() <= with_gas.items()
    for key, each in standing.connected.items():
        assert each.since <= now
        if each.regulator and each.supply:
            assert standing.fitted[each.regulator] == each.supply
        if not each.gas:
            assert all(s.end <= each.since + SAME for s in standing.services if s.patient == key)


def test_how_things_stand_by_hand() -> None:
    """The incident with one of everything at T+10: litres, regulators, devices and connections reckoned by hand."""
    standing = stand_at(incident(), orders(), 10)
    assert standing.fitted == {"a-reg 1": "cyl 1", "a-reg 2": "cyl 2"}
    assert standing.litres["cyl 1"] == pytest.approx(300 - 8 * 10)
    assert standing.handed_out == {("a", "mask"): 2, ("a", "cannula"): 2}
    assert standing.owned == {("P 1", "mask"), ("P 2", "mask"), ("M", "cannula"), ("L", "cannula")}
    first = standing.connected["P 1"]
    assert (first.device, first.flow_lpm, first.supply, first.regulator) == ("mask", 10, "cyl 1", "a-reg 1")
    assert (first.gas, first.since) == (True, 2)
    assert standing.orders == sort_orders([order for order in orders() if order.minute <= 10])


def test_orders_of_the_moment_are_carried_out_and_later_ones_not() -> None:
    """Also within the tolerance of the judge."""
    plan = [change(2, "cyl 1", "a-reg 1", "s-a 1"), connect(2, "P 1", "mask", 10, "cyl 1", "a-reg 1")]
    assert set(stand_at(incident(), plan, 2).connected) == {"P 1"}
    assert set(stand_at(incident(), plan, 2 - 5e-6).connected) == {"P 1"}
    assert stand_at(incident(), plan, 1.99).connected == {}
    assert stand_at(incident(), plan, -1).minute == 0


def test_a_change_that_is_under_way_is_told_but_not_carried_out() -> None:
    """The regulator stays where it was until it is done; whoever does it is named with both moments."""
    plan = [
        change(2, "cyl 1", "a-reg 1", "s-a 1"),
        Order(6, "a", Action.CHANGE, supply="cyl 2", regulator="a-reg 1", by="s-a 2"),
        change(12, "cyl 3", "a-reg 1", "s-a 2"),
    ]
    standing = stand_at(incident(), plan, 5)
    assert standing.fitted == {"a-reg 1": "cyl 1"}
    assert (standing.busy, standing.begun) == ({"s-a 2": 6}, {"s-a 2": 4})
    done = stand_at(incident(), plan, 6)
    assert (done.fitted, done.busy) == ({"a-reg 1": "cyl 2"}, {})


def test_what_is_empty_gives_nothing() -> None:
    """At 10 L/min 300 L last 30 min; then the patient is still connected, without gas since then."""
    plan = [change(2, "cyl 1", "a-reg 1", "s-a 1"), connect(2, "P 1", "mask", 10, "cyl 1", "a-reg 1")]
    before, at, after = (stand_at(incident(), plan, minute).connected["P 1"] for minute in (31.9, 32, 40))
    assert (before.gas, before.since) == (True, 2)
    assert not at.gas
    assert (after.gas, after.since) == (False, 32)
    assert stand_at(incident(), [*plan, off(35, "P 1", "empty")], 40).connected == {}


def test_a_regulator_that_comes_off_leaves_nothing_behind() -> None:
    """A cylinder whose regulator went elsewhere is fitted no more, and keeps what it holds."""
    plan = [
        change(2, "cyl 1", "a-reg 1", "s-a 1"),
        connect(2, "P 1", "mask", 10, "cyl 1", "a-reg 1"),
        change(12, "cyl 2", "a-reg 1", "s-a 1"),
    ]
    standing = stand_at(incident(), plan, 15)
    assert standing.fitted == {"a-reg 1": "cyl 2"}
    assert standing.connected["P 1"].supply == "cyl 2"
    assert (standing.litres["cyl 1"], standing.litres["cyl 2"]) == pytest.approx((200, 270))


def test_nobody_has_been_without_for_longer_than_that() -> None:
    """A change of need while no gas comes leaves the moment as it was."""
    made = scenario(
        horizon=60,
        ladders=[ladder("l", ("mask", 10, 1.0))],
        patients=[patients(1, "l", then=(Spell(35, "a", "delayed", "l"),))],
        lots=[cylinders(1, 100, key="one")],
        regulators=[regulator(1)],
    )
    plan = [
        Order(0, "a", Action.CHANGE, supply="one", regulator="a-reg"),
        connect(0, "batch", "mask", 10, "one", "a-reg"),
    ]
    for minute in (15, 25, 40):
        standing = stand_at(made, plan, minute).connected["batch"]
        assert (standing.gas, standing.since) == (False, 10)
