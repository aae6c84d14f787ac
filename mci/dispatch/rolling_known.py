"""What is known of an incident while it happens: what has come and changed by now, and nothing later.

The incident as it happens is hidden in here; whoever asks is told what has happened up to a moment.  When
something that is there will end is as expected; what was expected to end by now and has not, is expected to
end when the crew plans next.  What happens is not known beforehand; the ladders, weights, reserves and the horizon are.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import TypeVar

from mci.demand.people import Person, name_people
from mci.demand.stays import Stay
from mci.scenario.model import DeviceStock, Lot, Patients, PowerSupply, RegulatorStock, Scenario, StaffShift

__all__ = ["Known", "foresee", "has_come"]

_Window = TypeVar("_Window", Lot, RegulatorStock, StaffShift, PowerSupply)
_Thing = Lot | RegulatorStock | DeviceStock | StaffShift | PowerSupply


def has_come(thing: _Thing, now: float) -> bool:
    """Tell whether something is there by a moment [min]."""
    return thing.available_from <= now + 1e-9


def foresee(person: Person, expected: Patients | None, now: float, overdue: float, horizon: float) -> Person:
    """Return a patient who has come, with the stays so far and those expected.

    Parameters
    ----------
    person
        The patient with all stays.  Only those begun by now are looked at, and of the last one whether it has ended.
    expected
        Same patient or batch as expected: how long they stay and what follows when, counted from arrival; without
        one they are expected to stay as they are to the horizon.
    now
        This moment [min].
    overdue
        When whatever should have happened by now is expected [min].
    horizon
        End of the plan [min].
    """
    begun = [stay for stay in person.stays if stay.start <= now + 1e-9]
    if begun[-1].end <= now + 1e-9:
        return replace(person, stays=tuple(begun))
    leave, later = horizon, expected.course[len(begun) :] if expected else ()
    if expected:
        leave = min(person.arrive + expected.stay, expected.leave, horizon)
    if leave <= now + 1e-9:
        leave, later = min(overdue, horizon), ()
    moments: list[float] = []
    for spell in later:
        start = person.arrive + spell.after
        moments.append(min(leave, max([start if start > now + 1e-9 else overdue, *moments])))
    stays = [*begun[:-1], replace(begun[-1], end=[*moments, leave][0])]
    for spell, (start, end) in zip(later, pairwise([*moments, leave]), strict=True):
        if start < end:
            stays.append(Stay(begun[0].label, 1, spell.area, spell.category, spell.ladder, start, end, continues=True))
    return replace(person, stays=tuple(stays))


class Known:
    """An incident as far as it is known while it happens.

    Parameters
    ----------
    actual
        The incident as it happens.
    expected
        The same incident as it was expected.
    every
        Time from one planning moment to the next [min]; the first is 0.

    Attributes
    ----------
    moments
        When something happens or is planned [min]: the crew stops there, and is told nothing of it before.
    """

    def __init__(self, actual: Scenario, expected: Scenario, every: float) -> None:
        self.expected = expected
        self.horizon = actual.horizon
        self._actual = actual
        self._every = every
        self._plans = [number * every for number in range(math.ceil(actual.horizon / every - 1e-9))]
        self._people = sorted(_with_expected(actual, expected), key=lambda pair: pair[0].arrive)
        self._of = {person.key: (person, batch) for person, batch in self._people}
        things = [*_things(actual), *_things(expected)]
        windows = {moment for thing in things for moment in (thing.available_from, _until(thing))}
        self._news = sorted({*windows, *self._plans})
        happenings = {moment for thing in _things(actual) for moment in (thing.available_from, _until(thing))}
        happenings |= {
            moment for person, _ in self._people for stay in person.stays for moment in (stay.start, stay.end)
        }
        self.moments = tuple(sorted(m for m in {*happenings, *self._plans} if 0 <= m < actual.horizon))
        self._ends = {(type(thing), thing.key): _until(thing) for thing in _things(expected)}

    def next_plan(self, now: float) -> float:
        """Return the first planning moment after now; the horizon, if there is none [min]."""
        place = bisect_right(self._plans, now + 1e-9)
        return self._plans[place] if place < len(self._plans) else self.horizon

    def news(self, now: float) -> int:
        """Return a number that changes whenever :meth:`things` may say something else."""
        return bisect_right(self._news, now + 1e-9)

    def things(self, now: float) -> Scenario:
        """Return the incident with whatever has come by now, without patients; ends as far as they are known."""
        actual = self._actual
        return replace(
            actual,
            patients=(),
            lots=self._open(actual.lots, now),
            regulators=self._open(actual.regulators, now),
            devices=tuple(stock for stock in actual.devices if has_come(stock, now)),
            staff=self._open(actual.staff, now),
            power=self._open(actual.power, now),
        )

    def _open(self, things: Iterable[_Window], now: float) -> tuple[_Window, ...]:
        return tuple(replace(each, available_until=self._end(each, now)) for each in things if has_come(each, now))

    def _end(self, thing: _Window, now: float) -> float:
        if thing.available_until <= now + 1e-9:
            return thing.available_until
        end = self._ends.get((type(thing), thing.key), math.inf)
        return end if end > now + 1e-9 else self.next_plan(now)

    def came(self, after: float, now: float) -> Iterator[Person]:
        """Yield who has come after one moment and by now."""
        for person, _ in self._people[self._come_by(after) : self._come_by(now)]:
            yield self.person(person.key, now)

    def _come_by(self, now: float) -> int:
        return bisect_right(self._people, now + 1e-9, key=lambda pair: pair[0].arrive)

    def has_met(self, label: str, now: float) -> bool:
        """Tell whether a patient of this label has come."""
        return any(person.stays[0].label == label for person, _ in self._people[: self._come_by(now)])

    def person(self, key: str, now: float) -> Person:
        """Return a patient who has come, as far as is known now."""
        person, expected = self._of[key]
        return foresee(person, expected, now, self.next_plan(now), self.horizon)

    def is_over(self, key: str, stay: Stay, now: float) -> bool:
        """Tell whether the stay of a patient who was there has ended by now."""
        found = self._of[key][0].stay_at(now + 1e-9)
        return found is None or found.start != stay.start


def _things(scenario: Scenario) -> Iterator[_Thing]:
    yield from scenario.lots
    yield from scenario.regulators
    yield from scenario.devices
    yield from scenario.staff
    yield from scenario.power


def _until(thing: _Thing) -> float:
    return math.inf if isinstance(thing, DeviceStock) else thing.available_until


def _numbered(batches: Sequence[Patients]) -> Iterator[tuple[tuple[str, int], Patients]]:
    """Yield batches with their label and how many of the same label come before."""
    seen: dict[str, int] = {}
    for batch in batches:
        seen[batch.label] = seen.get(batch.label, -1) + 1
        yield (batch.label, seen[batch.label]), batch


def _with_expected(actual: Scenario, expected: Scenario) -> Iterator[tuple[Person, Patients | None]]:
    """Yield every patient with what was expected of the patient or batch of the same label."""
    foreseen = dict(_numbered(expected.patients))
    people = iter(name_people(actual))
    for label, batch in _numbered(actual.patients):
        for _ in name_people(replace(actual, patients=(batch,))):
            yield next(people), foreseen.get(label)
