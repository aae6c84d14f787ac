"""What a designer should know of a drill, as whole sentences."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mci.demand.people import name_people
from mci.drills.difficulty import distance
from mci.drills.objectives import missed_by
from mci.lp.outcome import Status

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from mci.drills.difficulty import Measured
    from mci.drills.find_drill import Found, Trial
    from mci.replay.judged import Judged
    from mci.scenario.exercise import Objective
    from mci.scenario.model import Scenario

__all__ = ["drill_notes"]


def drill_notes(
    found: Found, measured: Measured, objectives: Sequence[Objective], scenario: Scenario
) -> tuple[str, ...]:
    """Return what a designer should know, beside what the search itself says.

    Parameters
    ----------
    found, measured
        The drill that is kept, and what it comes to with the key that is shown.
    objectives
        What is to be shown.
    scenario
        From which it was drawn.
    """
    return (
        *_who(found.trial, scenario),
        *_key(measured),
        *_better(found, measured),
        *_missed(found.trial.actual, measured.best, objectives),
        *_nothing_lost(measured),
    )


def _who(trial: Trial, scenario: Scenario) -> Iterator[str]:
    cards = len(name_people(trial.actual))
    wave = sum(len(inject.patients) for inject in trial.injects)
    more = f", {wave} of them unannounced" if wave else ""
    yield f"{cards} casualties need oxygen{more}."
    well = {label: count for label, count in trial.drawn.well.items() if count}
    if well:
        groups = {group.label: group.count for group in scenario.exercise.casualties} if scenario.exercise else {}
        told = "; ".join(f"{count} of {groups.get(label, count)} {label}" for label, count in well.items())
        yield f"{sum(well.values())} of the hurt need no oxygen and have no card ({told})."
    late = [person.key for person in name_people(trial.actual) if person.arrive > 0.9 * trial.actual.horizon]
    if late:
        yield f"{', '.join(late)} arrive in the last tenth of the exercise; little can be shown with them."


def _key(measured: Measured) -> Iterator[str]:
    yield (
        "The answer key was made with everything known beforehand, every inject too; no crew can know that much. It "
        "shows what was possible, not what had to be seen."
    )
    if measured.whole.status is not Status.OPTIMAL:
        yield (
            f"The search for the best orders was stopped by its time limit ({measured.whole.method}): another run may "
            "find another key."
        )
    bound = measured.outcome.bound
    if bound > 0 and math.isfinite(bound):
        short = max(0.0, 1 - measured.best.verdict.weighted / bound)
        yield f"The key falls {100 * short:.1f} % short of what no orders can beat."


def _better(found: Found, measured: Measured) -> Iterator[str]:
    if measured.best is found.measured.best:
        return
    yield (
        "The crew that plans again did better than the orders made at once, so its orders are the key, although it did "
        "not know what was to come."
    )
    asked = found.difficulty.asked
    if asked is not None and distance(found.measured.lost, asked) == 0 < distance(measured.lost, asked):
        yield (
            f"With that key usual practice loses {100 * measured.lost:.1f} %, no longer as a drill that is {asked}; "
            f"without it {100 * found.measured.lost:.1f} %."
        )


def _missed(actual: Scenario, best: Judged, objectives: Sequence[Objective]) -> Iterator[str]:
    for objective in missed_by(actual, best, objectives):
        yield f"Even the answer key does not reach {objective.key}: {objective.text}. Ask for less, or supply more."


def _nothing_lost(measured: Measured) -> Iterator[str]:
    if measured.lost <= 0:
        yield (
            "Usual practice loses nothing here: there is enough oxygen for everybody. Have more hurt or supply less to "
            "drill a shortage."
        )
