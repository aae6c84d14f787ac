"""Incidents with orders of some kind, for laws about what was done so far."""

from __future__ import annotations

from hypothesis import strategies as st
from properties.random_incidents import incidents

from mci.demand.groups import count_demand
from mci.dispatch.plan import dispatch
from mci.dispatch.usual import USUAL, usual_practice
from mci.errors import InputError
from mci.lp.allocate import allocate
from mci.lp.whole import plan_whole
from mci.plan.orders import Order
from mci.scenario.model import Scenario
from mci.settings import Settings

__all__ = ["dispatched", "forgetful", "usual", "with_orders"]


def usual(scenario: Scenario, number: int = 0) -> tuple[Order, ...]:
    """Return the orders of usual practice; none where nobody comes."""
    try:
        return usual_practice(scenario, count_demand(scenario, 10.0), USUAL[number : number + 1])[0].orders
    except InputError:
        return ()


def dispatched(scenario: Scenario) -> tuple[Order, ...]:
    """Return the orders of the plan; none where nobody comes."""
    settings = Settings()
    try:
        demand = count_demand(scenario, settings.max_period)
    except InputError:
        return ()
    whole = plan_whole(allocate(scenario, demand, settings), settings)
    return dispatch(scenario, demand, whole.service, whole.draw).plan.orders


@st.composite
def with_orders(draw: st.DrawFn, *, plans: bool = False) -> tuple[Scenario, tuple[Order, ...]]:
    """Draw an incident and VALID orders: of usual practice, or also of the plan."""
    made = draw(incidents(memory=draw(st.booleans())))
    kind = draw(st.sampled_from([0, 1, 2] if plans else [0, 1]))
    return made, dispatched(made) if kind == 2 else usual(made, kind)


@st.composite
def forgetful(draw: st.DrawFn) -> tuple[Scenario, tuple[Order, ...]]:
    """Draw an incident and orders of usual practice of which some are forgotten: cylinders run dry, people stay on."""
    made, orders = draw(with_orders())
    kept = draw(st.lists(st.booleans(), min_size=len(orders), max_size=len(orders)))
    return made, tuple(order for order, keeps in zip(orders, kept, strict=True) if keeps)
