"""Care groups: stays alike in area, category and ladder, counted per period.

Interchangeable patients enter the programme as a number, not one by one, so its size depends
on areas, ladders and periods and not on how many patients there are.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from mci.demand.brought import count_brought
from mci.demand.stays import Stay, find_stays
from mci.errors import InputError, Mistake, UsageError
from mci.scenario.model import CATEGORIES, Scenario
from mci.timegrid import TimeGrid, make_grid

__all__ = ["CareGroup", "Demand", "count_demand", "sort_groups"]

Floats = npt.NDArray[np.float64]

_MOST_STEPS = 20_000  # about the minutes of 14 days, the longest plan; far more would exhaust memory


@dataclass(frozen=True, slots=True, order=True)
class CareGroup:
    """All stays alike in area, category and ladder."""

    area: str
    category: str
    ladder: str


@dataclass(frozen=True, slots=True)
class Demand:
    """Patients per care group and period.

    Parameters
    ----------
    groups
        Care groups, sorted by area, triage order and ladder.
    present
        Patients present, shape ``(groups, periods)``.
    stayers
        Of those present, how many were in the same group in the period before, same shape.
    transferred
        Of those present, how many came from another group at the start of the period (moved, or
        their need changed), same shape; they bring what they wear.
    brought
        Per area and device, how many devices patients can have brought from other areas by each
        period, shape ``(periods,)``; none where there is no entry.
    patients
        Distinct patients per category that occurs, and under ``all``.
    """

    grid: TimeGrid
    groups: tuple[CareGroup, ...]
    present: Floats
    stayers: Floats
    transferred: Floats
    brought: Mapping[tuple[str, str], Floats]
    patients: Mapping[str, int]

    def select(self, groups: Sequence[int]) -> Demand:
        """Return the same incident with some of its care groups only; ``patients`` still counts all."""
        return replace(
            self,
            groups=tuple(self.groups[number] for number in groups),
            present=self.present[groups],
            stayers=self.stayers[groups],
            transferred=self.transferred[groups],
        )


def _moments(scenario: Scenario, stays: tuple[Stay, ...]) -> Iterator[float]:
    for stay in stays:
        yield from (stay.start, stay.end)
    for windows in (scenario.lots, scenario.staff, scenario.power, scenario.regulators):
        for window in windows:
            yield from (window.available_from, window.available_until)
    yield from (stock.available_from for stock in scenario.devices)


def _count_patients(stays: tuple[Stay, ...]) -> dict[str, int]:
    """Count people, and people per category; one who changes category counts under both."""
    counts = {category: 0 for category in CATEGORIES if any(stay.category == category for stay in stays)}
    counts["all"] = 0
    before = ""
    for stay in stays:  # the stays of one course follow each other
        if not stay.continues:
            counts["all"] += stay.count
        if not stay.continues or stay.category != before:
            counts[stay.category] += stay.count
        before = stay.category
    return counts


def sort_groups(groups: Iterable[CareGroup], scenario: Scenario) -> list[CareGroup]:
    """Return care groups in the order of areas, of treatment, and of the names of ladders."""
    order = {area.key: rank for rank, area in enumerate(scenario.areas)}
    return sorted(groups, key=lambda g: (order[g.area], CATEGORIES.index(g.category), g.ladder))


def count_demand(scenario: Scenario, max_period: float = math.inf, moments: Iterable[float] = ()) -> Demand:
    """Count the patients of an incident into care groups on the exact time grid.

    Parameters
    ----------
    scenario
        The incident.
    max_period
        Longest period [min]; it only sharpens the times that are reported.
    moments
        Further breakpoints [min].

    Raises
    ------
    InputError
        If nobody ever arrives.
    UsageError
        If ``max_period`` would cut the horizon into more steps than memory can hold.
    """
    if scenario.horizon > _MOST_STEPS * max_period:
        least = math.ceil(60 * scenario.horizon / _MOST_STEPS)
        raise UsageError(f"steps of {60 * max_period:g} s are too many: for this horizon give {least} s or more")
    stays = find_stays(scenario)
    if not stays:
        rule = "no patient arrives before the end of the horizon"
        raise InputError([Mistake(rule, "Give a longer horizon or earlier arrivals", scenario.file, path="patients")])
    grid = make_grid([*_moments(scenario, stays), *moments], scenario.horizon, max_period)
    groups = sort_groups({CareGroup(stay.area, stay.category, stay.ladder) for stay in stays}, scenario)
    index = {group: number for number, group in enumerate(groups)}
    group = np.array([index[CareGroup(s.area, s.category, s.ladder)] for s in stays], dtype=np.intp)
    count = np.array([s.count for s in stays], dtype=float)
    start = grid.index([s.start for s in stays])
    end = grid.index([s.end for s in stays])
    continues = np.array([s.continues for s in stays], dtype=float)

    shape = (len(groups), grid.periods + 1)
    arriving, leaving, transferred = np.zeros(shape), np.zeros(shape), np.zeros(shape)
    np.add.at(arriving, (group, start), count)
    np.add.at(leaving, (group, end), count)
    np.add.at(transferred, (group, start), count * continues)
    present = np.cumsum(arriving - leaving, axis=1)
    return Demand(
        grid=grid,
        groups=tuple(groups),
        present=present[:, :-1],
        stayers=(present - arriving)[:, :-1],
        transferred=transferred[:, :-1],
        brought=count_brought(scenario, stays, grid),
        patients=_count_patients(stays),
    )
