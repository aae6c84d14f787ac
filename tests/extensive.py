"""The extensive form: every incident's programme written out beside the others, and solved as one by HiGHS.

Written without the master and the cuts: the oracle of the decomposition, and what it is measured against.  Only the
care of each incident is taken from where it is loaded.
"""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass, field

import highspy
import numpy as np
import numpy.typing as npt
import scipy.sparse as sp

from mci.lp.cache_care import CacheCare
from mci.lp.two_stage import Aim, Plan, Tail

__all__ = ["Extensive", "solve_extensive"]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Extensive:
    """What the solver says: the value of its plan, the plan, how it stopped, and the seconds that it took."""

    value: float
    plan: Floats
    status: str
    seconds: float


@dataclass
class _Programme:
    """Columns and blocks of rows, written one after the other."""

    cost: list[Floats] = field(default_factory=list)
    lower: list[Floats] = field(default_factory=list)
    upper: list[Floats] = field(default_factory=list)
    low: list[Floats] = field(default_factory=list)
    high: list[Floats] = field(default_factory=list)
    row: list[npt.NDArray[np.intp]] = field(default_factory=list)
    column: list[npt.NDArray[np.intp]] = field(default_factory=list)
    value: list[Floats] = field(default_factory=list)
    columns: int = 0
    rows: int = 0

    def add_columns(self, cost: Floats, lower: Floats, upper: Floats) -> int:
        """Add columns; return the number of the first."""
        self.cost.append(cost)
        self.lower.append(lower)
        self.upper.append(upper)
        self.columns += len(cost)
        return self.columns - len(cost)

    def add_rows(self, low: Floats, high: Floats, *blocks: tuple[int, object]) -> None:
        """Add rows; each block of coefficients begins at a column."""
        for first, block in blocks:
            matrix = sp.coo_matrix(block)
            self.row.append(matrix.row.astype(np.intp) + self.rows)
            self.column.append(matrix.col.astype(np.intp) + first)
            self.value.append(matrix.data)
        self.low.append(low)
        self.high.append(high)
        self.rows += len(low)

    def load(self, whole: npt.NDArray[np.bool_], offset: float) -> highspy.Highs:
        """Hand all of it over to HiGHS; the first columns are whole where told."""
        places = (np.concatenate(self.row), np.concatenate(self.column))
        matrix = sp.coo_matrix((np.concatenate(self.value), places), shape=(self.rows, self.columns)).tocsr()
        model = highspy.HighsLp()
        model.num_col_, model.num_row_, model.offset_ = self.columns, self.rows, offset
        model.col_cost_ = np.concatenate(self.cost)
        model.col_lower_, model.col_upper_ = np.concatenate(self.lower), np.concatenate(self.upper)
        model.row_lower_, model.row_upper_ = np.concatenate(self.low), np.concatenate(self.high)
        model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        model.a_matrix_.start_, model.a_matrix_.index_ = matrix.indptr, matrix.indices
        model.a_matrix_.value_ = matrix.data
        if whole.any():
            kinds = np.full(self.columns, highspy.HighsVarType.kContinuous)
            kinds[: len(whole)][whole] = highspy.HighsVarType.kInteger
            model.integrality_ = kinds
        highs = highspy.Highs()
        highs.setOptionValue("output_flag", False)
        highs.setOptionValue("mip_heuristic_run_feasibility_jump", False)
        highs.setOptionValue("threads", 1)
        highs.passModel(model)
        return highs


