"""Whole patients: the divisible plan made whole, with its distance to the bound.

Three steps, area by area (areas share nothing), each from the answer of the one before:

1. **Rounded down.**  Serving fewer satisfies every row: connections shrink in proportion, all else stays.
   Needs no solver, so there is always an answer.
2. **The best rounding.**  An integer programme in which every number of patients is the divisible one rounded down
   or up.  It keeps the plan's order, and is small, because most numbers are whole already.
3. **The whole integer programme**, any number from 0 to all present, where the gap of all areas together is still
   above the target, until it is reached, or nothing better is left, or the time is over.

With the strict rule steps 2 and 3 serve category after category, each held before the next.

Tidiness (:func:`mci.lp.objective.tidiness`) is a tie-break: it is scaled so that the most that any plan could be
untidy costs :data:`TIDY_SHARE` of the bound, hence never more coverage than that.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from mci.lp.allocate import Allocation, Part, weighted_need
from mci.lp.care_rows import continuity
from mci.lp.extract import column_values, draw_table, service_table
from mci.lp.integer import Integer
from mci.lp.objective import LITRE_COST, tidiness
from mci.lp.outcome import Status, Whole
from mci.lp.programme import ABSENT
from mci.settings import Settings

__all__ = ["TIDY_SHARE", "Answer", "find_answers", "plan_whole", "tie_break"]

Floats = npt.NDArray[np.float64]

#: Share of the bound that tidiness may cost at most.
TIDY_SHARE = 1e-4
#: Share of the bound to which the best rounding is found: it is small, so it pays to find it well.
NEAR_GAP = 1e-4
#: Numbers of patients closer than this to a whole one are taken for whole where that fits: the solver's rounding.
ROUNDING = 1e-6
#: A row may be missed by this much, as in the solver itself.
MISSED = 1e-6
#: Numbers of patients closer than this to a whole one differ from it by arithmetic only.
NOISE = 1e-9
#: Relative amount by which an aim that is held may fall while the next is searched.
HELD = 1e-7
#: Relative amount below which nothing is missing: the solver's tolerance.
SOLVED = 1e-7

AS_IT_IS = "divisible plan, whole as it is"
DOWN = "divisible plan rounded down"
NEAR = "best rounding of the divisible plan"
FULL = "whole integer programme"


@dataclass(frozen=True, slots=True)
class Answer:
    """A part's plan with whole patients, and how it was found.

    Parameters
    ----------
    values
        Of every column; they satisfy every row.
    method
        In words.
    proven
        Whether nothing better exists, within the gap target.
    limited
        Whether the time limit stopped a search for a better one, so that another run may find another plan.
    """

    part: Part
    values: Floats
    method: str
    proven: bool = False
    limited: bool = False


def _most_missed(part: Part, values: Floats) -> float:
    """Return by how much a row of the programme is missed at most."""
    worst = 0.0
    for rows in part.built.families:
        left = np.bincount(rows.row, weights=rows.value * values[rows.column], minlength=len(rows.names)) - rows.rhs
        worst = max(worst, float(np.max(np.abs(left) if rows.equal else left, initial=0.0)))
    return worst


def _with_serve(part: Part, serve: Floats) -> Floats:
    """Return the divisible plan with other numbers of patients: connections in proportion, step-downs counted anew."""
    index, variables = part.index, part.variables
    values = part.plan.values.copy()
    columns = variables.serve
    values[columns[columns != ABSENT]] = serve[columns != ABSENT]
    before, after = (np.zeros((len(index.levels), index.grid.periods)) for _ in range(2))
    for number, option in enumerate(index.options):
        if option.level >= 0:
            before[option.level] += column_values(columns, part.plan.values)[number]
            after[option.level] += serve[number]
    share = np.divide(after, before, out=np.zeros_like(after), where=before > 0)
    for number, link in enumerate(variables.links):
        here = variables.connect[number] != ABSENT
        values[variables.connect[number][here]] *= share[link.level][here]
    return _count_step_downs(part, values)


def _count_step_downs(part: Part, values: Floats) -> Floats:
    """Set every ``worse`` to the least that its row allows."""
    worse = part.variables.worse
    values[worse[worse != ABSENT]] = 0.0
    rows = continuity(part.index, part.variables)
    left = np.bincount(rows.row, weights=rows.value * values[rows.column], minlength=len(rows.names)) - rows.rhs
    mine = np.isin(rows.column, worse)
    values[rows.column[mine]] = np.maximum(left[rows.row[mine]], 0.0)
    return values


def _served(part: Part) -> Floats:
    """Return the divisible numbers of patients, per option and period."""
    return column_values(part.variables.serve, part.plan.values)


def _rounded_down(part: Part) -> Answer:
    """Round every number of patients down; what lies just below a whole number counts as that, if it fits."""
    values = _with_serve(part, np.floor(_served(part) + ROUNDING))
    if _most_missed(part, values) > MISSED:
        values = _with_serve(part, np.floor(_served(part) + NOISE))
    return Answer(part, values, DOWN)


def _most_untidy(part: Part, costs: Floats) -> float:
    """Return a limit to what tidiness costs in any plan: everybody on every rung, stepped down in every period.

    Litres are counted where they are breathed: as many are drawn.
    """
    demand, options = part.index.demand, part.index.options
    groups = [option.group for option in options]
    flows = np.array([part.index.levels[option.level].flow if option.level >= 0 else 0.0 for option in options])
    serving = column_values(part.variables.serve, costs) + LITRE_COST * np.outer(flows, demand.grid.lengths)
    falling = column_values(part.variables.worse, costs)
    return float(np.sum(serving * demand.present[groups]) + np.sum(falling * demand.stayers[groups]))


def tie_break(part: Part) -> Floats:
    """Return tidiness, scaled to cost at most :data:`TIDY_SHARE` of the part's bound."""
    costs = tidiness(part.index, part.variables, len(part.earns))
    most = _most_untidy(part, costs)
    return costs * (TIDY_SHARE * float(part.earns @ part.best.values) / most if most > 0 else 0.0)


