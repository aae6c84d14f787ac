"""Words for the decisions of an answer key: what is done, and what would be lost without it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.demand.people import name_people
from mci.plan.orders import Action
from mci.units import format_flow, format_moment

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from mci.plan.marks import Marks
    from mci.plan.orders import Order
    from mci.scenario.model import Scenario

__all__ = ["order_words", "what_words", "why_words"]

#: How many patients are named in a sentence before the rest are counted.
_NAMED = 3
#: How many orders of a decision are told before the rest are counted.
_STEPS = 4


def order_words(order: Order, marks: Marks) -> str:
    """Say an order, things by their marks: ``P07: non-rebreather at 15 L/min from R2 on C3``."""
    outlet = _outlet(order, marks)
    given = f"{order.device} at {format_flow(order.flow_lpm)}"
    match order.action:
        case Action.CHANGE:
            if not order.regulator:
                return f"open {marks.of(order.supply)}"
            return f"put {marks.of(order.regulator)} on {marks.of(order.supply)}"
        case Action.CONNECT:
            return f"connect {order.patient}: {given} from {outlet}"
        case Action.MOVE:
            return f"move {order.patient} to {outlet}: {given}"
        case Action.SET_FLOW:
            return f"set {order.patient} to {given}"
        case Action.STEP_DOWN:
            return f"step {order.patient} down to {given}"
    return f"{order.patient} leaves" if order.reason == "leaves" else f"take {order.patient} off oxygen"


def _outlet(order: Order, marks: Marks) -> str:
    if order.regulator and order.supply:
        return f"{marks.of(order.regulator)} on {marks.of(order.supply)}"
    return marks.of(order.regulator or order.supply)


def what_words(orders: Sequence[Order], marks: Marks, *, prepared: bool = False) -> str:
    """Say what a decision is, in the order of time; the end of a connection goes without saying."""
    leaving = len(orders) > 1 and orders[-1].action is Action.DISCONNECT and orders[0].action is Action.CONNECT
    told = orders[:-1] if leaving else orders
    parts: list[str] = []
    minute = -1.0
    for order in told[:_STEPS]:
        words = order_words(order, marks)
        parts.append(words if order.minute == minute else f"{format_moment(order.minute)} {words}")
        minute = order.minute
    rest = len(told) - _STEPS
    more = f"; and {rest} more step{'s' if rest > 1 else ''}" if rest > 0 else ""
    return "; ".join(parts) + more + (", ready before anybody needs it" if prepared else "")


def why_words(scenario: Scenario, orders: Sequence[Order], losses: Mapping[str, float]) -> str:
    """Say what would be lost without a decision, and what the orders themselves give as a reason."""
    reasons = dict.fromkeys(order.reason for order in orders if order.reason and order.action is not Action.CONNECT)
    given = [reason for reason in reasons if reason != "leaves" and not reason.startswith("moves to ")]
    away = "Why" if orders[0].action in (Action.DISCONNECT, Action.STEP_DOWN) else "Why meanwhile off oxygen or on less"
    parts = [f"{away}: {'; '.join(given)}."] if given else []
    kinds = _categories(scenario)
    named = [
        f"{patient} ({kinds.get(patient, '')}) {minutes:.0f} min"
        for patient, minutes in losses.items()
        if minutes >= 0.5
    ]
    if named:
        told = ", ".join(named[:_NAMED])
        rest = len(named) - _NAMED
        more = f", and {rest} more patient{'s' if rest > 1 else ''}" if rest > 0 else ""
        parts.append(f"Without it full treatment is lost: {told}{more}.")
    return " ".join(parts)


def _categories(scenario: Scenario) -> dict[str, str]:
    return {person.key: person.stays[-1].category.capitalize() for person in name_people(scenario)}
