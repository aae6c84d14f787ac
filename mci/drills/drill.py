"""A whole drill, from a draft to everything that the packet says: read this file first."""

from __future__ import annotations

import time
from dataclasses import asdict, replace
from typing import TYPE_CHECKING

from mci.dispatch.rolling import rolling
from mci.drills.cards import make_cards
from mci.drills.decisions import find_decisions
from mci.drills.drill_notes import drill_notes
from mci.drills.events import list_events
from mci.drills.find_drill import find_drill
from mci.drills.happen import as_told
from mci.drills.objectives import default_objectives
from mci.drills.over_time import over_time
from mci.drills.result import Drill
from mci.errors import NoPlanError
from mci.plan.marks import find_marks
from mci.plan.orders import Plan
from mci.provenance import Provenance
from mci.replay.judged import Judged
from mci.scenario.exercise import Exercise
from mci.scenario.write_exercise import write_exercise
from mci.settings import Settings

if TYPE_CHECKING:
    from collections.abc import Callable

    from mci.drills.difficulty import Measured
    from mci.drills.result import Level
    from mci.scenario.draft import Draft
    from mci.scenario.model import Scenario

__all__ = ["FILE", "KEY", "run_drill"]

#: What the answer key is called beside other plans.
KEY = "best orders"
#: Name of the file that has the exercise.
FILE = "exercise.yaml"


def run_drill(
    draft: Draft,
    seed: int,
    level: Level | None = None,
    settings: Settings | None = None,
    *,
    again_every: float | None = None,
    say: Callable[[str], None] | None = None,
) -> Drill:
    """Draw a drill and find its answer key.

    Parameters
    ----------
    draft
        The scenario, with or without casualties in a few lines, injects and objectives.
    seed
        Any whole number of 0 or more; the same seed draws the same drill.
    level
        How hard it should be; without one the first draw is kept.
    settings
        How to plan; the defaults if not given.
    again_every
        How often a crew plans again that knows only what has happened [min]; ``None`` to leave it out.
    say
        Called with what is being done, in words.

    Raises
    ------
    InputError
        If the scenario has mistakes.
    UsageError
        If there is nobody to drill with.
    NoPlanError, SolverLimitError
        As for :func:`mci.lp.allocate.allocate`; also where no orders were found that can be carried out.
    """
    say, settings, clock = say or _nothing, settings or Settings(), [time.perf_counter()]
    scenario = draft.scenario()
    found = find_drill(scenario, seed, level, settings, say)
    clock.append(time.perf_counter())
    trial, measured = found.trial, found.measured
    best = _key(measured)
    own = scenario.exercise.objectives if scenario.exercise else ()
    objectives = own or default_objectives(trial.actual, best, measured.usual)
    exercise = Exercise(
        injects=trial.injects, objectives=objectives, seed=seed, difficulty=round(found.difficulty.lost, 3)
    )
    briefed = replace(trial.briefed, exercise=exercise)
    again = _again(trial.actual, briefed, again_every, settings, say)
    clock.append(time.perf_counter())
    say("decisions are measured")
    decisions = find_decisions(trial.actual, best, find_marks(briefed))
    clock.append(time.perf_counter())
    files = write_exercise(draft, briefed, exercise, file=FILE)
    return Drill(
        briefed=briefed,
        actual=trial.actual,
        seed=seed,
        casualties=make_cards(briefed, trial.actual, seed),
        events=list_events(briefed, trial.actual, trial.injects, objectives),
        objectives=objectives,
        best=best,
        again=again,
        usual=measured.usual,
        over_time=over_time(trial.actual, [best, *([again] if again else []), *measured.usual]),
        decisions=decisions,
        difficulty=found.difficulty,
        exercise_text=files[FILE],
        exercise_tables={name: text for name, text in files.items() if name != FILE},
        notes=(*found.notes, *drill_notes(trial, measured, best, objectives, scenario)),
        provenance=_provenance(scenario, settings, seed, level, again_every, measured, clock),
    )


def _nothing(words: str) -> None:
    """Say nothing."""


def _key(measured: Measured) -> Judged:
    """Return the best orders under the name of the answer key.

    Raises
    ------
    NoPlanError
        If the judge found none that can be carried out.
    """
    best = measured.best
    if not best.verdict.validity:
        raise NoPlanError(["orders for the answer key: none were found that the judge finds valid"])
    return Judged(Plan(KEY, best.plan.orders), best.verdict)


def _again(
    actual: Scenario, briefed: Scenario, every: float | None, settings: Settings, say: Callable[[str], None]
) -> Judged | None:
    if every is None:
        return None
    say(f"a crew plans again every {every:g} min")
    injects = briefed.exercise.injects if briefed.exercise else ()
    return rolling(actual, as_told(briefed, injects), every, settings)


def _provenance(
    scenario: Scenario,
    settings: Settings,
    seed: int,
    level: Level | None,
    again_every: float | None,
    measured: Measured,
    clock: list[float],
) -> Provenance:
    outcome, whole = measured.outcome, measured.whole
    clock.append(time.perf_counter())
    return Provenance(
        scenario_file=scenario.file,
        scenario_sha256=scenario.sha256,
        settings={
            **asdict(settings),
            "seed": seed,
            "difficulty": level.value if level else None,
            "again_every": again_every,
        },
        solver={
            "name": outcome.report.solver,
            "status": outcome.status.value,
            "columns": outcome.report.columns,
            "rows": outcome.report.rows,
            "nonzeros": outcome.report.nonzeros,
            "bound_weighted_credit_min": outcome.bound,
            "whole_status": whole.status.value,
            "whole_method": whole.method,
        },
        timings={
            "find_s": clock[1] - clock[0],
            "again_s": clock[2] - clock[1],
            "decisions_s": clock[3] - clock[2],
            "write_s": clock[4] - clock[3],
        },
    )
