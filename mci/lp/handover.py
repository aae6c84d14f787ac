"""The one module that knows PuLP's two majors and how a problem gets into HiGHS.

PuLP 3.3 (Python 3.11) and PuLP 4 (Python 3.12 and newer) differ in how expressions are made and
in which order columns are handed over; everything else uses calls that both have.
"""

from __future__ import annotations

from collections.abc import Sequence

import highspy
import numpy as np
import numpy.typing as npt
import pulp

from mci.lp.programme import Columns, Rows

__all__ = ["expression", "hand_over", "load"]

_PULP_4 = hasattr(pulp.LpAffineExpression, "from_list")


def expression(terms: Sequence[tuple[pulp.LpVariable, float]]) -> pulp.LpAffineExpression:
    """Return ``sum(coefficient * variable)`` in one go; the coefficients must be plain floats."""
    return pulp.LpAffineExpression.from_list(terms) if _PULP_4 else pulp.LpAffineExpression(terms)


def load(problem: pulp.LpProblem, names: Sequence[str]) -> tuple[highspy.Highs, npt.NDArray[np.intp]]:
    """Hand a problem over to HiGHS, once; it can be changed and solved again there.

    Parameters
    ----------
    problem
        The problem.
    names
        Names of its columns in our order.

    Returns
    -------
    solver, places
        The loaded solver, and for each of our columns its number there (-1 where PuLP left out
        a column that nothing uses).
    """
    adapter = pulp.HiGHS(msg=False)
    adapter.createAndConfigureSolver(problem)
    adapter.buildSolverModel(problem)
    solver = problem.solverModel
    solver.setOptionValue("output_flag", False)
    handed = problem.exported_variables() if _PULP_4 else problem.variables()
    place = {variable.name: number for number, variable in enumerate(handed)}
    return solver, np.array([place.get(name, -1) for name in names], dtype=np.intp)


def hand_over(columns: Columns, families: Sequence[Rows]) -> highspy.Highs:
    """Hand columns and rows over to HiGHS as they are, without a problem in PuLP between them.

    For the many small programmes of one study, where PuLP would take ten times as long as solving them does; column
    and row numbers are ours, in order, and nothing is left out.  Nothing costs anything yet.
    """
    ends = np.cumsum([0, *(len(rows.names) for rows in families)])
    row = np.concatenate([rows.row + first for rows, first in zip(families, ends[:-1], strict=True)])
    column = np.concatenate([rows.column for rows in families])
    value = np.concatenate([rows.value for rows in families])
    order = np.lexsort((column, row))
    row, column, value = row[order], column[order], value[order]
    new = np.ones(len(row), dtype=bool)
    new[1:] = (row[1:] != row[:-1]) | (column[1:] != column[:-1])
    value = np.add.reduceat(value, np.flatnonzero(new)) if len(value) else value
    row, column = row[new], column[new]
    upper = np.concatenate([rows.rhs for rows in families])
    lower = np.concatenate(
        [rows.rhs if rows.equal else np.full(len(rows.rhs), -highspy.kHighsInf) for rows in families]
    )
    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = len(columns.names), int(ends[-1])
    model.col_cost_ = np.zeros(len(columns.names))
    model.col_lower_, model.col_upper_ = np.zeros(len(columns.names)), np.array(columns.upper)
    model.row_lower_, model.row_upper_ = lower, upper
    model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    model.a_matrix_.start_ = np.searchsorted(row, np.arange(ends[-1] + 1)).astype(np.int32)
    model.a_matrix_.index_, model.a_matrix_.value_ = column.astype(np.int32), value
    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.passModel(model)
    return solver
