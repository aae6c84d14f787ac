"""Laws of going on from a moment: what is left, the best that is still possible, and orders for it."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from incidents import cylinders, ladder, outlet_set, patients, piped, regulator, scenario
from ordered import forgetful, usual, with_orders
from properties.common import bound, repeatable
from properties.random_incidents import HORIZON, incidents

from mci.catalogue.model import GasModel
from mci.demand.groups import count_demand
from mci.demand.people import name_people
from mci.dispatch.rest import left_of
from mci.dispatch.resume import best_from, orders_from, rest_of
from mci.dispatch.resumed_crew import ResumedCrew, find_first
from mci.dispatch.usual import Usual
from mci.errors import InputError
from mci.plan.orders import Action, Order
from mci.plan.things import ANYONE, find_handlers, find_regulators, find_supplies
from mci.replay.judge import replay, stand_at
from mci.scenario.model import Scenario
from mci.settings import Settings

SETTINGS = Settings()
MOMENTS = st.one_of(
    st.sampled_from([0.0, 10.0, 15.0, 30.0, 45.0, HORIZON]),
    st.floats(0, HORIZON).map(lambda minute: round(minute, 2)),
    st.floats(0, HORIZON),
)
PLANNED = with_orders(plans=True)
#: Solvers and sums over the same minutes differ by rounding; a moment is known to 1e-5 min.
SAME = 1e-6
NOISE = 1e-3

Pair = tuple[Scenario, tuple[Order, ...]]


@repeatable(25)
@given(incidents(memory=True))
def test_with_nothing_done_the_best_is_the_bound(made: Scenario) -> None:
    """Before the first order everything is still possible."""
    try:
        expected = bound(made)
    except InputError:  # nobody comes
        expected = 0.0
    assert best_from(made, stand_at(made, (), 0), SETTINGS) == pytest.approx(expected, rel=SAME, abs=SAME)


@repeatable(50)
@given(PLANNED, MOMENTS)
def test_no_valid_orders_reach_more_than_the_best_from_any_of_their_moments(pair: Pair, minute: float) -> None:
    """Whatever they do after the moment is one of the things that are still possible."""
    made, plan = pair
    verdict = replay(made, plan)
    if verdict.validity:
        best = best_from(made, stand_at(made, plan, minute), SETTINGS)
        assert verdict.weighted <= best * (1 + SAME) + NOISE


@repeatable(40)
@given(PLANNED, MOMENTS, MOMENTS)
def test_the_best_never_rises_along_valid_orders(pair: Pair, one: float, two: float) -> None:
    """What has been missed does not come back."""
    made, plan = pair
    if not replay(made, plan).validity:
        return
    earlier, later = (best_from(made, stand_at(made, plan, minute), SETTINGS) for minute in sorted((one, two)))
    assert later <= earlier * (1 + SAME) + NOISE


@repeatable(40)
@given(st.one_of(PLANNED, forgetful()))
def test_at_the_horizon_the_best_is_what_was_reached(pair: Pair) -> None:
    """Nothing is left to be done, whether the orders are VALID or not."""
    made, plan = pair
    assert best_from(made, stand_at(made, plan, HORIZON), SETTINGS) == pytest.approx(replay(made, plan).weighted)


@repeatable(60)
@given(st.one_of(PLANNED, forgetful()), MOMENTS, st.booleans())
def test_the_rest_has_the_names_and_litres_that_are_left(pair: Pair, minute: float, apart: bool) -> None:
    """Nobody and nothing gets another name, and no litre is lost or made."""
    made, plan = pair
    standing = stand_at(made, plan, minute)
    now = standing.minute
    rest = rest_of(made, standing, apart=apart)
    assert rest.horizon == pytest.approx(made.horizon - now)
    left = {supply.key: supply.litres for supply in find_supplies(rest)}
    for supply in find_supplies(made):
        held = standing.litres[supply.key]
        if supply.key in left:
            assert left.pop(supply.key) == pytest.approx(held, rel=1e-9)
        else:
            assert held <= SAME or supply.lot.available_until <= now + 2e-5
    assert not left
    people = {person.key: person for person in name_people(made)}
    for person in name_people(rest):
        assert [(each.area, each.category) for each in person.stays] == [
            (each.area, each.category) for each in people[person.key].stays if each.end > now + 1e-5
        ]
        assert person.leave + now == pytest.approx(people[person.key].leave)
    for find in (find_regulators, find_handlers):
        names = {each.key: each.available_until for each in find(made) if each.available_until > now + 1e-5}
        assert {each.key: each.available_until + now for each in find(rest)} == pytest.approx(names)
    assert ANYONE in {each.key for each in find_handlers(rest)} or all(math.isfinite(s.people) for s in rest.staff)


@repeatable(40)
@given(st.one_of(PLANNED, forgetful()), MOMENTS, st.booleans())
def test_the_rest_is_an_incident_that_can_be_carried_out(pair: Pair, minute: float, apart: bool) -> None:
    """Usual practice on it is VALID, so what it says of windows, hands and devices fits together."""
    made, plan = pair
    rest = rest_of(made, stand_at(made, plan, minute), apart=apart)
    assert replay(rest, usual(rest)).findings == ()


@repeatable(35)
@given(PLANNED, MOMENTS)
def test_valid_orders_and_those_that_go_on_from_them_are_valid(pair: Pair, minute: float) -> None:
    """Together they can be carried out, come after the moment, and reach no more than the best from there."""
    made, plan = pair
    if not replay(made, plan).validity:
        return
    standing = stand_at(made, plan, minute)
    orders = orders_from(made, standing, SETTINGS)
    verdict = replay(made, (*standing.orders, *orders))
    assert verdict.findings == ()
    assert all(order.minute >= minute and order.begin >= minute for order in orders)
    assert verdict.weighted <= best_from(made, standing, SETTINGS) * (1 + SAME) + NOISE


@repeatable(25)
@given(incidents(memory=True))
def test_from_the_start_it_is_no_worse_than_usual_practice(made: Scenario) -> None:
    """With nothing done, the orders of usual practice are among those that are tried."""
    reached = replay(made, orders_from(made, stand_at(made, (), 0), SETTINGS)).weighted
    assert reached >= max(replay(made, usual(made, number)).weighted for number in (0, 1)) - NOISE


@repeatable(35)
@given(forgetful(), MOMENTS)
def test_whatever_was_done_before_nothing_wrong_is_done_afterwards(pair: Pair, minute: float) -> None:
    """Cylinders ran dry, people were left on them: findings belong to the time before, but for a lost reserve."""
    made, plan = pair
    standing = stand_at(made, plan, minute)
    verdict = replay(made, (*standing.orders, *orders_from(made, standing, SETTINGS)))
    late = [each for each in verdict.findings if each.minute > standing.minute and each.law != "reserve"]
    assert late == []


def _last_minute() -> tuple[Scenario, tuple[Order, ...]]:
    """Return one who needs all of a cylinder at the very end, when there would be no time left to change one."""
    made = scenario(
        horizon=17.5,
        ladders=[ladder("l", ("mask", 20, 1.0))],
        patients=[patients(1, "l", arrive=15)],
        lots=[cylinders(1, 50, change=5)],
        regulators=[regulator(1, outlets=outlet_set("reg", each=25))],
        staff={"a": 1},
    )
    change = Order(15, "a", Action.CHANGE, supply="lot", regulator="a-reg", by="s-a", begin=10)
    return made, (change, Order(15, "a", Action.CONNECT, "batch", "mask", 20, "lot", "a-reg"))


@pytest.mark.parametrize("minute", [0, 10, 12, 14.9, 15, 16, 17])
def test_hands_that_have_begun_and_what_is_in_service_count(minute: float) -> None:
    """Five minutes of hands for 50 L that are breathed in 2.5 min: not to be had again when they have been spent."""
    made, plan = _last_minute()
    assert replay(made, plan).findings == ()
    assert best_from(made, stand_at(made, plan, minute), SETTINGS) == pytest.approx(2.5)


def test_who_has_not_begun_in_time_has_missed_it() -> None:
    """Without the change in time, the minutes that are left to people say what can still be breathed."""
    made, _ = _last_minute()
    assert best_from(made, stand_at(made, (), 16), SETTINGS) == pytest.approx(0.75)


def test_what_was_handed_out_serves_nobody_else() -> None:
    """One mask: who got it keeps it, also when going on another outlet; who comes later gets none."""
    made = scenario(
        horizon=40,
        ladders=[ladder("l", ("mask", 5, 1.0), single_use=True)],
        patients=[
            replace(patients(1, "l", stay=20), label="first"),
            replace(patients(1, "l", arrive=10), label="second"),
        ],
        lots=[piped(3)],
        devices={("a", "mask"): 1},
    )
    plan = (Order(0, "a", Action.CONNECT, "first", "mask", 5, "pipe"),)
    best = [best_from(made, stand_at(made, plan, minute), SETTINGS) for minute in (0, 5, 15, 30)]
    assert best == pytest.approx([20, 20, 20, 20])
    assert best_from(made, stand_at(made, (), 10), SETTINGS) == pytest.approx(30)
    standing = stand_at(made, plan, 15)
    orders = orders_from(made, standing, SETTINGS)
    assert {order.patient for order in orders} == {"first"}
    assert replay(made, (*standing.orders, *orders)).findings == ()
    gone = stand_at(made, (*plan, Order(20, "a", Action.DISCONNECT, "first")), 25)
    for then, who in ((standing, {"first"}), (gone, set())):
        left = left_of(made, then)
        points = count_demand(left).grid.points
        crew = ResumedCrew(made, left, then, find_first(then, points), points, Usual(made, by_category=True))
        assert {order.patient for order in crew.work()} == who


def test_what_one_cylinder_lacks_no_other_one_has_too_much_of() -> None:
    """10 L in one cylinder and 100 L in another are a minute and seven for two people until T+16, not eleven."""
    made = scenario(
        horizon=16,
        ladders=[ladder("l", ("mask", 10, 1.0))],
        patients=[patients(2, "l")],
        lots=[cylinders(2, 100)],
        regulators=[regulator(2)],
    )
    plan = (
        Order(0, "a", Action.CHANGE, supply="lot 1", regulator="a-reg 1"),
        Order(0, "a", Action.CONNECT, "batch 1", "mask", 10, "lot 1", "a-reg 1"),
        Order(9.5, "a", Action.CHANGE, supply="lot 2", regulator="a-reg 2"),
    )
    best = [best_from(made, stand_at(made, plan, minute), SETTINGS) for minute in (0, 9, 9.5)]
    assert best == pytest.approx([20, 9 + 1 + 7, 9.5 + 0.5 + 6.5])


def test_who_is_left_without_gas_or_between_rungs_is_taken_off_and_put_on_anew() -> None:
    """Disconnected with a reason, then connected to what still has gas, on a rung of the ladder."""
    made = scenario(
        horizon=60,
        ladders=[ladder("l", ("mask", 10, 1.0), ("mask", 6, 0.6))],
        patients=[patients(2, "l")],
        lots=[cylinders(1, 100, key="small"), cylinders(3, 600, key="big")],
        regulators=[regulator(2)],
    )
    plan = [
        Order(0, "a", Action.CHANGE, supply=supply, regulator=regulator)
        for supply, regulator in (("small", "a-reg 1"), ("big 1", "a-reg 2"))
    ]
    plan += [
        Order(0, "a", Action.CONNECT, who, "mask", flow, supply, regulator)
        for who, flow, supply, regulator in (("batch 1", 10, "small", "a-reg 1"), ("batch 2", 8, "big 1", "a-reg 2"))
    ]
    standing = stand_at(made, plan, 20)
    orders = orders_from(made, standing, SETTINGS)
    off = {order.patient: order.reason for order in orders if order.action is Action.DISCONNECT and order.minute < 21}
    assert off == {"batch 1": "no oxygen comes", "batch 2": "the flow is none of those that are wanted"}
    verdict = replay(made, (*standing.orders, *orders))
    assert [each.law for each in verdict.findings] == ["content"]
    assert verdict.weighted == pytest.approx(10 + 20 * 0.6 + 2 * 40, abs=0.1)


def test_what_is_below_the_in_service_minimum_stays_out_of_service() -> None:
    """A cylinder that came off with 154 L, below the 224 L at 1000 psi, is not used again, as before the moment."""
    full = cylinders(2, 504, key="cyl")
    kind = scenario(horizon=1, ladders=[], patients=[], lots=[]).resupply.cylinder
    made = scenario(
        horizon=120,
        ladders=[ladder("l", ("mask", 10, 1.0))],
        patients=[patients(1, "l")],
        lots=[replace(full, cylinder=kind, gauge_psi=2000, residual_psi=200, gas_model=GasModel.FACTOR)],
        regulators=[regulator(1)],
    )
    made = replace(made, in_service_psi=1000)
    plan = (
        Order(0, "a", Action.CHANGE, supply="cyl 1", regulator="a-reg"),
        Order(0, "a", Action.CONNECT, "batch", "mask", 10, "cyl 1", "a-reg"),
        Order(35, "a", Action.CHANGE, supply="cyl 2", regulator="a-reg"),
    )
    standing = stand_at(made, plan, 36)
    verdict = replay(made, (*standing.orders, *orders_from(made, standing, SETTINGS)))
    assert verdict.findings == ()
    assert verdict.weighted == pytest.approx(35 + 50.4, abs=0.1)
