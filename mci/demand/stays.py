"""Stays: who is in which area on which ladder from when to when.

A patient is a sequence of stays, so that need may change over time.  Patients of a batch that
arrive together stay together and are one row with a count.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain

from mci.demand.arrivals import cohorts
from mci.scenario.model import Patients, Scenario

__all__ = ["Stay", "find_stays"]


@dataclass(frozen=True, slots=True)
class Stay:
    """A number of alike patients in one area, on one ladder, from ``start`` to ``end`` [min].

    ``continues`` says that they come from another stay (moved, or need changed) and did not
    just arrive.
    """

    label: str
    count: int
    area: str
    category: str
    ladder: str
    start: float
    end: float
    continues: bool


def _course(patients: Patients, arrive: float, count: int, horizon: float) -> Iterator[Stay]:
    leave = min(arrive + patients.stay, patients.leave, horizon)
    begins = [arrive + spell.after for spell in patients.course]
    for number, (spell, start, end) in enumerate(zip(patients.course, begins, [*begins[1:], leave], strict=True)):
        if start < min(end, leave):
            yield Stay(
                label=patients.label,
                count=count,
                area=spell.area,
                category=spell.category,
                ladder=spell.ladder,
                start=start,
                end=min(end, leave),
                continues=number > 0,
            )


def find_stays(scenario: Scenario) -> tuple[Stay, ...]:
    """Return every stay of the incident that begins before the horizon."""
    return tuple(
        chain.from_iterable(
            _course(patients, float(moment), int(count), scenario.horizon)
            for patients in scenario.patients
            for moment, count in zip(*cohorts(patients.arrival, patients.count), strict=True)
        )
    )
