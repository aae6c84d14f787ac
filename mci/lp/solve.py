"""Solving: one loaded HiGHS that is asked for one aim after the other, or again with other limits.

The status is HiGHS's own; values are only read where there is a solution.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import highspy
import numpy as np
import numpy.typing as npt

from mci.errors import NoPlanError, PlannerError, SolverLimitError
from mci.lp.build import Built
from mci.lp.handover import load
from mci.lp.outcome import Status

__all__ = ["SIMPLEX_COLUMNS", "Solution", "Solver", "lexicographic", "solver_name"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

#: Up to this many columns the simplex method is faster than the interior-point method (measured).
SIMPLEX_COLUMNS = 15_000

_STATUS = {
    highspy.HighsModelStatus.kOptimal: Status.OPTIMAL,
    highspy.HighsModelStatus.kModelEmpty: Status.OPTIMAL,
    highspy.HighsModelStatus.kInfeasible: Status.INFEASIBLE,
    highspy.HighsModelStatus.kTimeLimit: Status.LIMIT,
    highspy.HighsModelStatus.kIterationLimit: Status.LIMIT,
    highspy.HighsModelStatus.kInterrupt: Status.LIMIT,
}
_FEASIBLE = 2  # HiGHS: primal_solution_status of a feasible point
_DUAL, _PRIMAL = 1, 4  # HiGHS: simplex_strategy


@dataclass(frozen=True, slots=True)
class Solution:
    """Values of our columns, and how they were found."""

    status: Status
    values: Floats


def solver_name() -> str:
    """Return name and version of the solver."""
    return f"HiGHS {highspy.Highs().version()}"


class Solver:
    """A programme loaded into HiGHS.

    Parameters
    ----------
    built
        The programme.
    time_limit
        Limit of each solve [s].
    threads
        Solver threads.
    corner
        Whether the answer must be a corner, from which others can be found quickly.

    Attributes
    ----------
    highs
        The loaded solver itself.
    known
        Which of our columns it has (PuLP leaves out those that nothing uses).
    places
        Its numbers of those.
    """

    def __init__(self, built: Built, time_limit: float = 300.0, threads: int = 1, *, corner: bool = True) -> None:
        self._built = built
        self._time_limit = time_limit
        self.highs, places = load(built.problem, built.columns.names)
        self.highs.setOptionValue("threads", threads)
        self.known = places >= 0
        self.places = places[self.known].astype(np.int32)
        self._place = places.astype(np.int32)
        large = len(built.columns.names) > SIMPLEX_COLUMNS
        self.highs.setOptionValue("solver", "ipm" if large else "simplex")
        if large and not corner:
            self.highs.setOptionValue("run_crossover", "off")
        self._first_basis: highspy.HighsBasis | None = None

    @property
    def size(self) -> tuple[int, int, int]:
        """Columns, rows and nonzeros as handed over."""
        return self.highs.getNumCol(), self.highs.getNumRow(), self.highs.getNumNz()

    def minimise(self, costs: Floats) -> Solution:
        """Optimise for other costs, from the basis of the last solve.

        That basis is still feasible but no longer optimal, which is where the primal simplex method starts.

        Raises
        ------
        NoPlanError
            If nothing satisfies every row.
        SolverLimitError
            If a limit was reached before there was any solution.
        """
        self.highs.changeColsCost(len(self.places), self.places, costs[self.known])
        if self.highs.getBasis().valid:
            self._start_from_basis(_PRIMAL)
        return self._run()

    def again(self) -> Solution:
        """Solve again after a change of limits of columns, from the basis of the last solve, which is still optimal.

        Raises
        ------
        NoPlanError
            If nothing satisfies every row.
        SolverLimitError
            If a limit was reached before there was any solution.
        """
        if self.highs.getBasis().valid:
            self._start_from_basis(_DUAL)
        return self._run()

    def hold(self, aim: int, at_least: float) -> None:
        """Require the aim to stay at least at a value from now on."""
        row = self._built.row_of_aim(aim)
        if row is not None:
            self.highs.changeRowBounds(row, at_least, highspy.kHighsInf)

    def limit(self, columns: Ints, upper: Floats, lower: Floats | None = None) -> None:
        """Give columns other bounds from now on; the lower ones are 0 if not given."""
        known = self.known[columns]
        here = self._place[columns][known]
        least = np.zeros(len(columns)) if lower is None else lower
        self.highs.changeColsBounds(len(here), here, least[known], upper[known])

    def basis(self) -> highspy.HighsBasis:
        """Return the basis of the last solve, to start from later."""
        basis: highspy.HighsBasis = self.highs.getBasis()
        return basis

    def minimise_from(self, basis: highspy.HighsBasis, costs: Floats) -> Solution:
        """Optimise from a given basis, and from nothing else that was solved before.

        Parameters
        ----------
        basis
            Where to start: optimal for these costs but for limits that have changed.
        costs
            What each column costs.

        Raises
        ------
        NoPlanError
            If nothing satisfies every row.
        SolverLimitError
            If a limit was reached before there was any solution.
        """
        self._put_back(basis, costs)
        return self._run()

    def stays_within(self, basis: highspy.HighsBasis, costs: Floats, at_most: float) -> bool:
        """Tell whether the optimum is at most so much, as :meth:`minimise_from`."""
        self._put_back(basis, costs)
        return self._within(at_most)

    def _put_back(self, basis: highspy.HighsBasis, costs: Floats) -> None:
        self.highs.clearSolver()
        self.highs.changeColsCost(len(self.places), self.places, costs[self.known])
        self._start_from_basis(_DUAL)
        self.highs.setBasis(basis)

    def take(self, built: Built) -> None:
        """Become another programme of the same shape: other limits of rows and other nonzeros, nothing held.

        Parameters
        ----------
        built
            With the rows, nonzeros and aims of the one that was loaded, in the same order; only values differ.
        """
        offset = 0
        for old, new in zip(self._built.families, built.families, strict=True):
            if not new.equal:
                self._set_rhs(np.arange(offset, offset + len(new.names)), new.rhs)
            for n in np.flatnonzero(old.value != new.value).tolist():
                self.highs.changeCoeff(offset + int(new.row[n]), int(self._place[new.column[n]]), float(new.value[n]))
            offset += len(new.names)
        for number, (old_aim, new_aim) in enumerate(zip(self._built.aims, built.aims, strict=True)):
            row = built.row_of_aim(number)
            if row is not None:
                for column in np.flatnonzero(old_aim != new_aim).tolist():
                    self.highs.changeCoeff(row, int(self._place[column]), float(new_aim[column]))
                self.highs.changeRowBounds(row, -highspy.kHighsInf, highspy.kHighsInf)
        self._built, self._first_basis = built, None

    def with_limits(self, rows: Ints, change: Floats) -> Solution:
        """Solve again with other right-hand sides, from the first basis, then put them back.

        The answer does not depend on what was solved before.

        Parameters
        ----------
        rows
            Rows of the families.
        change
            What is added to the right-hand side of each.
        """
        with self._other_limits(rows, change):
            return self._run()

    def stays_within_with_limits(self, rows: Ints, change: Floats, at_most: float) -> bool:
        """Tell whether the optimum is at most so much, as :meth:`with_limits`."""
        with self._other_limits(rows, change):
            return self._within(at_most)

    @contextlib.contextmanager
    def _other_limits(self, rows: Ints, change: Floats) -> Iterator[None]:
        old = self._rhs(rows)
        if self._first_basis is None:
            self._first_basis = self.highs.getBasis()
        self.highs.clearSolver()
        self._start_from_basis(_DUAL)  # the first basis is still optimal but perhaps not feasible
        self._set_rhs(rows, old + change)
        self.highs.setBasis(self._first_basis)
        try:
            yield
        finally:
            self._set_rhs(rows, old)

    def _within(self, at_most: float) -> bool:
        """Tell whether the optimum is at most so much.

        The dual simplex method approaches it from below, so a no is mostly known long before it is reached.
        """
        self.highs.setOptionValue("objective_bound", at_most)
        try:
            self._limit_time()
            self.highs.run()
        finally:
            self.highs.setOptionValue("objective_bound", highspy.kHighsInf)
        if self.highs.getModelStatus() == highspy.HighsModelStatus.kObjectiveBound:
            return False
        self._run()  # nothing is left to do, unless it failed
        return float(self.highs.getInfo().objective_function_value) <= at_most

    def duals(self) -> Floats:
        """Return by how much at most what was minimised falls per unit added to each right-hand side."""
        return -np.array(self.highs.getSolution().row_dual)

    def _start_from_basis(self, strategy: int) -> None:
        self.highs.setOptionValue("solver", "simplex")  # the only method that can
        self.highs.setOptionValue("simplex_strategy", strategy)

    def _rhs(self, rows: Ints) -> Floats:
        return self._built.limits[rows]

    def _set_rhs(self, rows: Ints, rhs: Floats) -> None:
        lower = np.full(len(rows), -highspy.kHighsInf)
        self.highs.changeRowsBounds(len(rows), rows.astype(np.int32), lower, rhs)

    def _limit_time(self) -> None:
        # HiGHS counts the time of all solves of one object against the limit
        self.highs.setOptionValue("time_limit", self.highs.getRunTime() + self._time_limit)

    def _run(self) -> Solution:
        self._limit_time()
        self.highs.run()
        if self.highs.getModelStatus() == highspy.HighsModelStatus.kUnknown:
            self.highs.clearSolver()  # the interior-point method alone came close, but not close enough
            self.highs.setOptionValue("run_crossover", "on")
            self.highs.run()
        if _STATUS.get(self.highs.getModelStatus()) in (None, Status.INFEASIBLE) and self.highs.getBasis().valid:
            self.highs.clearSolver()  # an old basis can lead astray: ask again from scratch
            self._start_from_basis(_DUAL)
            self.highs.run()
        model_status = self.highs.getModelStatus()
        info = self.highs.getInfo()
        status = _STATUS.get(model_status)
        if status is Status.INFEASIBLE:
            raise NoPlanError(["the limits of the scenario contradict each other"])
        if status is None:
            raise PlannerError(f"the solver failed: {self.highs.modelStatusToString(model_status)}")
        if status is Status.LIMIT and info.primal_solution_status != _FEASIBLE:
            raise SolverLimitError(f"the solver stopped at its limit of {self._time_limit:g} s without a plan")
        values = np.zeros(len(self.known))
        values[self.known] = np.array(self.highs.getSolution().col_value)[self.places]
        return Solution(status, np.maximum(values, 0.0))


def lexicographic(
    solver: Solver, aims: Sequence[Floats], last: Floats, tolerance: float, first: Solution | None = None
) -> list[Solution]:
    """Maximise one aim after the other, each held within a tolerance, then minimise ``last``.

    Parameters
    ----------
    aims
        What each column earns, one vector per aim, the most important first.
    last
        What each column costs in the last stage.
    tolerance
        Share of its optimum (or of 1) by which a held aim may fall.
    first
        The solution of the first aim, where the solver has just found it.

    Returns
    -------
    list
        The solution of each aim, then that of ``last``.
    """
    stages = []
    for number, aim in enumerate(aims):
        solution = first if first is not None and number == 0 else solver.minimise(-aim)
        best = float(aim @ solution.values)
        solver.hold(number, best - tolerance * max(1.0, abs(best)))
        stages.append(solution)
    return [*stages, solver.minimise(last)]
