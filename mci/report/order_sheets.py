"""Orders as sheets for the people who carry them out: one sheet per area, one line an order."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.plan.marks import find_marks
from mci.plan.orders import Action
from mci.report.compared import find_withdrawals
from mci.report.words import NOISE, moment
from mci.units import format_clock, format_flow, format_moment, format_pressure

if TYPE_CHECKING:
    from collections.abc import Sequence

    from mci.plan.marks import Legend, Marks
    from mci.plan.orders import Order, Plan
    from mci.scenario.model import Scenario

__all__ = ["Change", "OrderLine", "Sheet", "order_lines", "order_sheets"]


@dataclass(frozen=True, slots=True)
class Change:
    """A change of cylinder: what is done, and when the next one on the same regulator is due (empty if never)."""

    what: str
    following: str
    again: str


@dataclass(frozen=True, slots=True)
class OrderLine:
    """One order; ``change`` where it is a change of cylinder, ``less`` where a patient gets less than before."""

    when: str
    clock: str
    action: str
    who: str
    patient: str
    gives: str
    reason: str
    source: str
    gauge: str
    change: Change | None
    less: bool


@dataclass(frozen=True, slots=True)
class Sheet:
    """The orders of one area."""

    area: str
    sums: str
    legends: tuple[Legend, ...]
    lines: tuple[OrderLine, ...]


_WORDS = {
    Action.DISCONNECT: "Disconnect",
    Action.MOVE: "Move",
    Action.STEP_DOWN: "Step down",
    Action.SET_FLOW: "Set flow",
    Action.CONNECT: "Connect",
}


class _Changes:
    """For each change of cylinder, what comes off, where the new one is taken from, and the next change."""

    def __init__(self, orders: Sequence[Order], marks: Marks, start: int | None) -> None:
        self._marks, self._start = marks, start
        self._off: dict[int, str] = {}
        self._from: dict[int, str] = {}
        self._after: dict[int, Order] = {}
        last: dict[str, Order] = {}
        on: dict[str, str] = {}  # supply by regulator
        for order in orders:
            if order.action is not Action.CHANGE or not order.regulator:
                continue
            if order.regulator in last:
                self._after[id(last[order.regulator])] = order
            last[order.regulator] = order
            self._off[id(order)] = on.pop(order.regulator, "")
            self._from[id(order)] = next((name for name, supply in on.items() if supply == order.supply), "")
            on.pop(self._from[id(order)], None)
            on[order.regulator] = order.supply

    def word(self, order: Order) -> str:
        return "Change cylinder" if self._off.get(id(order)) else "Open cylinder"

    def say(self, order: Order) -> Change:
        new, regulator = self._marks.of(order.supply), self._marks.of(order.regulator)
        if not order.regulator:
            return Change(f"Open {new}", "", "")
        old, source, after = self._off[id(order)], self._from[id(order)], self._after.get(id(order))
        off = f"{self._marks.of(old)} off, " if old else ""
        taken = f", taken off {self._marks.of(source)}" if source else ""
        what = f"{regulator}: {off}{new} on{taken}"
        if after is None:
            return Change(what, f"No further change of {regulator}", "")
        return Change(what, f"Next change of {regulator}:", moment(after.minute, self._start))


def _flow(lpm: float) -> str:
    """Write a flow to set, rounded up, since less would not reach the rung."""
    digits = 1 if lpm >= 10 else 2
    return format_flow(math.ceil(lpm * 10**digits - NOISE) / 10**digits)


def order_lines(scenario: Scenario, plan: Plan, marks: Marks) -> list[tuple[Order, OrderLine]]:
    """Put every order into words, in the order of time."""
    devices = {rung.device.key: rung.device.title for ladder in scenario.ladders.values() for rung in ladder.rungs}
    withdrawals = find_withdrawals(scenario, plan)
    changes = _Changes(plan.orders, marks, scenario.start)
    return [
        (order, _line(order, scenario, marks, devices, changes, withdrawn=order in withdrawals))
        for order in plan.orders
    ]


def _line(
    order: Order, scenario: Scenario, marks: Marks, devices: dict[str, str], changes: _Changes, *, withdrawn: bool
) -> OrderLine:
    change = changes.say(order) if order.action is Action.CHANGE else None
    action = changes.word(order) if change else "Take off oxygen" if withdrawn else _WORDS[order.action]
    begins = f"begins {format_moment(order.begin)}" if order.begin < order.minute else ""
    device = devices.get(order.device, order.device)
    gives = f"{device}, {_flow(order.flow_lpm)}" if order.device or order.flow_lpm else ""
    regulator = f"on {marks.of(order.regulator)}" if order.regulator else ""
    gauge = "" if order.gauge_psi is None else format_pressure(order.gauge_psi, metric=scenario.pressures_in_bar)
    return OrderLine(
        when=format_moment(order.minute),
        clock=format_clock(order.minute, scenario.start),
        action=action,
        who=", ".join(part for part in (marks.of(order.by), begins) if part),
        patient=order.patient,
        gives=gives,
        reason=order.reason,
        source=f"{marks.of(order.supply)} {regulator}".strip(),
        gauge=gauge,
        change=change,
        less=withdrawn or order.action is Action.STEP_DOWN,
    )


def order_sheets(scenario: Scenario, plan: Plan) -> tuple[Sheet, ...]:
    """Make the sheet of every area that has orders."""
    marks = find_marks(scenario)
    lines = order_lines(scenario, plan, marks)
    sheets = []
    for area in scenario.areas:
        mine = tuple(line for order, line in lines if order.area == area.key)
        if mine:
            legends = tuple(marks.legends.get(area.key, ()))
            sheets.append(Sheet(area.title, _sums(mine), legends, mine))
    return tuple(sheets)


def _sums(lines: Sequence[OrderLine]) -> str:
    changes = sum(line.change is not None for line in lines)
    down = sum(line.less and line.action == _WORDS[Action.STEP_DOWN] for line in lines)
    off = sum(line.less for line in lines) - down
    moves = sum(line.action == _WORDS[Action.MOVE] for line in lines)
    return (
        f"{_number(len(lines), 'order')}: {_number(changes, 'cylinder change')}, {_number(moves, 'move')}, "
        f"{_number(down, 'step-down')}, {_number(off, 'withdrawal')}."
    )


def _number(number: int, word: str) -> str:
    return f"{number or 'no'} {word}{'' if number == 1 else 's'}"
