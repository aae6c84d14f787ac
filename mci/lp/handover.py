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

__all__ = ["expression", "load"]

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
