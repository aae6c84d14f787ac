"""What given deliveries are worth to one area, asked again and again: only what is given, and when, changes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from mci.demand.groups import Demand
from mci.lp.build import write
from mci.lp.extract import column_values
from mci.lp.given import Grant, write_given
from mci.lp.goal_rows import write_goals
from mci.lp.objective import coverage
from mci.lp.programme import ABSENT, Columns
from mci.lp.solve import Solver
from mci.scenario.model import Scenario
from mci.settings import Settings

__all__ = ["AreaValue", "Value"]

Floats = npt.NDArray[np.float64]

#: A credit-minute that a goal misses counts as much as this many of the highest weight.
GOAL_FIRST = 1000.0


@dataclass(frozen=True, slots=True)
class Value:
    """What an area reaches at best.

    Parameters
    ----------
    missing
        Credit-minutes missing of each goal of the area, by category.
    unkept
        Litres missing of the reserve [L].
    weighted
        Weighted coverage [weighted credit-minutes].
    credit
        Credit-minutes, by category.
    drawn
        Litres drawn from each grant, counted from the start, shape ``(grants, steps)``; cylinders only.
    """

    missing: Mapping[str, float]
    unkept: float
    weighted: float
    credit: Mapping[str, float]
    drawn: Floats


class AreaValue:
    """The programme of care of one area, loaded; the reserve and goals first, then weighted coverage.

    Parameters
    ----------
    scenario, demand
        One area, without what it lends; every step begins at a breakpoint of the grid.
    grants
        What may be given there.
    starts
        Start of each step [min].
    goals
        Per category, the share that is to be reached.
    """

    def __init__(
        self,
        scenario: Scenario,
        demand: Demand,
        grants: Sequence[Grant],
        starts: npt.ArrayLike,
        goals: Mapping[str, float],
        settings: Settings,
    ) -> None:
        columns = Columns()
        self._given = given = write_given(scenario, demand, grants, starts, columns, must_keep=False)
        self._goals = goal_rows = write_goals(given.index, given.variables, goals, columns)
        size = len(columns.names)
        self._earns = coverage(given.index, given.variables, size)
        occurring = sorted({group.category for group in given.index.demand.groups})
        self._credit = {each: coverage(given.index, given.variables, size, each) for each in occurring}
        heaviest = max((option.weight for option in given.index.options), default=1.0)
        costs = -self._earns
        costs[goal_rows.missing] = GOAL_FIRST * max(heaviest, 1.0) * goal_rows.weights
        costs[given.unkept[given.unkept != ABSENT]] = GOAL_FIRST * max(heaviest, 1.0)
        built = write(columns, [*given.families, goal_rows.rows], [-costs])
        self._solver = Solver(built, settings.time_limit, settings.threads)
        self._costs = costs
        self._solved = False

    def value(self, given: Floats) -> Value:
        """Ask what is reached if so many units of each grant are given by each step.

        Parameters
        ----------
        given
            Units counted from the start, shape ``(grants, steps)``.
        """
        columns = self._given.number.ravel()
        self._solver.limit(columns, given.ravel(), given.ravel())
        values = (self._solver.again() if self._solved else self._solver.minimise(self._costs)).values
        self._solved = True
        missing = column_values(self._goals.missing, values)
        return Value(
            missing={category: float(m) for (_, category), m in zip(self._goals.pairs, missing, strict=True)},
            unkept=float(column_values(self._given.unkept, values).sum()),
            weighted=float(self._earns @ values),
            credit={category: float(earns @ values) for category, earns in self._credit.items()},
            drawn=column_values(self._given.drawn, values),
        )
