"""The decisions of an answer key: orders that belong together, each worth what the same orders lose without it.

Worth is measured, not estimated: the orders are carried out again without the rows of the decision, everything else as
it is.  Nobody reacts to what is missing, so worths of several decisions do not add up.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from mci.drills.decision_words import what_words, why_words
from mci.drills.result import Decision
from mci.plan.orders import Action
from mci.replay.judge import replay

if TYPE_CHECKING:
    from collections.abc import Sequence

    from mci.plan.marks import Marks
    from mci.plan.orders import Order
    from mci.replay.judged import Judged
    from mci.replay.verdict import Service, Verdict
    from mci.scenario.model import Scenario

__all__ = ["MOST", "Group", "GroupKind", "find_decisions", "find_groups", "without"]

#: How many decisions a key shows.
MOST = 8
#: How many of them are of one kind, as long as there are others.
ALIKE = 3
#: What gains less is no decision [weighted credit-minutes].
LEAST = 0.05
#: Who is off oxygen for no longer than this was not withdrawn: the cylinder was changed [min].
BACK = 15.0


class GroupKind(StrEnum):
    """What orders that belong together are."""

    CONNECTION = "connection"
    CHANGE = "change of cylinder"
    PREPARED = "cylinder made ready"
    STEP_DOWN = "step-down"
    WITHDRAWAL = "withdrawal"


@dataclass(frozen=True, slots=True)
class Group:
    """Orders that make one decision: their rows from 1 in the order of time, and the orders."""

    kind: GroupKind
    rows: tuple[int, ...]
    orders: tuple[Order, ...]


def find_groups(orders: Sequence[Order]) -> tuple[Group, ...]:
    """Return the decisions of orders that are in the order of time; every row is in exactly one.

    A connection takes with it whatever the patient is given until the next disconnection, but for step-downs; who is
    back on oxygen within :data:`BACK` minutes was not withdrawn.  Step-downs of one moment in one area belong together,
    and so do withdrawals.
    """
    rows: dict[tuple[str, ...], list[int]] = defaultdict(list)
    kinds: dict[tuple[str, ...], GroupKind] = {}
    turns = _turns(orders)
    first_used = _first_used(orders)
    for row, order in enumerate(orders, start=1):
        kind = _kind(order, first_used.get(row, order.minute), withdrawn=turns.get(row, 0) < 0)
        key: tuple[str, ...]
        if kind in (GroupKind.CHANGE, GroupKind.PREPARED):
            key = (kind, str(row))
        elif kind is GroupKind.CONNECTION:
            key = (kind, order.patient, str(turns[row]))
        else:
            key = (kind, order.area, repr(order.minute))
        kinds[key] = kind
        rows[key].append(row)
    return tuple(Group(kinds[key], tuple(mine), tuple(orders[row - 1] for row in mine)) for key, mine in rows.items())


def _kind(order: Order, used: float, *, withdrawn: bool) -> GroupKind:
    match order.action:
        case Action.CHANGE:
            return GroupKind.PREPARED if used > order.minute else GroupKind.CHANGE
        case Action.STEP_DOWN:
            return GroupKind.STEP_DOWN
        case Action.DISCONNECT if withdrawn:
            return GroupKind.WITHDRAWAL
    return GroupKind.CONNECTION


def _turns(orders: Sequence[Order]) -> dict[int, int]:
    """Return for every row about a patient which time on oxygen it is, from 1; below 0 for a withdrawal."""
    mine: dict[str, list[tuple[int, Order]]] = defaultdict(list)
    for row, order in enumerate(orders, start=1):
        if order.patient:
            mine[order.patient].append((row, order))
    turns: dict[int, int] = {}
    for pairs in mine.values():
        turn, off = 0, -math.inf
        for place, (row, order) in enumerate(pairs):
            if order.action is Action.CONNECT and order.minute - off > BACK:
                turn += 1
            if order.action is Action.DISCONNECT:
                off = order.minute
                back = next(
                    (later.minute for _, later in pairs[place + 1 :] if later.action is Action.CONNECT), math.inf
                )
                turns[row] = turn if _goes(order) or back - off <= BACK else -turn
            else:
                turns[row] = turn
    return turns


def _goes(order: Order) -> bool:
    """Tell whether a patient comes off oxygen because he or she goes: such reasons are the dispatcher's own."""
    return order.reason == "leaves" or order.reason.startswith("moves to ")


