"""A whole drill, from a draft to everything that the packet says: read this file first."""

from __future__ import annotations

import time
from dataclasses import asdict, replace
from types import MappingProxyType
from typing import TYPE_CHECKING

from mci.dispatch.rolling import rolling
from mci.drills.cards import make_cards
from mci.drills.decisions import find_decisions
from mci.drills.difficulty import said
from mci.drills.drill_notes import drill_notes
from mci.drills.events import list_events
from mci.drills.find_drill import find_drill
from mci.drills.happen import as_told
from mci.drills.objectives import default_objectives
from mci.drills.over_time import over_time
from mci.drills.result import Drill
from mci.errors import NoPlanError, UsageError
from mci.plan.marks import find_marks
from mci.plan.orders import Plan
from mci.provenance import Provenance
from mci.replay.judged import Judged
from mci.scenario.exercise import Exercise
from mci.scenario.model import CATEGORIES
from mci.scenario.possible import all_spells
from mci.scenario.write_exercise import write_exercise
from mci.settings import Settings

if TYPE_CHECKING:
    from collections.abc import Callable

    from mci.drills.difficulty import Measured
    from mci.drills.find_drill import Found, Trial
    from mci.drills.result import Difficulty, Level
    from mci.scenario.draft import Draft
    from mci.scenario.model import Scenario

__all__ = ["FILE", "KEY", "run_drill", "with_better_key"]

#: What the answer key is called beside other plans.
KEY = "best orders"
#: Name of the file that has the exercise.
FILE = "exercise.yaml"
#: More casualties than anybody has ever cut cards for: such a drill would be searched for hours.  Our choice.
MOST_CASUALTIES = 400


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
        If there is nobody to drill with, or more than :data:`MOST_CASUALTIES`.
    NoPlanError, SolverLimitError
        As for :func:`mci.lp.allocate.allocate`; also where no orders were found that can be carried out.
    """
    say, settings, clock = say or _nothing, settings or Settings(), [time.perf_counter()]
    scenario = draft.scenario()
    _refuse_too_many(scenario)
    found = find_drill(scenario, seed, level, settings, say)
    clock.append(time.perf_counter())
    trial = found.trial
    again = _again(trial, again_every, settings, say)
    measured, difficulty = with_better_key(found, again)
    clock.append(time.perf_counter())
    best = _key(measured)
    objectives = scenario.objectives or default_objectives(trial.actual, best, measured.usual)
    briefed = _as_written(trial, Exercise((), (), trial.injects, objectives, seed, round(difficulty.lost, 3)))
    say("decisions are measured")
    decisions = find_decisions(trial.actual, best, find_marks(briefed))
    clock.append(time.perf_counter())
    files = write_exercise(draft, briefed, briefed.exercise or Exercise(), file=FILE)
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
        difficulty=difficulty,
        exercise_text=files[FILE],
        exercise_tables={name: text for name, text in files.items() if name != FILE},
        notes=(*found.notes, *drill_notes(found, measured, objectives, scenario)),
        provenance=_provenance(scenario, settings, seed, level, again_every, measured, clock),
    )


def _refuse_too_many(scenario: Scenario) -> None:
    count = sum(batch.count for batch in scenario.patients)
    if count > MOST_CASUALTIES:
        raise UsageError(
            f"{scenario.name!r} has {count:,} patients, and a drill at most {MOST_CASUALTIES}, each with a card; "
            "drill one area or a part of it"
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


def _again(trial: Trial, every: float | None, settings: Settings, say: Callable[[str], None]) -> Judged | None:
    """Return what a crew does that plans again and again, and expects what players were told."""
    if every is None:
        return None
    say(f"a crew plans again every {every:g} min")
    return rolling(trial.actual, as_told(trial.briefed, trial.injects), every, settings)


def with_better_key(found: Found, again: Judged | None) -> tuple[Measured, Difficulty]:
    """Take the orders of the crew that plans again as the key where they do better: whole orders are hard to find."""
    measured = found.measured
    if again is None or not again.verdict.validity or again.verdict.weighted <= measured.best.verdict.weighted:
        return measured, found.difficulty
    better = replace(measured, best=again)
    return better, said(better, found.difficulty.asked, found.difficulty.tried)


def _as_written(trial: Trial, exercise: Exercise) -> Scenario:
    """Return what players are told as the file of the exercise has it: with the ladders and weights that are used."""
    briefed = trial.briefed
    spells = list(all_spells(briefed.patients, exercise))
    rules = trial.actual
    used, here = sorted({spell.ladder for spell in spells}), {spell.category for spell in spells}
    return replace(
        briefed,
        exercise=exercise,
        ladders=MappingProxyType({key: rules.ladders[key] for key in used}),
        weights=MappingProxyType({key: rules.weights[key] for key in CATEGORIES if key in here}),
        uncertainty=None,
        stocking=None,
    )


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
