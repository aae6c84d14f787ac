"""The master scenario events list: what players see or are told when, from whom, and what is expected of them."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from mci.demand.people import name_people
from mci.drills.inject_words import contingency_words, end_words, expected_words, inject_words, told_by
from mci.drills.result import Event
from mci.plan.marks import find_marks
from mci.scenario.exercise import InjectKind, Measure
from mci.units import format_moment

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from mci.demand.people import Person
    from mci.scenario.exercise import Inject, Objective
    from mci.scenario.model import Scenario

__all__ = ["CONTINGENCY", "list_events"]

#: How long a controller waits before saying more [min].  Assumption.
CONTINGENCY = 8.0
#: Who says what, in roles.
CONTROLLER, FACILITATOR, EVERYBODY, CREW = "controller", "facilitator", "all players", "transport crew"
#: What an inject shows, by kind.
_SHOWS = {
    InjectKind.REGULATOR_LEAKS: (Measure.EMPTY, Measure.COVERAGE),
    InjectKind.CYLINDER_LOW: (Measure.EMPTY,),
    InjectKind.WRONG_WASHER: (Measure.ON_OXYGEN, Measure.COVERAGE),
    InjectKind.DELIVERY_LATE: (Measure.COVERAGE, Measure.WITHOUT),
    InjectKind.SECOND_WAVE: (Measure.ON_OXYGEN, Measure.COVERAGE),
    InjectKind.POWER_FAILS: (Measure.EMPTY, Measure.COVERAGE),
    InjectKind.PATIENT_WORSENS: (Measure.STEPPED_UP, Measure.COVERAGE),
    InjectKind.AREA_MOVES: (Measure.EMPTY, Measure.COVERAGE),
}


@dataclass(frozen=True, slots=True)
class _List:
    """What events are made from."""

    briefed: Scenario
    actual: Scenario
    injects: Sequence[Inject]
    objectives: Sequence[Objective]

    def lead(self, area: str) -> str:
        """Say who is told at an area."""
        title = next((each.title for each in self.actual.areas if each.key == area), area)
        return f"lead, {title}"

    def keys(self, measures: Iterable[Measure], categories: Iterable[str] = ()) -> tuple[str, ...]:
        """Return the objectives of some measures, about everybody or one of some categories."""
        wanted, whose = frozenset(measures), frozenset(categories)
        return tuple(
            each.key
            for each in self.objectives
            if each.measure in wanted and (not whose or not each.category or each.category in whose)
        )


def list_events(
    briefed: Scenario, actual: Scenario, injects: Sequence[Inject], objectives: Sequence[Objective]
) -> tuple[Event, ...]:
    """Return every event in the order of time, numbered from 1.

    Start, arrivals (one row per moment and area), deliveries, changes that are announced, injects with what the
    controller says where nothing happens and with what ends them, and the end.
    """
    made = _List(briefed, actual, injects, objectives)
    found = [
        _start(made),
        *_deliveries(made),
        *_injects(made),
        *_ends(made),
        *_arrivals(made),
        *_changes(made),
        *_contingencies(made),
        _end(made),
    ]
    found = [each for each in found if each.minute <= actual.horizon]
    found.sort(key=lambda event: event.minute)  # what is at the same moment stays in the order above
    return tuple(replace(event, number=number) for number, event in enumerate(found, start=1))


def _start(made: _List) -> Event:
    what = f"Start of the exercise. {made.briefed.name}. {made.briefed.summary}".strip()
    expected = "Lay out cylinders, regulators and devices; name who changes cylinders; make the first ones ready."
    return Event(0, 0.0, what, FACILITATOR, EVERYBODY, "in person", expected, ())


def _end(made: _List) -> Event:
    what = "End of the exercise. Stop where you are; leave gauges and flows as they are until they are read."
    expected = "Hand the log to the evaluator; stay for the debrief."
    return Event(0, made.actual.horizon, what, FACILITATOR, EVERYBODY, "in person", expected, ())


def _arrivals(made: _List) -> Iterator[Event]:
    groups: dict[tuple[float, str], list[Person]] = {}
    for person in name_people(made.actual):
        groups.setdefault((person.arrive, person.stays[0].area), []).append(person)
    for (minute, area), people in sorted(groups.items(), key=lambda pair: pair[0]):
        categories = {person.stays[0].category for person in people}
        names = ", ".join(person.key for person in people)
        yield Event(
            number=0,
            minute=minute,
            what=f"{names} {'arrive' if len(people) > 1 else 'arrives'}; hand over the casualty card.",
            sender=CREW,
            receiver=made.lead(area),
            means="casualty card",
            expected="Read the card, decide who comes first, put on oxygen with what is free, write it into the log.",
            objectives=made.keys((Measure.ON_OXYGEN, Measure.COVERAGE), categories),
        )


def _changes(made: _List) -> Iterator[Event]:
    """Changes of need or area that players were told beforehand."""
    told = {inject.thing for inject in made.injects if inject.kind is InjectKind.PATIENT_WORSENS}
    for person in name_people(made.actual):
        for before, after in itertools.pairwise(person.stays):
            if person.key in told:
                continue
            if before.area != after.area:
                what = f"{person.key} is moved to {made.lead(after.area).removeprefix('lead of ')}."
                expected = "Disconnect before the move, connect again on arrival."
            else:
                what = f"{person.key} needs something else now: {made.actual.ladders[after.ladder].title}."
                expected = "Change device and flow to what is prescribed now."
            keys = made.keys((Measure.STEPPED_UP, Measure.COVERAGE), {after.category})
            yield Event(0, after.start, what, CONTROLLER, made.lead(after.area), "casualty card", expected, keys)


def _deliveries(made: _List) -> Iterator[Event]:
    scenario = made.actual
    found: dict[tuple[float, str, str], list[str]] = {}
    for lot in scenario.lots:
        if lot.delivery:
            key = (lot.available_from, lot.delivery, lot.area)
            found.setdefault(key, []).append(f"{lot.quantity} x {lot.cylinder.key if lot.cylinder else lot.label}")
    for tool in scenario.regulators:
        if tool.delivery:
            key = (tool.available_from, tool.delivery, tool.area)
            found.setdefault(key, []).append(f"{tool.quantity} x {tool.outlets.key}")
    for stock in scenario.devices:
        if stock.delivery and math.isfinite(stock.quantity):
            key = (stock.available_from, stock.delivery, stock.area)
            found.setdefault(key, []).append(f"{stock.quantity:g} x {stock.device}")
    for (minute, delivery, area), things in sorted(found.items()):
        yield Event(
            number=0,
            minute=minute,
            what=f"The delivery '{delivery}' arrives: {', '.join(things)}.",
            sender=CREW,
            receiver=made.lead(area),
            means="in person",
            expected="Read gauges, bring into service where oxygen ends first, step patients up who are below target.",
            objectives=made.keys((Measure.COVERAGE, Measure.WITHOUT)),
        )


def _injects(made: _List) -> Iterator[Event]:
    marks = find_marks(made.briefed)
    for inject in made.injects:
        sender, means = told_by(inject)
        yield Event(
            number=0,
            minute=inject.at,
            what=inject_words(inject, made.actual, marks),
            sender=sender,
            receiver=made.lead(inject.area),
            means=means,
            expected=expected_words(inject, made.actual, marks),
            objectives=made.keys(_SHOWS[inject.kind], (inject.category,) if inject.category else ()),
            inject=inject,
        )


def _ends(made: _List) -> Iterator[Event]:
    """What went wrong is over: a row of its own, so that nobody hears of it before."""
    marks = find_marks(made.briefed)
    for inject in made.injects:
        words = end_words(inject, marks)
        minute = inject.at + inject.minutes
        if words is None or not minute < made.actual.horizon:
            continue
        what, expected = words
        keys = made.keys(_SHOWS[inject.kind])
        yield Event(0, minute, what, CONTROLLER, made.lead(inject.area), "in person", expected, keys, inject=inject)


def _contingencies(made: _List) -> Iterator[Event]:
    marks = find_marks(made.briefed)
    for inject in made.injects:
        if inject.at + CONTINGENCY >= made.actual.horizon:
            continue
        words = contingency_words(inject, marks)
        yield Event(
            number=0,
            minute=inject.at + CONTINGENCY,
            what=f"Only if nothing has been done about {format_moment(inject.at)}: {words}",
            sender=CONTROLLER,
            receiver=made.lead(inject.area),
            means="in person",
            expected=expected_words(inject, made.actual, marks),
            objectives=made.keys(_SHOWS[inject.kind], (inject.category,) if inject.category else ()),
            inject=inject,
            contingency=True,
        )