def _add_care(made: _Programme, care: CacheCare, units: Floats, losses: Floats, counted: npt.NDArray[np.bool_]) -> int:
    """Add the care of an incident; return the first of the columns of its harms.

    The right-hand sides that are asked about become ``units y`` and ``unit h - need``, and there is no excess.
    """
    model, stored, kept = care._highs.getLp(), care._rows[: len(care._stored)], care._rows[len(care._stored) :]
    rows, size, harms = model.num_row_, model.num_col_, len(losses)
    parts = (np.array(model.a_matrix_.value_), np.array(model.a_matrix_.index_), np.array(model.a_matrix_.start_))
    by_row = model.a_matrix_.format_ == highspy.MatrixFormat.kRowwise
    matrix = (sp.csr_matrix if by_row else sp.csc_matrix)(parts, shape=(rows, size))
    upper, excess = np.array(model.col_upper_), np.flatnonzero(np.array(model.col_cost_))
    lower = np.zeros(size)
    upper[excess] = 0.0
    care_columns = made.add_columns(np.zeros(size), lower, upper)
    harm_columns = made.add_columns(losses, np.zeros(harms), np.full(harms, math.inf))
    low, high = np.array(model.row_lower_), np.array(model.row_upper_)
    low[stored], high[stored] = -math.inf, 0.0
    low[kept], high[kept] = -math.inf, np.where(counted, -care._need, math.inf)
    bought, harmed = sp.lil_matrix((rows, units.shape[1])), sp.lil_matrix((rows, harms))
    bought[stored] = -units[care._stored]
    for harm, row in enumerate(kept.tolist()):
        harmed[row, harm] = -care._unit[harm]
    made.add_rows(low, high, (0, bought), (care_columns, matrix), (harm_columns, harmed))
    return harm_columns


def _add_goal(made: _Programme, tail: Tail, at_most: float, places: Sequence[int]) -> None:
    """Limit a mean, or the mean of the worst by its edge and what is over it."""
    count = len(places)
    below, nothing = np.full(count, -math.inf), np.zeros(count)
    harms = [(place + tail.harm, np.array([[1 / count]])) for place in places]
    if tail.worst == 1:
        made.add_rows(below[:1], np.array([at_most]), *harms)
        return
    edge = made.add_columns(np.zeros(1), np.array([-math.inf]), np.array([math.inf]))
    over = made.add_columns(nothing, nothing, np.full(count, math.inf))
    share = np.full((1, count), 1 / count / tail.worst)
    made.add_rows(below[:1], np.array([at_most]), (edge, np.ones((1, 1))), (over, share))
    each = [(place + tail.harm, np.eye(count)[:, [n]]) for n, place in enumerate(places)]
    made.add_rows(below, nothing, (edge, np.full((count, 1), -1.0)), (over, -np.eye(count)), *each)


def solve_extensive(
    cares: Sequence[CacheCare],
    units: Floats,
    plan: Plan,
    tails: Sequence[Tail],
    aim: Aim,
    gap: float,
    time_limit: float = 600.0,
) -> Extensive:
    """Solve for an aim all incidents, equally likely, as one programme.

    Parameters
    ----------
    cares
        The incidents.
    units
        Units of each supply per decision, shape ``(supplies, decisions)``.
    """
    counted = aim.losses != 0
    for tail, at_most in zip(tails, aim.at_most, strict=True):
        counted[tail.harm] |= np.isfinite(at_most)
    made = _Programme()
    made.add_columns(aim.costs, plan.lower, plan.upper)
    made.add_rows(np.full(len(aim.limits), -math.inf), aim.limits, (0, plan.matrix))
    places = [_add_care(made, care, units, aim.losses / len(cares), counted) for care in cares]
    for tail, at_most in zip(tails, aim.at_most, strict=True):
        _add_goal(made, tail, float(at_most), places)
    highs = made.load(plan.whole, aim.offset)
    highs.setOptionValue("mip_rel_gap", gap)
    highs.setOptionValue("time_limit", time_limit)
    begin = time.perf_counter()
    highs.run()
    seconds = time.perf_counter() - begin
    found = np.array(highs.getSolution().col_value)[: len(plan.lower)]
    status = highs.modelStatusToString(highs.getModelStatus())
    return Extensive(float(highs.getInfo().objective_function_value), found, status, seconds)
