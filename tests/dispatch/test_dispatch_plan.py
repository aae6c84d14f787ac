"""The best plan that was found: judged, never below usual practice, the lightest of those about as good."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from incidents import cylinders, ladder, patients, regulator, scenario

from mci.demand.groups import count_demand
from mci.dispatch import plan as room
from mci.dispatch.plan import dispatch, judge_usual
from mci.lp.allocate import allocate
from mci.lp.whole import plan_whole
from mci.plan.orders import Action, Order
from mci.replay.verdict import Validity
from mci.settings import Settings

if TYPE_CHECKING:
    import pytest

INCIDENT = scenario(
    horizon=60,
    ladders=[ladder("l", ("mask", 10, 1.0), ("mask", 5, 0.6))],
    patients=[patients(2, "l"), patients(1, "l", category="minimal", arrive=10)],
    lots=[cylinders(3, 300, change=2)],
    regulators=[regulator(2)],
    staff={"a": 1},
)
DEMAND = count_demand(INCIDENT, 10.0)


def _whole():
    return plan_whole(allocate(INCIDENT, DEMAND, Settings()), Settings())


def test_no_plan_is_less_than_usual_practice() -> None:
    """Where a plan serves nobody and nothing is handed out, the orders of usual practice are the plan."""
    usual = judge_usual(INCIDENT, DEMAND)
    whole = _whole()
    nothing = whole.service.iloc[:0], whole.draw.iloc[:0]
    best = dispatch(INCIDENT, DEMAND, *nothing, usual)
    assert best.name == "this plan"
    assert best.verdict.weighted >= max(judged.verdict.weighted for judged in usual) * (1 - room.EQUAL)


def test_orders_that_are_not_valid_are_not_chosen(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of two styles, one of which gives a patient who does not exist oxygen all the time, the other is taken."""
    whole = _whole()
    follow = room.follow_plan

    def broken(*arguments: object) -> tuple[Order, ...]:
        orders = follow(*arguments)
        bad = Order(0.0, "a", Action.CONNECT, patient="nobody", device="mask", flow_lpm=10, supply="lot 1")
        return orders if arguments[-1] is room.STYLES[1] else (bad, *orders)

    monkeypatch.setattr(room, "follow_plan", broken)
    monkeypatch.setattr(room, "STYLES", room.STYLES[:2])
    assert dispatch(INCIDENT, DEMAND, whole.service, whole.draw).verdict.validity is Validity.VALID


def test_among_plans_about_as_good_the_lightest(monkeypatch: pytest.MonkeyPatch) -> None:
    """With every plan equally good, the one with the fewest changes of cylinder and moves is taken."""
    whole = _whole()
    monkeypatch.setattr(room, "EQUAL", 1.0)
    usual = judge_usual(INCIDENT, DEMAND)
    best = dispatch(INCIDENT, DEMAND, whole.service, whole.draw, usual)

    def burden(orders: tuple[Order, ...]) -> int:
        return sum(order.action in (Action.CHANGE, Action.MOVE) for order in orders)

    assert burden(best.plan.orders) <= min(burden(judged.plan.orders) for judged in usual)


def test_large_incidents_try_fewer_styles(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every style with three patients, one with more than the effort allows, or where the first is close enough."""
    whole = _whole()
    tried: list[object] = []
    follow = room.follow_plan

    def counted(*arguments: object) -> tuple[Order, ...]:
        tried.append(arguments[-1])
        return follow(*arguments)

    monkeypatch.setattr(room, "follow_plan", counted)
    monkeypatch.setattr(room, "CLOSE", 2.0)
    dispatch(INCIDENT, DEMAND, whole.service, whole.draw)
    assert tried == list(room.STYLES)
    tried.clear()
    monkeypatch.setattr(room, "CLOSE", 0.0)
    dispatch(INCIDENT, DEMAND, whole.service, whole.draw)
    assert tried == [room.STYLES[0]]
    tried.clear()
    monkeypatch.setattr(room, "CLOSE", 2.0)
    many = dataclasses.replace(DEMAND, patients={"all": room.EFFORT + 1})
    dispatch(INCIDENT, many, whole.service, whole.draw)
    assert tried == [room.STYLES[0]]