class _Search:
    """A part's integer programme, searched aim by aim from the answer so far."""

    def __init__(self, part: Part, settings: Settings) -> None:
        here = part.variables.serve != ABSENT
        groups = [option.group for option in part.index.options]
        self._part = part
        self._divisible = _served(part)[here]
        self._present = part.index.demand.present[groups][here]
        self._programme = Integer(part.built, part.solver, part.variables.serve[here], settings.threads)
        self._tie_break = tie_break(part)

    def near(self, answer: Answer, gap: float, deadline: float) -> Answer:
        """Find the best rounding."""
        lower = np.floor(self._divisible + NOISE)
        self._programme.limit(lower, np.maximum(lower, np.ceil(self._divisible - ROUNDING)))
        return replace(self._improve(answer, NEAR, gap, deadline, np.inf), proven=False)

    def full(self, answer: Answer, gap: float, deadline: float, enough: float) -> Answer:
        """Search every plan with whole patients, until ``enough`` is earned."""
        self._programme.limit(np.zeros_like(self._present), self._present)
        return self._improve(answer, FULL, gap, deadline, enough)

    def _improve(self, answer: Answer, method: str, gap: float, deadline: float, enough: float) -> Answer:
        aims, values, proven, limited = self._part.built.aims, answer.values, True, answer.limited
        try:
            for number, aim in enumerate(aims):
                ahead = len(aims) - number
                costs = self._tie_break - aim if ahead == 1 else -aim
                now = time.perf_counter()
                until = now + (deadline - now) / ahead
                found = self._programme.minimise(costs, values, gap=gap, deadline=until, enough=-enough)
                if found is None:
                    return replace(answer, limited=True)
                values, proven, limited = found.values, proven and found.proven, limited or found.limited
                reached = float(aim @ values)
                self._programme.hold(number, reached - HELD * max(1.0, reached))
        finally:
            self._programme.release()
        if _most_missed(self._part, values) > MISSED:
            return answer
        if _is_worse(self._part, values, answer.values):  # tidier for a little less
            return replace(answer, proven=proven, limited=limited)
        return Answer(self._part, values, method, proven, limited)


def _is_worse(part: Part, one: Floats, other: Floats) -> bool:
    """Tell whether one plan earns less than another, the most important aim first."""
    for aim in part.built.aims:
        difference = float(aim @ (one - other))
        if abs(difference) > HELD * max(1.0, float(aim @ other)):
            return difference < 0
    return False


