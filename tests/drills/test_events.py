"""The master scenario events list has everything once, in the order of time, and says whom it serves."""

from __future__ import annotations

import functools
import math
from dataclasses import replace

from small_exercise import read_court

from mci.demand.people import name_people
from mci.drills.draw_casualties import draw_casualties
from mci.drills.draw_injects import draw_injects
from mci.drills.events import CONTINGENCY, list_events
from mci.drills.happen import happened
from mci.drills.inject_words import inject_words
from mci.drills.result import Event
from mci.plan.marks import find_marks
from mci.plan.things import find_regulators
from mci.scenario.exercise import Inject, InjectKind, Measure
from mci.scenario.model import Scenario
from mci.scenario.objective_words import make_objective

OBJECTIVES = (
    make_objective(1, Measure.ON_OXYGEN, category="immediate", minutes=5, share=0.9),
    make_objective(2, Measure.STEPPED_UP, minutes=5, share=1),
    make_objective(3, Measure.COVERAGE, category="delayed", share=0.9),
    make_objective(4, Measure.EMPTY, minutes=2),
)


@functools.cache
def _made(seed: int = 3) -> tuple[Scenario, Scenario, tuple[Inject, ...], tuple[Event, ...]]:
    court = read_court()
    briefed = replace(court, patients=draw_casualties(court, seed))
    injects = draw_injects(briefed, seed, 12)
    actual = happened(briefed, injects)
    return briefed, actual, injects, list_events(briefed, actual, injects, OBJECTIVES)


def _is_told(event: Event) -> bool:
    """Tell whether players are told of an inject then."""
    return event.inject is not None and not event.contingency and event.minute == event.inject.at


def test_rows_are_in_order() -> None:
    """Numbered from 1 in the order of time, from the start to the end of the exercise."""
    for seed in range(5):
        _, actual, _, events = _made(seed)
        assert [event.number for event in events] == list(range(1, len(events) + 1))
        assert [event.minute for event in events] == sorted(event.minute for event in events)
        assert events[0].what.startswith("Start of the exercise")
        assert events[-1].what.startswith("End of the exercise")
        assert events[-1].minute == actual.horizon
        assert all(
            event.what and event.sender and event.receiver and event.means and event.expected for event in events
        )


def test_everybody_arrives_once() -> None:
    """Each patient is handed over once, at the moment of arrival, also those of a second wave."""
    _, actual, _, events = _made()
    arrivals = [event for event in events if "hand over the casualty card" in event.what]
    told = [
        (name, event.minute)
        for event in arrivals
        for name in event.what.partition(" arrive")[0].split(", ")
    ]  # fmt: skip
    assert sorted(told) == sorted((person.key, person.arrive) for person in name_people(actual))
    assert all(event.inject is None for event in arrivals)


def test_injects_are_told_once_and_followed_up() -> None:
    """Each inject has one row at its moment and, some minutes later, what a controller says if nothing has happened."""
    for seed in range(5):
        _, actual, injects, events = _made(seed)
        told = [event for event in events if event.inject is not None and _is_told(event)]
        later = [event for event in events if event.contingency]
        assert sorted(event.minute for event in told) == [inject.at for inject in injects]
        assert {id(event.inject) for event in told} == {id(inject) for inject in injects}
        follow = [inject.at + CONTINGENCY for inject in injects if inject.at + CONTINGENCY < actual.horizon]
        assert [event.minute for event in later] == follow


def test_things_are_called_as_on_paper() -> None:
    """A thing in an inject has its mark and its name; every kind of inject has words of its own."""
    briefed, _, injects, events = _made()
    marks = find_marks(briefed)
    words = {event.inject.kind: event.what for event in events if event.inject and _is_told(event)}
    assert len(set(words.values())) == len(words) == len(InjectKind)
    for event in events:
        if event.inject and not event.contingency and event.inject.thing in marks.by_name:
            assert f"{marks.of(event.inject.thing)} ({event.inject.thing})" in event.what
    assert len(injects) == 12


def test_deliveries_come_when_they_come() -> None:
    """A delivery has one row, when it really arrives, with everything that it brings."""
    court = read_court()
    late = Inject(InjectKind.DELIVERY_LATE, 20, "court", "van", minutes=17)
    events = list_events(court, happened(court, [late]), [late], OBJECTIVES)
    (arrives,) = [event for event in events if event.what.startswith("The delivery 'van' arrives")]
    assert arrives.minute == 47
    assert "2 x US D aluminium" in arrives.what


def test_objectives_are_those_that_it_serves() -> None:
    """Keys are those of objectives; an arrival of a Delayed patient does not serve an objective of Immediate ones."""
    _, actual, _, events = _made()
    first = {person.key: person.stays[0].category for person in name_people(actual)}
    for event in events:
        assert set(event.objectives) <= {each.key for each in OBJECTIVES}
        if "hand over the casualty card" in event.what:
            here = {first[name] for name in event.what.partition(" arrive")[0].split(", ")}
            assert ("O1" in event.objectives) == ("immediate" in here)
            assert ("O3" in event.objectives) == ("delayed" in here)
        if event.inject is not None and event.inject.kind is InjectKind.PATIENT_WORSENS:
            assert "O2" in event.objectives


def test_power_that_does_not_come_back() -> None:
    """Players are not told how long a failure lasts, only where it lasts to the end."""
    court = read_court()
    for minutes, words in ((20.0, "It is not known for how long."), (math.inf, "It will not come back.")):
        fails = Inject(InjectKind.POWER_FAILS, 20, "court", minutes=minutes)
        events = list_events(court, happened(court, [fails]), [fails], OBJECTIVES)
        assert words in next(event.what for event in events if event.inject is fails)


def test_nobody_hears_beforehand_when_it_is_over() -> None:
    """A washer that is found and power that comes back are rows of their own; before that no row says when."""
    court = read_court()
    (tool, *_) = find_regulators(court)
    washer = Inject(InjectKind.WRONG_WASHER, 5, "court", tool.key, minutes=13)
    fails = Inject(InjectKind.POWER_FAILS, 20, "court", minutes=17)
    for inject, words in ((washer, "it seals now"), (fails, "The power is back")):
        events = list_events(court, happened(court, [inject]), [inject], OBJECTIVES)
        (over,) = [event for event in events if words in event.what]
        assert over.minute == inject.at + inject.minutes
        assert over.inject is inject
        assert not any(f"{inject.minutes:g}" in event.what for event in events if event.minute < over.minute)


def test_a_category_is_told_only_where_it_changes() -> None:
    """Who is Immediate already and needs more is not called Immediate now, as if it were new."""
    court = read_court()
    briefed = replace(court, patients=draw_casualties(court, 3))
    for person in name_people(briefed):
        (stay, *_) = person.stays
        at = (stay.start + stay.end) / 2
        for category in ("delayed", "immediate"):
            worse = Inject(InjectKind.PATIENT_WORSENS, at, "court", person.key, category=category, ladder="high need")
            words = inject_words(worse, happened(briefed, [worse]), find_marks(briefed))
            assert (f"now {category.capitalize()}" in words) == (stay.category != category)
            assert "prescribed is now" in words
