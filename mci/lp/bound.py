"""The bound alone: the optimum of coverage and nothing else, for whoever asks for it again and again.

The same rows as in :mod:`mci.lp.allocate`, but handed over without PuLP between them, without what only chooses among
plans of equal coverage, and solved once: a third of the time or less.
"""

from __future__ import annotations

import highspy
import numpy as np

from mci.demand.groups import Demand
from mci.lp.allocate import refuse_impossible, weighted_need
from mci.lp.care_rows import care_rows
from mci.lp.handover import hand_over
from mci.lp.index import make_index
from mci.lp.objective import coverage
from mci.lp.parts import split
from mci.lp.programme import Columns
from mci.lp.supply_rows import supply_rows
from mci.lp.variables import make_variables
from mci.scenario.model import Scenario
from mci.settings import Settings

__all__ = ["find_bound"]

#: Doing nothing is feasible, so the primal method begins at once; measured to take a quarter of the dual one's time.
_PRIMAL = 4  # HiGHS: simplex_strategy
_SOLVED = (highspy.HighsModelStatus.kOptimal, highspy.HighsModelStatus.kModelEmpty)


def find_bound(scenario: Scenario, demand: Demand, settings: Settings) -> float:
    """Return what no plan can beat [weighted credit-minutes], as :func:`mci.lp.allocate.allocate` does.

    Parameters
    ----------
    scenario, demand
        The incident and its patients, counted.
    settings
        Limits; categories always count by their weights.  Where a limit stopped the solver, the bound is what full
        coverage would earn.

    Raises
    ------
    NoPlanError
        If a hard requirement (a reserve) cannot be met.
    """
    refuse_impossible(scenario)
    return sum(_part(*part, settings) for part in split(scenario, demand))


def _part(scenario: Scenario, demand: Demand, settings: Settings) -> float:
    index, columns = make_index(scenario, demand), Columns()
    variables = make_variables(index, columns, steady=False)
    families = [*supply_rows(index, variables), *care_rows(index, variables)]
    earns = coverage(index, variables, len(columns.names))
    solver = hand_over(columns, families)
    solver.setOptionValue("threads", settings.threads)
    solver.setOptionValue("time_limit", settings.time_limit)
    solver.changeColsCost(len(earns), np.arange(len(earns), dtype=np.int32), -earns)
    solver.setOptionValue("solver", "simplex")
    solver.setOptionValue("simplex_strategy", _PRIMAL)
    solver.run()
    need = weighted_need(scenario, demand)
    if solver.getModelStatus() not in _SOLVED:
        return need
    return min(-float(solver.getInfo().objective_function_value), need)