def _first_used(orders: Sequence[Order]) -> dict[int, float]:
    """Return for every change of cylinder when anybody is first on it [min]: at once where somebody is already."""
    used: dict[int, float] = {}
    on: dict[str, set[str]] = defaultdict(set)
    fitted: dict[str, int] = {}
    for row, order in enumerate(orders, start=1):
        if order.action is Action.CHANGE:
            fitted[_outlet(order)] = row
            used[row] = order.minute if on[_outlet(order)] else math.inf
            continue
        if order.action in (Action.CONNECT, Action.MOVE, Action.DISCONNECT):
            for patients in on.values():
                patients.discard(order.patient)
        if order.action in (Action.CONNECT, Action.MOVE):
            on[_outlet(order)].add(order.patient)
            if (change := fitted.get(_outlet(order))) is not None:
                used[change] = min(used[change], order.minute)
    return used


def _outlet(order: Order) -> str:
    return order.regulator or order.supply


def without(orders: Sequence[Order], rows: Sequence[int]) -> tuple[Order, ...]:
    """Return orders without some rows, counted from 1."""
    left_out = frozenset(rows)
    return tuple(order for row, order in enumerate(orders, start=1) if row not in left_out)


def find_decisions(scenario: Scenario, best: Judged, marks: Marks, most: int = MOST) -> tuple[Decision, ...]:
    """Return the decisions of a plan that are worth most, the one worth most first, and not all of one kind.

    Parameters
    ----------
    scenario
        The incident as it happens.
    best
        The plan and its verdict on it.
    marks
        What things are called on paper: as players were told, for what happens may count them otherwise.
    most
        How many to keep; what gains nothing is none.
    """
    orders = best.plan.orders
    found = []
    for group in find_groups(orders):
        verdict = replay(scenario, without(orders, group.rows))
        worth = best.verdict.weighted - verdict.weighted
        if worth >= LEAST:
            found.append((worth, group, verdict))
    found.sort(key=lambda each: (-round(each[0], 6), each[1].rows))
    return tuple(_decision(scenario, best, marks, *each) for each in _chosen(found, most))


def _chosen(found: list[tuple[float, Group, Verdict]], most: int) -> list[tuple[float, Group, Verdict]]:
    """Keep those worth most, but no more than :data:`ALIKE` of one kind before there is nothing else."""
    counts: dict[GroupKind, int] = defaultdict(int)
    first: list[int] = []
    for place, (_, group, _) in enumerate(found):
        counts[group.kind] += 1
        if counts[group.kind] <= ALIKE:
            first.append(place)
    others = [place for place in range(len(found)) if place not in first]
    return [found[place] for place in sorted((first + others)[:most])]


def _decision(scenario: Scenario, best: Judged, marks: Marks, worth: float, group: Group, verdict: Verdict) -> Decision:
    losses = _losses(best.verdict.services, verdict.services)
    named = [order.patient for order in group.orders if order.patient]
    patients = tuple(dict.fromkeys([*named, *losses]))
    return Decision(
        minute=group.orders[0].minute,
        what=what_words(group.orders, marks, prepared=group.kind is GroupKind.PREPARED),
        why=why_words(scenario, group.orders, losses),
        rows=group.rows,
        worth=worth,
        immediate_min=_immediate(best.verdict) - _immediate(verdict),
        patients=patients,
    )


def _losses(before: Sequence[Service], after: Sequence[Service]) -> dict[str, float]:
    """Return who loses credit-minutes and how many, the most first; who gains is not among them."""
    sums: dict[str, float] = defaultdict(float)
    for services, sign in ((before, 1.0), (after, -1.0)):
        for each in services:
            sums[each.patient] += sign * each.credit * (each.end - each.start)
    lost = [(patient, minutes) for patient, minutes in sums.items() if minutes > LEAST]
    return dict(sorted(lost, key=lambda pair: (-round(pair[1], 6), pair[0])))


def _immediate(verdict: Verdict) -> float:
    mine = verdict.coverage[verdict.coverage["category"] == "immediate"]
    return float(mine["credit_min"].sum())
