"""The first stage of a programme in two stages, with what has been learnt of the incidents so far: the master.

Columns: the decisions, ``harm_sm`` of every incident, and for each tail ``eta`` and ``over_s``.  What incidents say
comes in as cuts, one per incident and question, valid whatever is asked later.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass

import highspy
import numpy as np
import numpy.typing as npt

from mci.errors import NoPlanError, PlannerError
from mci.lp.build import write
from mci.lp.handover import load
from mci.lp.names import make_name, read_name
from mci.lp.programme import ABSENT, Columns, Rows, RowWriter
from mci.lp.two_stage import Aim, Answers, Plan, Tail

__all__ = ["Master", "Proposal"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

_FEASIBLE = 2  # HiGHS: primal_solution_status of a feasible point
#: A whole number may be missed by so much.
_WHOLE = 1e-6
#: A whole plan keeps to cuts but for so much: less than what counts as an excess, or it would be proposed for ever.
_KEPT = 1e-8
#: The master is small and its tree has some dozens of nodes: what else the solver does there costs more than it saves.
#: On two trailers with 50 incidents searches took 5.0 s instead of 13.8 s, on the fair 0.15 s instead of 0.7 s.
_PLAIN_SEARCH = {
    "presolve": "off",
    "mip_heuristic_effort": 0.0,
    "mip_heuristic_run_feasibility_jump": False,
    "mip_heuristic_run_rins": False,
    "mip_heuristic_run_rens": False,
    "mip_heuristic_run_root_reduced_cost": False,
    "mip_allow_cut_separation_at_nodes": False,
    "mip_allow_restart": False,
    "mip_pscost_minreliable": 0,
}
_NO_PLAN = "the limits leave no plan that meets the goals"


@dataclass(frozen=True, slots=True)
class Proposal:
    """A plan, the harms that the master believes in, and what no plan can beat.

    Parameters
    ----------
    value
        Of the plan and those harms.
    bound
        No plan is cheaper.
    """

    plan: Floats
    harms: Floats
    value: float
    bound: float


class Master:
    """The master, loaded; it only ever gets more rows.

    Parameters
    ----------
    plan
        What can be decided.
    chances
        Probability of each incident, shape ``(incidents,)``.
    least
        Lower bound of each kind of harm, shape ``(harms,)``.
    tails
        What aims may limit.
    threads
        Solver threads.
    """

    def __init__(self, plan: Plan, chances: Floats, least: Floats, tails: Sequence[Tail], threads: int = 1) -> None:
        self._plan, self._chances, self._tails = plan, chances, tuple(tails)
        columns = Columns()
        decisions, incidents, harms = len(plan.lower), len(chances), len(least)
        self._decide = columns.add("plan", np.ones(decisions, dtype=bool), plan.upper)
        self._harm = columns.add("harm", np.ones((incidents, harms), dtype=bool))
        self._eta = columns.add("eta", np.array([tail.worst < 1 for tail in tails], dtype=bool))
        tailed = np.array([[tail.worst < 1] * incidents for tail in tails], dtype=bool).reshape(-1, incidents)
        self._over = columns.add("over", tailed)
        limits, goals = self._limits(), self._goals()
        # every column costs something at first, so that PuLP leaves none out
        built = write(columns, [limits, goals, *self._overs()], [np.ones(len(columns.names))])
        self.highs, places = load(built.problem, columns.names)
        self.highs.deleteRows(1, np.array([built.first_aim], dtype=np.int32))
        self._places = places.astype(np.int32)
        # a limit without coefficients has no row: it holds or it does not
        self._rows = [
            *(read_name(name)[1][0] for name in limits.names),
            *(len(plan.matrix) + n for n in range(len(tails))),
        ]
        self._possible = True
        self._bound_columns(least)
        self.highs.setOptionValue("threads", threads)
        self.highs.setOptionValue("mip_feasibility_tolerance", _KEPT)
        for option, value in _PLAIN_SEARCH.items():
            self.highs.setOptionValue(option, value)
        self.cuts = 0

    def _limits(self) -> Rows:
        """Keep to the limits of the plan: ``A y <= b``."""
        writer = RowWriter()
        count = len(self._plan.matrix)
        for row in range(count):
            values = self._plan.matrix[row]
            writer.add(row, np.where(values != 0, self._decide, ABSENT), values)
        return writer.finish([make_name("limit", row) for row in range(count)], np.full(count, 1e20))

    def _goals(self) -> Rows:
        """Keep to the goals: ``sum_s p_s h_s <= a``, or ``eta + sum_s p_s over_s / w <= a``."""
        writer = RowWriter()
        for row, tail in enumerate(self._tails):
            if tail.worst < 1:
                writer.add(row, self._eta[row : row + 1], 1.0)
                writer.add(row, self._over[row], self._chances / tail.worst)
            else:
                writer.add(row, self._harm[:, tail.harm], self._chances)
        return writer.finish(
            [make_name("goal", row) for row in range(len(self._tails))], np.full(len(self._tails), 1e20)
        )

    def _overs(self) -> list[Rows]:
        """Count what is worse than the tail's edge: ``h_s - eta - over_s <= 0``."""
        found = []
        for number, tail in enumerate(self._tails):
            if tail.worst < 1:
                rows = np.arange(len(self._chances))
                writer = RowWriter()
                writer.add(rows, self._harm[:, tail.harm], 1.0)
                writer.add(rows, np.full(len(rows), self._eta[number]), -1.0)
                writer.add(rows, self._over[number], -1.0)
                found.append(writer.finish([make_name("over", number, s) for s in rows.tolist()], 0.0))
        return found

    def _bound_columns(self, least: Floats) -> None:
        self._set_bounds(self._decide, self._plan.lower, self._plan.upper)
        incidents = len(self._chances)
        self._set_bounds(self._harm.ravel(), np.tile(least, incidents), np.full(self._harm.size, highspy.kHighsInf))
        for number, tail in enumerate(self._tails):
            if tail.worst < 1:
                self._set_bounds(self._eta[[number]], least[[tail.harm]], np.array([highspy.kHighsInf]))

    def _set_bounds(self, columns: Ints, lower: Floats, upper: Floats) -> None:
        here = self._places[columns]
        self.highs.changeColsBounds(len(here), here, lower, upper)

    def learn(self, plan: Floats, allowed: Floats, answers: Answers, from_excess: float) -> int:
        """Add a cut for every incident whose excess is above a value; return how many.

        ``sum_m pi_m h_m - lambda y >= excess + pi allowed - lambda plan``: the excess is convex in plan and harms, so
        it is nowhere below this plane, and in ``K_s`` it is at most 0.
        """
        new = np.flatnonzero(answers.excess > from_excess)
        if not len(new):
            return 0
        starts, indices, values, lower = [0], [], [], []
        for incident in new.tolist():
            by_plan, by_harm = answers.by_plan[incident], answers.by_harm[incident]
            used, harmed = np.flatnonzero(by_plan), np.flatnonzero(by_harm)
            indices += [self._places[self._harm[incident, harmed]], self._places[self._decide[used]]]
            values += [by_harm[harmed], -by_plan[used]]
            starts.append(starts[-1] + len(used) + len(harmed))
            lower.append(
                answers.excess[incident] + by_harm[harmed] @ allowed[incident, harmed] - by_plan[used] @ plan[used]
            )
        count = len(new)
        self.highs.addRows(
            count,
            np.array(lower),
            np.full(count, highspy.kHighsInf),
            starts[-1],
            np.array(starts[:-1], dtype=np.int32),
            np.concatenate(indices).astype(np.int32),
            np.concatenate(values),
        )
        self.cuts += count
        return count

    def take(self, aim: Aim) -> None:
        """Ask for something else from now on."""
        costs = np.zeros(len(self._places))
        costs[self._places[self._decide]] = aim.costs
        costs[self._places[self._harm]] = self._chances[:, None] * aim.losses[None, :]
        self.highs.changeColsCost(len(costs), np.arange(len(costs), dtype=np.int32), costs)
        self.highs.changeObjectiveOffset(aim.offset)
        limits = np.concatenate([aim.limits, aim.at_most])
        self._possible = bool(np.all(np.delete(limits, self._rows) >= -_WHOLE))
        for row, limit in enumerate(limits[self._rows].tolist()):
            self.highs.changeRowBounds(row, -highspy.kHighsInf, limit if np.isfinite(limit) else highspy.kHighsInf)

    def fix(self, plan: Floats) -> None:
        """Allow one plan only from now on."""
        self._set_bounds(self._decide, plan, plan)

    def free(self) -> None:
        """Allow every plan again."""
        self._set_bounds(self._decide, self._plan.lower, self._plan.upper)

    def solve(self, *, whole: bool, gap: float = 0.0, deadline: float = np.inf) -> Proposal | None:
        """Find the best plan by what is known so far.

        Parameters
        ----------
        whole
            Whether the decisions that are whole numbers must be whole.
        gap
            Relative distance to the best possible at which to stop.
        deadline
            When to stop at the latest, on the clock of :func:`time.perf_counter` [s].

        Returns
        -------
        Proposal or None
            ``None`` where the time was over before there was a plan.

        Raises
        ------
        NoPlanError
            If no plan keeps to the limits and goals.
        """
        highs = self.highs
        left = deadline - time.perf_counter()
        if left <= 0:
            return None
        if not self._possible:
            raise NoPlanError([_NO_PLAN])
        kind = highspy.HighsVarType.kInteger if whole else highspy.HighsVarType.kContinuous
        here = self._places[self._decide[self._plan.whole]]
        highs.changeColsIntegrality(len(here), here, np.full(len(here), kind))
        highs.setOptionValue("mip_rel_gap", gap)
        highs.setOptionValue("time_limit", highs.getRunTime() + left if np.isfinite(left) else highspy.kHighsInf)
        status, known = self._run(), highspy.HighsModelStatus
        if status in (known.kInfeasible, known.kUnboundedOrInfeasible):
            raise NoPlanError([_NO_PLAN])
        info = highs.getInfo()
        if info.primal_solution_status != _FEASIBLE:
            if status == known.kTimeLimit:
                return None
            raise PlannerError(f"the solver failed: {highs.modelStatusToString(status)}")
        values = np.array(highs.getSolution().col_value)[self._places]
        plan = values[self._decide]
        if whole:
            plan = np.where(self._plan.whole & (np.abs(plan - np.rint(plan)) < _WHOLE), np.rint(plan), plan)
        value = float(info.objective_function_value)
        bound = float(info.mip_dual_bound) if whole and self._plan.whole.any() else value
        return Proposal(plan, values[self._harm], value, bound)

    def _run(self) -> highspy.HighsModelStatus:
        """Solve; where the solver does not know, ask from scratch, then by the interior-point method."""
        known = highspy.HighsModelStatus
        status: highspy.HighsModelStatus = known.kNotset
        for method in ("choose", "choose", "ipm"):
            self.highs.setOptionValue("solver", method)
            self.highs.run()
            status = self.highs.getModelStatus()
            if status not in (known.kUnknown, known.kSolveError, known.kNotset):
                break
            self.highs.clearSolver()
        self.highs.setOptionValue("solver", "choose")
        return status
