"""Where, when and for whom a plan that can be carried out runs short: whole patients, from the judge's trace.

What lasts less than a minute (a second without oxygen while a cylinder is changed, say) is a blip and no shortage,
and a better minute that is not whole does not end one.  This is done twice, with the same :data:`SHORTEST`:

1. Patient by patient.  Stretches below target that lie less than a minute apart are joined, and then those shorter
   than a minute are dropped; likewise stretches without oxygen.  Joining comes first, so that a patient who is served
   now and then for seconds counts as short throughout.
2. Area by area and category by category.  Windows less than a minute apart are joined where they say the same (somebody
   without oxygen, or nobody), and a window shorter than a minute is joined to its neighbour.

So every window lasts a minute or more.  The most patients of a window are counted without blips; its patient-minutes
are those of the trace as it is, to the second, and blips outside all windows are in no window.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from mci.demand.people import name_people
from mci.resupply.shortage import NOBODY, shortage_windows
from mci.scenario.model import CATEGORIES

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence

    from mci.demand.people import Person
    from mci.replay.verdict import Service
    from mci.scenario.model import Scenario

__all__ = ["SHORTEST", "plan_shortage", "plan_windows"]

#: What lasts less than this is a blip [min].
SHORTEST = 1.0
#: Shorter than this is no time at all [min].
_INSTANT = 1e-6

Stretch = tuple[float, float]  # begin and end [min]
Place = tuple[str, str]  # area and category


def plan_windows(scenario: Scenario, services: Iterable[Service], shortest: float = SHORTEST) -> pd.DataFrame:
    """Return the shortage windows of a plan, with the columns of :func:`mci.resupply.shortage.shortage_windows`.

    Parameters
    ----------
    services
        Who got what, from :class:`mci.replay.verdict.Verdict`.
    shortest
        What lasts less is a blip [min].
    """
    services = tuple(services)
    below, without = _by_place(scenario, services)
    windows = _join(shortage_windows(plan_shortage(scenario, services, shortest)), shortest)
    for number, row in windows.iterrows():
        place, stretch = (row["area"], row["category"]), (row["start_min"], row["end_min"])
        dry = _minutes_within(without[place], stretch)
        windows.loc[number, "without_patient_min"] = dry
        windows.loc[number, "below_patient_min"] = _minutes_within(below[place], stretch) - dry
    return windows


def plan_shortage(scenario: Scenario, services: Iterable[Service], shortest: float = SHORTEST) -> pd.DataFrame:
    """Return how many are short per area, category and stretch of time in which nobody's lot changes, without blips.

    The columns ``area, category, start_min, end_min, below_target`` (on a lower rung) and ``without`` are those of
    the run's ``over_time``.
    """
    below, without = _by_place(scenario, services)
    rank = {area.key: number for number, area in enumerate(scenario.areas)}
    rows = []
    for place in sorted(below, key=lambda place: (rank[place[0]], CATEGORIES.index(place[1]))):
        short = [each for person in below[place] for each in _settle(person, shortest)]
        dry = [each for person in without[place] for each in _settle(person, shortest)]
        edges = sorted({moment for stretch in (*short, *dry) for moment in stretch})
        for start, end, low, none in zip(edges, edges[1:], _count(short, edges), _count(dry, edges), strict=False):
            rows.append((*place, start, end, float(low - none), float(none)))
    names = ["area", "category", "start_min", "end_min", "below_target", "without"]
    return pd.DataFrame(rows, columns=names)


def _by_place(
    scenario: Scenario, services: Iterable[Service]
) -> tuple[dict[Place, list[list[Stretch]]], dict[Place, list[list[Stretch]]]]:
    """Return, for each place, when each patient is below target and when without oxygen (which is below target too)."""
    got: dict[str, list[Service]] = defaultdict(list)
    for each in services:
        got[each.patient].append(each)
    below: dict[Place, list[list[Stretch]]] = defaultdict(list)
    without: dict[Place, list[list[Stretch]]] = defaultdict(list)
    for person in name_people(scenario):
        for place, stretch in _whereabouts(person):
            below[place].append(_rest(stretch, (each for each in got[person.key] if each.at_target)))
            without[place].append(_rest(stretch, got[person.key]))
    return below, without


def _whereabouts(person: Person) -> Iterator[tuple[Place, Stretch]]:
    """Say where and in which category a patient is from when to when, whatever else changes."""
    for place, stays in itertools.groupby(person.stays, key=lambda stay: (stay.area, stay.category)):
        there = list(stays)
        yield place, (there[0].start, there[-1].end)


def _rest(stretch: Stretch, services: Iterable[Service]) -> list[Stretch]:
    """Return what services leave of a stretch."""
    rest, now = [], stretch[0]
    for each in sorted(services, key=lambda each: each.start):
        if min(each.start, stretch[1]) > now + _INSTANT:
            rest.append((now, min(each.start, stretch[1])))
        now = max(now, each.end)
    if stretch[1] > now + _INSTANT:
        rest.append((now, stretch[1]))
    return rest


def _settle(stretches: Sequence[Stretch], shortest: float) -> list[Stretch]:
    """Join what lies less than ``shortest`` apart, then drop what is shorter than that."""
    joined: list[Stretch] = []
    for begin, end in stretches:
        if joined and begin - joined[-1][1] < shortest - _INSTANT:
            joined[-1] = (joined[-1][0], end)
        else:
            joined.append((begin, end))
    return [(begin, end) for begin, end in joined if end - begin >= shortest - _INSTANT]


def _count(stretches: Sequence[Stretch], edges: Sequence[float]) -> list[int]:
    """Count, from each edge to the next, the stretches that lie over it."""
    steps = np.zeros(len(edges), dtype=int)
    if stretches:
        begins, ends = zip(*stretches, strict=True)
        np.add.at(steps, np.searchsorted(edges, begins), 1)
        np.add.at(steps, np.searchsorted(edges, ends), -1)
    counts: list[int] = np.cumsum(steps).tolist()
    return counts


def _join(windows: pd.DataFrame, shortest: float) -> pd.DataFrame:
    """Join windows of one place that a blip tears apart, and blips to their neighbours."""
    joined: list[dict[Hashable, Any]] = []
    for row in windows.to_dict("records"):
        last = joined[-1] if joined else None
        if last is not None and _belongs(last, row, shortest):
            last["end_min"] = row["end_min"]
            for most in ("most_below_target", "most_without"):
                last[most] = max(last[most], row[most])
        else:
            joined.append(row)
    return pd.DataFrame(joined, columns=windows.columns)


def _belongs(last: Mapping[Hashable, Any], row: Mapping[Hashable, Any], shortest: float) -> bool:
    """Tell whether two windows that follow each other are one."""
    same_place = (last["area"], last["category"]) == (row["area"], row["category"])
    if not same_place or row["start_min"] - last["end_min"] >= shortest - _INSTANT:
        return False
    alike = (last["most_without"] > NOBODY) == (row["most_without"] > NOBODY)
    shorter = min(float(each["end_min"] - each["start_min"]) for each in (last, row))
    return alike or shorter < shortest - _INSTANT


def _minutes_within(people: Iterable[Iterable[Stretch]], stretch: Stretch) -> float:
    """Return the patient-minutes that lie in a stretch."""
    return sum(
        max(0.0, min(end, stretch[1]) - max(begin, stretch[0])) for stretches in people for begin, end in stretches
    )
