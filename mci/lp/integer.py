"""A part's programme with whole patients: a copy of what HiGHS has loaded, ``serve`` in whole numbers.

It is a copy because the loaded one is asked further questions (:mod:`mci.lp.worth`) that start from its basis.
Patients are whole; what follows from them (connections, units in use, devices handed out, staff minutes) stays
divisible, so this programme is still wider than what a crew can do: its optimum bounds every plan, too.
"""

from __future__ import annotations

import time
from dataclasses import dataclass

import highspy
import numpy as np
import numpy.typing as npt

from mci.lp.build import Built
from mci.lp.solve import Solver

__all__ = ["Found", "Integer"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

#: Upper bound of columns that have none, far above anything real.  Without one, HiGHS 1.15 was seen to loop
#: for ever in the presolve of a small integer programme, whatever its time limit.
LARGE = 1e9
_FEASIBLE = 2  # HiGHS: primal_solution_status of a feasible point


@dataclass(frozen=True, slots=True)
class Found:
    """The best point of a search.

    Parameters
    ----------
    proven
        Whether nothing better exists (within the gap that was asked for).
    limited
        Whether the time limit stopped the search.
    """

    values: Floats
    proven: bool
    limited: bool


class Integer:
    """A programme in which some columns are whole numbers.

    Parameters
    ----------
    built
        The programme.
    solver
        Where it is loaded; it is copied and left as it is.  Aims that are held there are released here.
    whole
        Columns that must be whole.
    threads
        Solver threads.
    """

    def __init__(self, built: Built, solver: Solver, whole: Ints, threads: int) -> None:
        self._built = built
        self._known = solver.known
        self._places = solver.places
        numbers = np.full(len(solver.known), -1, dtype=np.int32)
        numbers[solver.known] = solver.places
        self._whole = whole
        self._numbers = numbers[whole]
        self._highs = highspy.Highs()
        self._highs.setOptionValue("output_flag", False)
        self._highs.setOptionValue("threads", threads)
        # there is always a start; and in HiGHS 1.15 this heuristic can crash (issue 3262 there)
        self._highs.setOptionValue("mip_heuristic_run_feasibility_jump", False)
        self._highs.passModel(solver.highs.getLp())
        upper = np.minimum(built.columns.upper, LARGE)[self._known]
        self._highs.changeColsBounds(len(self._places), self._places, np.zeros(len(upper)), upper)
        kinds = np.full(len(whole), highspy.HighsVarType.kInteger)
        self._highs.changeColsIntegrality(len(whole), self._numbers, kinds)
        self.release()

    def hold(self, aim: int, at_least: float) -> None:
        """Require an aim to stay at least at a value from now on."""
        row = self._built.row_of_aim(aim)
        if row is not None:
            self._highs.changeRowBounds(row, at_least, highspy.kHighsInf)

    def release(self) -> None:
        """Hold no aim any longer."""
        for aim in range(len(self._built.aims)):
            self.hold(aim, -highspy.kHighsInf)

    def limit(self, lower: Floats, upper: Floats) -> None:
        """Give the whole columns other bounds from now on."""
        self._highs.changeColsBounds(len(self._numbers), self._numbers, lower, upper)

    def minimise(self, costs: Floats, start: Floats, *, gap: float, deadline: float, enough: float) -> Found | None:
        """Search from a known point.

        Parameters
        ----------
        costs
            What each column costs.
        start
            A point that satisfies every row.
        gap
            Relative distance to the best possible at which to stop.
        deadline
            When to stop at the latest, on the clock of :func:`time.perf_counter` [s].
        enough
            Stop as soon as the cost is at most this.

        Returns
        -------
        Found or None
            ``None`` where the search ended without a point.
        """
        left = deadline - time.perf_counter()
        if left <= 0:
            return None
        highs = self._highs
        highs.changeColsCost(len(self._places), self._places, costs[self._known])
        for option, value in (("mip_rel_gap", gap), ("objective_target", enough)):
            highs.setOptionValue(option, value)
        highs.setOptionValue("time_limit", highs.getRunTime() + left)  # it counts the time of all its solves
        highs.clearSolver()  # the answer must not depend on what was solved before
        known = np.zeros(len(self._places))
        known[self._places] = start[self._known]
        point = highspy.HighsSolution()
        point.col_value = known.tolist()
        highs.setSolution(point)
        highs.run()
        if highs.getInfo().primal_solution_status != _FEASIBLE:
            return None
        values = np.zeros(len(self._known))
        values[self._known] = np.array(highs.getSolution().col_value)[self._places]
        values[self._whole] = np.rint(values[self._whole])
        status, known_as = highs.getModelStatus(), highspy.HighsModelStatus
        return Found(np.maximum(values, 0.0), status == known_as.kOptimal, status == known_as.kTimeLimit)
