"""People: every patient by name, with the stays of each.

The programme counts patients; orders and their judge need them one by one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from mci.demand.stays import Stay, find_stays
from mci.scenario.model import Scenario

__all__ = ["Person", "name_people"]


@dataclass(frozen=True, slots=True)
class Person:
    """One patient.

    Parameters
    ----------
    key
        Name used in orders: that of the patient, or of the batch and a number, each used once.
    stays
        Stays of this patient alone (their ``count`` is 1), in the order of time, without a gap.
    """

    key: str
    stays: tuple[Stay, ...]

    @property
    def arrive(self) -> float:
        """When the patient comes [min]."""
        return self.stays[0].start

    @property
    def leave(self) -> float:
        """When the patient leaves, or the horizon [min]."""
        return self.stays[-1].end

    def stay_at(self, minute: float) -> Stay | None:
        """Return the stay at a moment (from its start to before its end), if the patient is there."""
        return next((stay for stay in self.stays if stay.start <= minute < stay.end), None)


def _courses(scenario: Scenario) -> Iterator[list[Stay]]:
    course: list[Stay] = []
    for stay in find_stays(scenario):
        if course and not stay.continues:
            yield course
            course = []
        course.append(stay)
    if course:
        yield course


def name_people(scenario: Scenario) -> tuple[Person, ...]:
    """Name every patient who arrives before the horizon, in the order of the scenario and of arrival."""
    counts: dict[str, int] = {}
    for patients in scenario.patients:
        counts[patients.label] = counts.get(patients.label, 0) + patients.count
    taken: dict[str, int] = {}
    people = []
    for course in _courses(scenario):
        for _ in range(course[0].count):
            label = course[0].label
            taken[label] = taken.get(label, 0) + 1
            key = label if counts[label] == 1 else f"{label} {taken[label]}"
            people.append(Person(key, tuple(replace(stay, count=1) for stay in course)))
    return tuple(people)