def _missing(answer: Answer, *, solved: bool) -> float:
    """Return the weighted credit-minutes that an answer lacks, aim by aim; of full coverage if no bound is proven."""
    part = answer.part
    if not solved:
        return weighted_need(part.scenario, part.index.demand) - float(part.earns @ answer.values)
    lacking = part.best.values - answer.values
    missing = sum(max(0.0, float(np.where(aim != 0, part.earns, 0.0) @ lacking)) for aim in part.built.aims)
    return missing if missing > SOLVED * max(1.0, float(part.earns @ part.best.values)) else 0.0


def find_answers(allocation: Allocation, settings: Settings) -> list[Answer]:
    """Return each part's answer: rounded down, then the best rounding, then the whole integer programme.

    What is left of the time is shared equally by the searches that are left.
    """
    deadline = time.perf_counter() + settings.whole_time_limit
    parts, solved = allocation.parts, allocation.outcome.status is Status.OPTIMAL
    answers = [_rounded_down(part) for part in parts]

    def missing() -> list[float]:
        return [_missing(answer, solved=solved) for answer in answers]

    def share(turns: int) -> float:
        now = time.perf_counter()
        return now + (deadline - now) / turns

    lacking = [number for number, lacks in enumerate(missing()) if lacks > 0]
    searches = {number: _Search(parts[number], settings) for number in lacking}
    for turn, number in enumerate(lacking):
        gap = min(NEAR_GAP, settings.whole_gap)
        answers[number] = searches[number].near(answers[number], gap, share(len(lacking) - turn))
    order = sorted(lacking, key=lambda number: -missing()[number])
    for turn, number in enumerate(order):
        too_much = sum(missing()) - settings.whole_gap * allocation.outcome.bound
        if too_much <= 0:
            break
        enough = np.inf  # category after category there is no one aim to stop at
        if settings.priority == "weighted":
            enough = float(parts[number].earns @ answers[number].values) + too_much
        answers[number] = searches[number].full(answers[number], settings.whole_gap, share(len(order) - turn), enough)
    return answers


def _in_words(answers: Sequence[Answer], missing: Sequence[float]) -> str:
    """Say how the answers were found."""
    ways = Counter(
        AS_IT_IS if answer.method == DOWN and not lacks else answer.method
        for answer, lacks in zip(answers, missing, strict=True)
    )
    words = ", ".join(way if len(ways) == 1 else f"{way} (areas: {count})" for way, count in sorted(ways.items()))
    return f"{words}; stopped at the time limit" if any(answer.limited for answer in answers) else words


def _status(answers: Sequence[Answer], missing: Sequence[float], target: float) -> Status:
    short = [answer for answer, lacks in zip(answers, missing, strict=True) if lacks]
    if sum(missing) <= target or all(answer.proven for answer in short):
        return Status.OPTIMAL
    return Status.ROUNDED if any(answer.method == DOWN for answer in short) else Status.LIMIT


def plan_whole(allocation: Allocation, settings: Settings) -> Whole:
    """Make the divisible plan one with whole patients, close to the bound.

    Parameters
    ----------
    allocation
        The solved programmes; they are left as they are.
    settings
        Gap target, time limit, threads.

    Returns
    -------
    Whole
        Always a plan that satisfies every row of the programme.  Equal inputs give equal plans unless the time
        limit stopped a search, which the method says.
    """
    begin = time.perf_counter()
    outcome = allocation.outcome
    answers = find_answers(allocation, settings)
    solved = outcome.status is Status.OPTIMAL
    missing = [_missing(answer, solved=solved) for answer in answers]
    tables = [
        (
            service_table(each.part.index, each.part.variables, each.values, each.part.scenario),
            draw_table(each.part.index, each.part.variables, each.values),
        )
        for each in answers
    ]
    service, draw = (pd.concat(kind, ignore_index=True) for kind in zip(*tables, strict=True))
    return Whole(
        status=_status(answers, missing, settings.whole_gap * outcome.bound),
        achieved=sum(float(each.part.earns @ each.values) for each in answers),
        gap=sum(missing) / outcome.bound if outcome.bound > 0 else 0.0,
        method=_in_words(answers, missing),
        service=service,
        draw=draw,
        seconds=time.perf_counter() - begin,
    )
