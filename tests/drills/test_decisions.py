"""Decisions of a key: each order is in exactly one, and each is worth exactly what a replay without it loses."""

from __future__ import annotations

import functools
from collections import Counter
from itertools import chain

import pytest
from planned import plan_all
from played import played_drill

from mci.drills.decision_words import what_words
from mci.drills.decisions import ALIKE, BACK, LEAST, GroupKind, find_decisions, find_groups, without
from mci.drills.result import Decision
from mci.plan.marks import find_marks
from mci.plan.orders import Action, Order
from mci.replay.judge import replay
from mci.scenario import read_scenario
from mci.scenario.model import Scenario

FERRY = "scenarios/ferry-fire.yaml"


@functools.cache
def _found(many: int = 1000) -> tuple[Decision, ...]:
    drill = played_drill()
    return find_decisions(drill.actual, drill.best, find_marks(drill.briefed), many)


def test_every_order_is_in_one_group() -> None:
    """Groups part the rows of the orders, each with the orders of its rows."""
    for orders in (played_drill().best.plan.orders, plan_all(_ferry()).this.plan.orders):
        groups = find_groups(orders)
        rows = sorted(chain.from_iterable(group.rows for group in groups))
        assert rows == list(range(1, len(orders) + 1))
        assert all(group.orders == tuple(orders[row - 1] for row in group.rows) for group in groups)


@functools.cache
def _ferry() -> Scenario:
    return read_scenario(FERRY)


def test_worth_is_what_replay_loses() -> None:
    """Weighted coverage and Immediate minutes of the key less those of the same orders without the rows."""
    drill = played_drill()
    orders = drill.best.plan.orders
    assert drill.best.verdict.validity
    assert _found()
    for decision in _found():
        left = [order for row, order in enumerate(orders, start=1) if row not in decision.rows]
        verdict = replay(drill.actual, left)
        assert decision.worth == pytest.approx(drill.best.verdict.weighted - verdict.weighted, abs=1e-9)
        lost = [judged.coverage.set_index("category")["credit_min"] for judged in (drill.best.verdict, verdict)]
        assert decision.immediate_min == pytest.approx(lost[0]["immediate"] - lost[1]["immediate"], abs=1e-9)
        assert decision.worth >= LEAST


def test_the_most_is_first() -> None:
    """Worths fall; the first so many are those of all; what is named is there."""
    worths = [decision.worth for decision in _found()]
    assert worths == sorted(worths, reverse=True)
    assert (
        find_decisions(played_drill().actual, played_drill().best, find_marks(played_drill().briefed), 3)
        == _found()[:3]
    )
    for decision in _found():
        assert decision.what.startswith("T+")
        assert "full treatment is lost: " in decision.why
        assert decision.minute == played_drill().best.plan.orders[decision.rows[0] - 1].minute
        assert decision.patients


def test_without_rows() -> None:
    """Rows are counted from 1, and everything else stays."""
    orders = played_drill().best.plan.orders
    assert without(orders, []) == orders
    assert without(orders, [1, len(orders)]) == orders[1:-1]


def _order(minute: float, action: Action, patient: str = "A", **more: object) -> Order:
    return Order(minute, "a", action, patient, supply="C", regulator="R", **more)  # type: ignore[arg-type]


def test_kinds_by_hand() -> None:
    """A cylinder made ready, a change, a connection with its moves, a step-down, an interruption and a withdrawal."""
    orders = (
        _order(0, Action.CHANGE, ""),
        _order(5, Action.CONNECT),
        _order(7, Action.SET_FLOW),
        _order(9, Action.STEP_DOWN, reason="the plan"),
        _order(10, Action.CHANGE, ""),
        _order(12, Action.DISCONNECT, reason="the next cylinder is not on yet"),
        _order(12 + BACK, Action.CONNECT),
        _order(40, Action.DISCONNECT, reason="the plan"),
        _order(41 + BACK, Action.CONNECT),
        _order(90, Action.DISCONNECT, reason="leaves"),
    )
    found = {group.rows: group.kind for group in find_groups(orders)}
    assert found == {
        (1,): GroupKind.PREPARED,
        (2, 3, 6, 7): GroupKind.CONNECTION,
        (4,): GroupKind.STEP_DOWN,
        (5,): GroupKind.CHANGE,
        (8,): GroupKind.WITHDRAWAL,
        (9, 10): GroupKind.CONNECTION,
    }


def test_words_by_hand() -> None:
    """Things by their marks, orders of one moment together, and what is more than four steps counted."""
    drill = played_drill()
    marks = find_marks(drill.briefed)
    tool, tank = "yard yoke regulator 0-15 L/min 2", "yard US D aluminium 1"
    connect = Order(4, "yard", Action.CONNECT, "P01", "non-rebreather", 15.0, tank, tool)
    steps = [Order(float(minute), "yard", Action.SET_FLOW, "P01", "simple mask", 6.0) for minute in range(6, 10)]
    leave = Order(40, "yard", Action.DISCONNECT, "P01", reason="leaves")
    assert what_words([connect, leave], marks) == "T+4 connect P01: non-rebreather at 15 L/min from R2 on C1"
    assert what_words([connect, *steps, leave], marks).endswith(
        "; T+8 set P01 to simple mask at 6 L/min; and 1 more step"
    )
    change = Order(4, "yard", Action.CHANGE, supply=tank, regulator=tool)
    assert what_words([change], marks, prepared=True) == "T+4 put R2 on C1, ready before anybody needs it"


def test_not_all_are_of_one_kind() -> None:
    """Of one kind no more than three are kept before there is nothing else; all are still in the order of worth."""
    drill = played_drill()
    kinds = {group.rows: group.kind for group in find_groups(drill.best.plan.orders)}
    for most in (4, 6, 8):
        kept = find_decisions(drill.actual, drill.best, find_marks(drill.briefed), most)
        assert [each.worth for each in kept] == sorted((each.worth for each in kept), reverse=True)
        left = [each for each in _found() if each not in kept]
        counts = Counter(kinds[each.rows] for each in kept)
        if any(counts[kind] > ALIKE for kind in counts):
            assert all(counts[kinds[each.rows]] >= ALIKE for each in left)
