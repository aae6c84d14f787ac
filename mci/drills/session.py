"""The rules of a table-top: what an order does, what happens as time passes, and what breaks a law.

A position is a moment and the orders so far; everything else follows from it and the incident as it happens.  Laws
are those of replay.  Orders of one moment take effect together, as everywhere.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeVar

from mci.demand.people import name_people
from mci.drills.happen import happened
from mci.drills.names import Names
from mci.plan.credit import reached_rung
from mci.plan.orders import Action, Order, sort_orders
from mci.plan.things import find_handlers, find_regulators
from mci.replay.judge import found_by, stand_at
from mci.units import format_moment

if TYPE_CHECKING:
    from mci.demand.people import Person
    from mci.drills.result import Drill, Event
    from mci.replay.standing import Standing
    from mci.replay.verdict import Finding
    from mci.scenario.exercise import Inject
    from mci.scenario.model import Scenario

__all__ = ["SAME", "Happening", "Position", "Session", "is_on"]

#: Moments closer than this are one [min], as in replay.
SAME = 1e-5
_Key = TypeVar("_Key")
_Value = TypeVar("_Value")
_KEPT = 6
_OFTEN = "by order of the team"
_ROW = re.compile(r"order \d+ keeps")


@dataclass(frozen=True, slots=True)
class Position:
    """Where a table-top stands: the moment [min] and the orders so far, those under way among them."""

    clock: float = 0.0
    orders: tuple[Order, ...] = ()


@dataclass(frozen=True, slots=True)
class Happening:
    """Something that happens by itself at a moment [min]: one of these.

    Parameters
    ----------
    event
        Of the master scenario events list.
    done
        A change of cylinder that is done.
    leaves
        Who leaves an area, and ``to`` where; empty where the patient leaves altogether.
    """

    minute: float
    event: Event | None = None
    done: Order | None = None
    leaves: Person | None = None
    to: str = ""

    @property
    def stops(self) -> bool:
        """Whether time stops there: players are told of an inject."""
        inject = self.event.inject if self.event is not None else None
        return inject is not None and abs(inject.at - self.minute) <= SAME


class Session:
    """A drill as it is played.

    Attributes
    ----------
    actual, briefed
        The incident as it happens, and as players were told it.
    names
        What words can mean.
    people
        Every patient, by name.
    """

    def __init__(self, drill: Drill) -> None:
        self.actual: Scenario = drill.actual
        self.briefed: Scenario = drill.briefed
        self.names = Names(drill.actual)
        self.people = {person.key: person for person in name_people(drill.actual)}
        self._events = [event for event in drill.events if not event.contingency]
        self.injects: tuple[Inject, ...] = tuple(
            dict.fromkeys(event.inject for event in drill.events if event.inject is not None)
        )
        self._known: dict[int, Scenario] = {}
        self._found: dict[tuple[tuple[Order, ...], float], list[tuple[object, Finding]]] = {}
        self._stood: dict[Position, Standing] = {}
        self._shifts = find_handlers(drill.actual)

    # --- what is known -----------------------------------------------------------------------

    def known(self, clock: float) -> Scenario:
        """Return the incident as far as players have been told by a moment."""
        told = tuple(inject for inject in self.injects if inject.at <= clock + SAME)
        if len(told) not in self._known:
            self._known[len(told)] = happened(self.briefed, told)
        return self._known[len(told)]

    def stand(self, position: Position) -> Standing:
        """Tell how things stand."""
        known = self._stood.get(position)
        if known is None:
            known = stand_at(self.actual, position.orders, position.clock)
            _remember(self._stood, position, known)
        return known

    def here(self, clock: float) -> list[Person]:
        """Return who is there at a moment, by arrival."""
        present = [person for person in self.people.values() if person.stay_at(clock + SAME) is not None]
        return sorted(present, key=lambda person: person.arrive)

    def under_way(self, position: Position) -> list[Order]:
        """Return the changes of cylinder that have begun and are not done."""
        return [order for order in position.orders if order.minute > position.clock + SAME]

    # --- orders ------------------------------------------------------------------------------

    def completed(self, order: Order, position: Position) -> Order:
        """Return an order as typed with what a table-top adds: who changes, until when, on what, and why."""
        if order.action is Action.CHANGE:
            return self._with_hands(order, position)
        if order.action in (Action.CONNECT, Action.MOVE):
            return self._with_outlet(order, position)
        if order.action in (Action.STEP_DOWN, Action.SET_FLOW):
            return self._up_or_down(order, position)
        return replace(order, reason=order.reason or _OFTEN) if order.action is Action.DISCONNECT else order

    def _with_hands(self, order: Order, position: Position) -> Order:
        """Begin a change now, by the first person who is free for it; of those who are not the first is taken."""
        supply = self.names.supplies[order.supply]
        takes, by = supply.lot.change_min, order.by
        begin, end = position.clock, position.clock + takes
        if not by and takes > 0:
            shifts = [each for each in self._shifts if each.area == order.area]
            there = [each for each in shifts if each.available_from <= begin + SAME and end <= each.available_until]
            busy = {each.by for each in self.under_way(position)}
            by = next((each.key for each in there if each.key not in busy), there[0].key if there else "")
        return replace(order, minute=end, begin=begin, by=by)

    def _with_outlet(self, order: Order, position: Position) -> Order:
        """Name both cylinder and regulator where one is named and the other follows."""
        fitted = self.stand(position).fitted
        supply = order.supply or fitted.get(order.regulator, "")
        on_it = [tool for tool, cylinder in fitted.items() if cylinder == supply and tool in self.names.regulators]
        return replace(order, supply=supply, regulator=order.regulator or (on_it[-1] if supply and on_it else ""))

    def _up_or_down(self, order: Order, position: Position) -> Order:
        """Call a step down what lowers the share of the need that is met, and with its reason; all else a setting."""
        connection = self.stand(position).connected.get(order.patient)
        stay = self.people[order.patient].stay_at(position.clock + SAME)
        if connection is None or stay is None:
            return replace(order, reason=order.reason or _OFTEN)
        ladder = self.actual.ladders[stay.ladder]
        device, flow = order.device or connection.device, order.flow_lpm or connection.flow_lpm
        after, before = (
            rung.credit if rung is not None else 0.0
            for rung in (
                reached_rung(ladder, device, flow),
                reached_rung(ladder, connection.device, connection.flow_lpm),
            )
        )
        if after < before or order.action is Action.STEP_DOWN:
            return replace(order, action=Action.STEP_DOWN, reason=order.reason or _OFTEN)
        return order

    def objections(self, position: Position, orders: Sequence[Order]) -> tuple[str, ...]:
        """Return the reasons of every law that more orders, taken together, break by the time that they take effect."""
        last = max((order.minute for order in orders), default=position.clock)
        if last > self.actual.horizon + SAME:
            return (f"it would be done at {format_moment(last)}, after the end",)
        before = Counter(key for key, _ in self._findings(position.orders, last))
        tools = {order.regulator for order in orders} - {""}
        reasons = []
        for key, finding in self._findings(sort_orders([*position.orders, *orders]), last):
            if before[key] <= 0:
                reasons.append(self._reason(finding, tools, position))
            before[key] -= 1
        return tuple(dict.fromkeys(reasons))

    def _reason(self, finding: Finding, tools: Collection[str], position: Position) -> str:
        """Say why orders cannot be; of a regulator that players have not been told of no more than they would see."""
        for tool in tools if finding.law == "window" else ():
            if finding.reason.startswith(f"{tool} is there"):
                known = {each.key: each for each in find_regulators(self.known(position.clock))}
                if known.get(tool) != self.names.regulators.get(tool):
                    return f"{tool} does not seal, and no oxygen comes through it"
        return _ROW.sub("another change keeps", finding.reason)

    def _findings(self, orders: tuple[Order, ...], minute: float) -> list[tuple[object, Finding]]:
        """Return what replay objects to up to a moment, each with a key by which it is known again.

        Not its row, which shifts, nor its reason, which says when it was found out and how many watts are too many.
        """
        known = self._found.get((orders, minute))
        if known is None:
            known = [(_key(each, orders), each) for each in found_by(self.actual, orders, minute)]
            _remember(self._found, (orders, minute), known)
        return known

    # --- time --------------------------------------------------------------------------------

    def happenings(self, position: Position, to: float) -> list[Happening]:
        """Return what happens after now and up to a moment, in the order of time."""
        found = [*self._changes_done(position), *self._departures(), *(Happening(e.minute, e) for e in self._events)]
        coming = [each for each in found if position.clock + SAME < each.minute <= to + SAME]
        return sorted(coming, key=lambda each: each.minute)

    def opening(self) -> list[Happening]:
        """Return what happens at the very start."""
        return [Happening(event.minute, event) for event in self._events if event.minute <= SAME]

    def _changes_done(self, position: Position) -> Iterator[Happening]:
        return (Happening(order.minute, done=order) for order in self.under_way(position))

    def _departures(self) -> Iterator[Happening]:
        for person in self.people.values():
            for stay, after in zip(person.stays, (*person.stays[1:], None), strict=True):
                to = after.area if after is not None else ""
                if stay.end < self.actual.horizon - SAME and to != stay.area:
                    yield Happening(stay.end, leaves=person, to=to)

    def next_moment(self, position: Position) -> float:
        """Return when the next thing happens, or the end [min]."""
        coming = self.happenings(position, self.actual.horizon)
        return coming[0].minute if coming else self.actual.horizon

    def advance(self, position: Position, to: float) -> tuple[Position, list[Happening]]:
        """Let time pass up to a moment, or to the first inject before it.

        Whoever leaves an area is taken off oxygen there at that moment.
        """
        to = min(to, self.actual.horizon)
        coming = self.happenings(position, to)
        to = min([to, *(each.minute for each in coming if each.stops)])
        passed = [each for each in coming if each.minute <= to + SAME]
        orders = [*position.orders, *self._taken_off(position.orders, passed)]
        return Position(to, sort_orders(orders)), passed

    def _taken_off(self, orders: Sequence[Order], passed: Iterable[Happening]) -> Iterator[Order]:
        titles = {area.key: area.title for area in self.actual.areas}
        for each in passed:
            if each.leaves is not None and is_on(orders, each.leaves.key):
                stay = next(stay for stay in each.leaves.stays if stay.end == each.minute)
                reason = f"moves to {titles[each.to]}" if each.to else "leaves"
                yield Order(each.minute, stay.area, Action.DISCONNECT, each.leaves.key, reason=reason)


def _key(finding: Finding, orders: Sequence[Order]) -> object:
    """Return moment and law, and what is to blame: the order, or for power, which many orders use, the area."""
    minute = round(finding.minute, 6)
    if finding.law == "power":
        return minute, finding.law, finding.reason.partition(" take ")[0]
    return minute, finding.law, orders[finding.row - 1] if finding.row else None


def _remember(kept: dict[_Key, _Value], key: _Key, value: _Value) -> None:
    """Keep the last few answers: the next line mostly asks for what the last one found."""
    if len(kept) >= _KEPT:
        del kept[next(iter(kept))]
    kept[key] = value


def is_on(orders: Iterable[Order], patient: str) -> bool:
    """Tell whether a patient is connected by some orders, in the order of time."""
    last = ""
    for order in orders:
        last = order.action if order.patient == patient else last
    return last not in ("", Action.DISCONNECT)
