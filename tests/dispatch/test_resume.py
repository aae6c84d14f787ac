"""Laws of going on from a moment: what is left, the best that is still possible, and orders for it."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ordered import forgetful, usual, with_orders
from properties.common import bound, repeatable
from properties.random_incidents import HORIZON, incidents

from mci.demand.people import name_people
from mci.dispatch.resume import best_from, orders_from, rest_of
from mci.errors import InputError
from mci.plan.orders import Order
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


@repeatable(60)
@given(incidents(memory=True))
def test_with_nothing_done_the_best_is_the_bound(made: Scenario) -> None:
    """Before the first order everything is still possible."""
    try:
        expected = bound(made)
    except InputError:  # nobody comes
        expected = 0.0
    assert best_from(made, stand_at(made, (), 0), SETTINGS) == pytest.approx(expected, rel=SAME, abs=SAME)


@repeatable(150)
@given(PLANNED, MOMENTS)
def test_no_valid_orders_reach_more_than_the_best_from_any_of_their_moments(pair: Pair, minute: float) -> None:
    """Whatever they do after the moment is one of the things that are still possible."""
    made, plan = pair
    verdict = replay(made, plan)
    if verdict.validity:
        best = best_from(made, stand_at(made, plan, minute), SETTINGS)
        assert verdict.weighted <= best * (1 + SAME) + NOISE


@repeatable(150)
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


@repeatable(100)
@given(st.one_of(PLANNED, forgetful()), MOMENTS)
def test_the_rest_has_the_names_and_litres_that_are_left(pair: Pair, minute: float) -> None:
    """Nobody and nothing gets another name, and no litre is lost or made."""
    made, plan = pair
    standing = stand_at(made, plan, minute)
    now = standing.minute
    rest = rest_of(made, standing)
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


@repeatable(60)
@given(st.one_of(PLANNED, forgetful()), MOMENTS)
def test_the_rest_is_an_incident_that_can_be_carried_out(pair: Pair, minute: float) -> None:
    """Usual practice on it is VALID, so what it says of windows, hands and devices fits together."""
    made, plan = pair
    rest = rest_of(made, stand_at(made, plan, minute))
    assert replay(rest, usual(rest)).findings == ()


@repeatable(150)
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


@repeatable(150)
@given(forgetful(), MOMENTS)
def test_whatever_was_done_before_nothing_wrong_is_done_afterwards(pair: Pair, minute: float) -> None:
    """Cylinders ran dry, people were left on them: findings belong to the time before, but for a lost reserve."""
    made, plan = pair
    standing = stand_at(made, plan, minute)
    verdict = replay(made, (*standing.orders, *orders_from(made, standing, SETTINGS)))
    late = [each for each in verdict.findings if each.minute > standing.minute and each.law != "reserve"]
    assert late == []
