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
from mci.replay.verdict import Finding, Verdict, validity_of

if TYPE_CHECKING:
    from mci.demand.people import Person
    from mci.scenario.model import Scenario

__all__ = ["replay"]

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
    people = name_people(scenario)
    floor = Floor(scenario, {person.key: person for person in people})
    rows = list(enumerate(sort_orders(list(orders)), start=1))
    following = _Following(rows)
    last = 0
    for moment in _moments(floor, people, rows):
        for row, order in sorted(moment.orders, key=lambda pair: (_RANK[pair[1].action], pair[0])):
            carry_out(floor, order, row, moment.minute)
            last = max(last, row)
        for patient in moment.patients:
            end_stay(floor, patient, moment.minute, following.after(patient, last))
        for tank in moment.tanks:
            judge_window(floor, tank, moment.minute)
        for head in moment.heads:
            judge_regulator(floor, head, moment.minute)
        judge_moment(floor, moment.minute)
        for area in moment.areas:
            judge_power(floor, area, floor.last_machine.get(area, 0), moment.minute)
        floor.touched = Touched()
    floor.finish()
    judge_end(floor)
    return _verdict(floor, people)


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
    inside = scenario.horizon - TOLERANCE  # at the horizon itself nobody needs to be disconnected
    found += [_Moment(stay.end, patients=[each.key]) for each in people for stay in each.stays if stay.end < inside]
    found += [_Moment(tank.supply.lot.available_until, tanks=[tank]) for tank in floor.tanks.values()]
    found += [_Moment(head.available_until, heads=[head]) for head in floor.heads.values()]
    for supply in scenario.power:
        found += [_Moment(minute, areas=[supply.area]) for minute in (supply.available_from, supply.available_until)]
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
