"""The judge: any orders carried out again on the scenario, by physics and arithmetic alone.

Nothing comes from the programme or from whoever made the orders, so a plan, usual practice and a team's
log from a drill are judged alike.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from mci.demand.people import name_people
from mci.plan.orders import Action, Order, sort_orders
from mci.replay.carry_out import carry_out, end_stay
from mci.replay.floor import TOLERANCE, Floor, Head, Tank, Touched
from mci.replay.laws_moment import judge_end, judge_moment, judge_power, judge_regulator, judge_window
from mci.replay.score import coverage_table, weighted_coverage
from mci.replay.standing import describe
from mci.replay.verdict import Finding, Verdict, validity_of

if TYPE_CHECKING:
    from mci.demand.people import Person
    from mci.replay.standing import Standing
    from mci.scenario.model import Scenario

__all__ = ["found_by", "replay", "stand_at"]

_RANK = {action: rank for rank, action in enumerate(Action)}


@dataclass(slots=True)
class _Moment:
    """What happens at one moment: orders by row, stays that end, what goes, areas where the power changes."""

    minute: float
    orders: list[tuple[int, Order]] = field(default_factory=list)
    patients: list[str] = field(default_factory=list)
    tanks: list[Tank] = field(default_factory=list)
    heads: list[Head] = field(default_factory=list)
    areas: list[str] = field(default_factory=list)


def replay(scenario: Scenario, orders: Sequence[Order]) -> Verdict:
    """Carry orders out on a scenario, minute by minute, and judge them by every law.

    Orders that come after the horizon are not looked at.  An order that breaks a law is reported and, where it
    still makes sense, carried out all the same; a supply that runs dry gives nothing from then on.

    Parameters
    ----------
    scenario
        The incident.
    orders
        In any order; findings count them from 1 in the order of time (:func:`mci.plan.orders.sort_orders`).
    """
    judgement = _Judgement(scenario, orders)
    judgement.run()
    floor = judgement.floor
    floor.finish(scenario.horizon)
    judge_end(floor)
    return _verdict(floor, judgement.people)


def stand_at(scenario: Scenario, orders: Sequence[Order], minute: float) -> Standing:
    """Carry orders out up to a moment, as :func:`replay` does; tell how things stand just after those of the moment.

    Parameters
    ----------
    scenario, orders
        As for :func:`replay`.
    minute
        The moment [min]; before the start it is 0, after the horizon it is the horizon.

    Notes
    -----
    A change of cylinder takes effect when it is done.  One that has begun but is not done is not carried out: who
    goes on from there drops it, and whoever began it is free again.  :attr:`Standing.busy` and
    :attr:`Standing.begun` tell of it all the same.
    """
    asked = min(max(minute, 0.0), scenario.horizon)
    judgement = _Judgement(scenario, orders)
    last = judgement.run(asked)
    return describe(judgement.floor, min(max(asked, last), scenario.horizon), judgement.done, judgement.open_orders())


def found_by(scenario: Scenario, orders: Sequence[Order], minute: float) -> tuple[Finding, ...]:
    """Return what :func:`replay` finds up to a moment [min], without looking further: offences in the order of time."""
    judgement = _Judgement(scenario, orders)
    judgement.run(minute)
    for tank in judgement.floor.tanks.values():
        judgement.floor.settle(tank, min(minute, scenario.horizon))
    offences = (each for each in judgement.floor.findings if each.judged and each.minute <= minute + TOLERANCE)
    return tuple(sorted(offences, key=_place))


class _Judgement:
    """Orders being carried out, moment by moment.

    Attributes
    ----------
    done
        Orders of the moments that have passed.
    """

    def __init__(self, scenario: Scenario, orders: Sequence[Order]) -> None:
        self.people = name_people(scenario)
        self.floor = Floor(scenario, {person.key: person for person in self.people})
        self.done: list[Order] = []
        self._rows = list(enumerate(sort_orders(list(orders)), start=1))

    def run(self, until: float = math.inf) -> float:
        """Let all moments pass up to one [min]; return the last of them."""
        following, last = _Following(self._rows), 0.0
        for moment in _moments(self.floor, self.people, self._rows):
            if moment.minute > until + TOLERANCE:
                break
            self._pass(moment, following)
            last = moment.minute
        return last

    def _pass(self, moment: _Moment, following: _Following) -> None:
        floor = self.floor
        self.done.extend(order for _, order in moment.orders)
        for row, order in sorted(moment.orders, key=lambda pair: (_RANK[pair[1].action], pair[0])):
            carry_out(floor, order, row, moment.minute)
        for patient in moment.patients:
            end_stay(floor, patient, moment.minute, following.after(patient, len(self.done)))
        for tank in moment.tanks:
            judge_window(floor, tank, moment.minute)
        for head in moment.heads:
            judge_regulator(floor, head, moment.minute)
        judge_moment(floor, moment.minute)
        for area in moment.areas:
            judge_power(floor, area, floor.last_machine.get(area, 0), moment.minute)
        floor.touched = Touched()

    def open_orders(self) -> list[Order]:
        """Return the orders of later moments."""
        return [order for _, order in self._rows[len(self.done) :]]


class _Following:
    """The orders for each patient, to find the next one."""

    def __init__(self, rows: Iterable[tuple[int, Order]]) -> None:
        self._rows: dict[str, list[tuple[int, Order]]] = {}
        for row, order in rows:
            self._rows.setdefault(order.patient, []).append((row, order))

    def after(self, patient: str, row: int) -> tuple[int, Order] | None:
        """Return the first order for a patient after a row."""
        return next((pair for pair in self._rows.get(patient, []) if pair[0] > row), None)


def _moments(floor: Floor, people: Sequence[Person], rows: Sequence[tuple[int, Order]]) -> Iterator[_Moment]:
    """Yield in time whatever happens up to the horizon; what lies within the tolerance is one moment."""
    scenario = floor.scenario
    found = [_Moment(order.minute, orders=[(row, order)]) for row, order in rows]
    inside = scenario.horizon - TOLERANCE  # at the horizon itself nobody needs to be disconnected, whatever ends then
    found += [_Moment(stay.end, patients=[each.key]) for each in people for stay in each.stays if stay.end < inside]
    ends = [_Moment(tank.supply.lot.available_until, tanks=[tank]) for tank in floor.tanks.values()]
    ends += [_Moment(head.available_until, heads=[head]) for head in floor.heads.values()]
    for supply in scenario.power:
        ends += [_Moment(minute, areas=[supply.area]) for minute in (supply.available_from, supply.available_until)]
    found += [moment for moment in ends if moment.minute < inside]
    found.sort(key=lambda moment: moment.minute)
    now: _Moment | None = None
    for each in found:
        if each.minute > scenario.horizon + TOLERANCE:
            break
        if now is not None and each.minute - now.minute <= TOLERANCE:
            now.orders += each.orders
            now.patients += each.patients
            now.tanks += each.tanks
            now.heads += each.heads
            now.areas += each.areas
            continue
        if now is not None:
            yield now
        now = each
    if now is not None:
        yield now


def _verdict(floor: Floor, people: Sequence[Person]) -> Verdict:
    offences = sorted((each for each in floor.findings if each.judged), key=_place)
    open_questions = sorted((each for each in floor.findings if not each.judged), key=_place)
    return Verdict(
        validity=validity_of(floor.findings),
        findings=(*offences, *open_questions),
        services=tuple(sorted(floor.services, key=lambda each: (each.start, each.patient))),
        holdings=tuple(sorted(floor.holdings, key=lambda each: (each.start, each.supply))),
        left={key: max(tank.litres, 0.0) for key, tank in floor.tanks.items() if math.isfinite(tank.litres)},
        weighted=weighted_coverage(floor.services, floor.scenario.weights),
        coverage=coverage_table(people, floor.services),
    )


def _place(finding: Finding) -> tuple[float, int]:
    return finding.minute, finding.row
