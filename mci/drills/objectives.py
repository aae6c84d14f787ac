"""Objectives that fit a drill, where its designer wrote none: specific, measurable, and each reached by the key."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from mci.demand.people import name_people
from mci.drills.debriefed import Status
from mci.drills.measure import reached, worsenings
from mci.scenario.exercise import Measure
from mci.scenario.objective_words import make_objective

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from mci.replay.judged import Judged
    from mci.scenario.exercise import Objective
    from mci.scenario.model import Scenario

__all__ = ["asked_share", "default_objectives", "missed_by"]

#: Limits that are tried, the strictest first: minutes, and of whom.  Assumption: what a drill may ask.
SOON = ((5.0, 0.9), (10.0, 0.9), (15.0, 0.8), (20.0, 0.5))
STEPPED = ((5.0, 1.0), (10.0, 1.0), (10.0, 0.5))
EMPTY = (2.0, 5.0, 10.0, 15.0)
#: Coverage is asked in steps of this, or of a hundredth where the key is too close to usual practice.
STEP, FINE = 0.05, 0.01
#: Categories whose coverage is asked.
COVERED = ("immediate", "delayed", "minimal")


def default_objectives(actual: Scenario, best: Judged, usual: Sequence[Judged]) -> tuple[Objective, ...]:
    """Return objectives that the key reaches, as strict as it allows, with keys ``O1``, ``O2`` and so on.

    Parameters
    ----------
    actual
        The incident as it happens.
    best, usual
        The key, and usual practice; coverage is asked halfway between.
    """
    found = []
    for strictest in _candidates(actual, best, usual):
        met = next((each for each in strictest if not missed_by(actual, best, [each])), None)
        if met is not None:
            found.append(met)
    return tuple(replace(each, key=f"O{number}") for number, each in enumerate(found, start=1))


def missed_by(actual: Scenario, judged: Judged, objectives: Sequence[Objective]) -> tuple[Objective, ...]:
    """Return the objectives that orders do not meet."""
    found = reached(actual, judged.verdict, judged.plan.orders, tuple(objectives))
    return tuple(each.objective for each in found if each.status is not Status.MET)


def _candidates(actual: Scenario, best: Judged, usual: Sequence[Judged]) -> Iterator[list[Objective]]:
    """Yield one list per objective, the strictest form first."""
    people = name_people(actual)
    categories = {stay.category for person in people for stay in person.stays}
    if "immediate" in categories:
        yield [_objective(Measure.ON_OXYGEN, "immediate", minutes, share) for minutes, share in SOON]
    if any(any(worsenings(actual, person)) for person in people):
        yield [_objective(Measure.STEPPED_UP, "", minutes, share) for minutes, share in STEPPED]
    for category in COVERED:
        if category in categories:
            yield [_objective(Measure.COVERAGE, category, share=share) for share in _shares(category, best, usual)]
    yield [_objective(Measure.EMPTY, "", minutes) for minutes in EMPTY]
    yield [_objective(Measure.LEAST_FLOW, "", 0.0)]


def _shares(category: str, best: Judged, usual: Sequence[Judged]) -> list[float]:
    """Return shares of the need to ask of a category, if any can be asked."""
    asked = asked_share(_coverage(best, category), max((_coverage(judged, category) for judged in usual), default=0.0))
    return [asked] if asked > 0 else []


def asked_share(key: float, usual: float) -> float:
    """Return a share halfway between usual practice and the key, rounded down: to a twentieth if that is still more.

    Where usual practice does better in a category than the key, it is what the key reaches, rounded down.
    """
    half = (key + min(key, usual)) / 2
    coarse = math.floor(half / STEP + 1e-9) * STEP
    fine = math.floor(half / FINE + 1e-9) * FINE
    return round(coarse if coarse > usual else fine, 2)


def _coverage(judged: Judged, category: str) -> float:
    table = judged.verdict.coverage
    mine = table[table["category"] == category]
    return float(mine["coverage"].iloc[0]) if len(mine) else 0.0


def _objective(measure: Measure, category: str, minutes: float = math.nan, share: float = math.nan) -> Objective:
    return make_objective(1, measure, category=category, minutes=minutes, share=share)
