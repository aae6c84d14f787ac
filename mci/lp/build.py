"""The programme written into PuLP: columns, families of rows, and one row per aim that can be held.

An aim is a cost vector to be maximised and later held while the next one is optimised.  Its row
``sum(earns * column) >= -inf`` is written with the others, so that holding it later only moves a
bound; PuLP stays the one place where models are written.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pulp

from mci.lp.handover import expression
from mci.lp.names import make_name
from mci.lp.programme import Columns, Rows

__all__ = ["Built", "write"]

Floats = npt.NDArray[np.float64]

#: A bound that does not bind: HiGHS takes it for minus infinity.
FREE = -1e30


@dataclass(frozen=True, slots=True)
class Built:
    """A programme in PuLP.

    Parameters
    ----------
    problem
        The PuLP problem; rows stand in it in the order of ``families``, then the aims.
    columns
        Its columns; column ``n`` has the name ``columns.names[n]``.
    aims
        Cost vectors that can be held.
    first_aim
        Number of the row of the first aim.
    """

    problem: pulp.LpProblem
    columns: Columns
    families: tuple[Rows, ...]
    aims: tuple[Floats, ...]
    first_aim: int

    @property
    def limits(self) -> Floats:
        """Right-hand sides of the families, one after the other."""
        return np.concatenate([rows.rhs for rows in self.families])

    def row_of_aim(self, aim: int) -> int | None:
        """Return the number of the row that holds an aim; ``None`` where nothing earns, so that there is none."""
        if not np.any(self.aims[aim]):
            return None
        return self.first_aim + sum(bool(np.any(earlier)) for earlier in self.aims[:aim])


def _add_rows(problem: pulp.LpProblem, variables: Sequence[pulp.LpVariable], rows: Rows) -> None:
    order = np.argsort(rows.row, kind="stable")
    column, value = rows.column[order].tolist(), rows.value[order].tolist()
    ends = np.cumsum(np.bincount(rows.row, minlength=len(rows.names))).tolist()
    start = 0
    for name, end, rhs in zip(rows.names, ends, rows.rhs.tolist(), strict=True):
        left = expression([(variables[c], v) for c, v in zip(column[start:end], value[start:end], strict=True)])
        problem.addConstraint(left == rhs if rows.equal else left <= rhs, name)
        start = end


def write(columns: Columns, families: Sequence[Rows], aims: Sequence[Floats], name: str = "oxygen") -> Built:
    """Write a programme into PuLP.

    Parameters
    ----------
    columns
        Every column; all are at least 0.
    families
        Every family of rows.
    aims
        Vectors to be maximised, the most important first; the first becomes PuLP's objective
        (minimised, negated).

    Returns
    -------
    Built
        The problem with what is needed to find one's way in it.
    """
    problem = pulp.LpProblem(name, pulp.LpMinimize)
    variables = [
        problem.add_variable(label, 0, None if upper == np.inf else upper)
        for label, upper in zip(columns.names, columns.upper, strict=True)
    ]
    problem.setObjective(expression([(variables[n], -float(aims[0][n])) for n in np.flatnonzero(aims[0]).tolist()]))
    for rows in families:
        _add_rows(problem, variables, rows)
    for number, aim in enumerate(aims):
        terms = [(variables[n], float(aim[n])) for n in np.flatnonzero(aim).tolist()]
        if terms:
            problem.addConstraint(expression(terms) >= FREE, make_name("hold", number))
    return Built(problem, columns, tuple(families), tuple(aims), sum(len(rows.names) for rows in families))
