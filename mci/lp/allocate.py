"""Allocate: the main function of the room, from a counted incident to its fluid optimum.

**The aggregate loses nothing.**  Patients of a care group are interchangeable, so the programme
counts them instead of naming them.  With continuity and single-use devices out of play its
optimum equals that of the programme with every patient by name:

* from names to numbers: sum the patients of a group on each rung; every row of the aggregate is a
  sum of rows by name, so the result is feasible and earns the same;
* from numbers to names: in each period give every patient of a group the equal share
  ``x_grk / n_gk`` of each rung; each has at most 1, all other rows see only sums, so the result is
  feasible and earns the same.

**With memory it is a bound.**  Step-downs and who owns a single-use device depend on what the same
person had before.  Summing over patients still turns a plan by name into a feasible aggregate
with at most as many step-downs and fittings, so the aggregated optimum is at least as good as any
plan by name; sharing equally no longer gives it back, so it may not be attained.

**The grid loses nothing** either (:mod:`mci.timegrid`): averaging a plan over a period in which
nothing changes keeps its litres, its credit and its feasibility.
"""

from __future__ import annotations

import time
from dataclasses import dataclass

import highspy
import numpy as np
import numpy.typing as npt

from mci.demand.groups import Demand
from mci.errors import NoPlanError
from mci.lp.build import Built, write
from mci.lp.care_rows import care_rows
from mci.lp.extract import draw_table, need_table, service_table
from mci.lp.index import Index, make_index
from mci.lp.objective import coverage, tidiness
from mci.lp.outcome import Outcome, SolverReport, Status
from mci.lp.programme import Columns
from mci.lp.solve import Solver, lexicographic
from mci.lp.supply_rows import supply_rows
from mci.lp.variables import Variables, make_variables
from mci.scenario.model import CATEGORIES, Scenario
from mci.settings import Settings

__all__ = ["Allocation", "allocate", "build"]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Allocation:
    """The outcome, and the loaded programme for questions that follow.

    ``values`` are the values of the columns of the plan, ``earns`` what each column earns in
    weighted coverage, ``bound_values`` the values at the bound.
    """

    outcome: Outcome
    index: Index
    variables: Variables
    built: Built
    solver: Solver
    earns: Floats


def _refuse_impossible(scenario: Scenario) -> None:
    clashes = []
    for area, litres in scenario.reserve.items():
        held = sum(lot.litres for lot in scenario.lots if lot.area == area and np.isfinite(lot.litres))
        if litres > held:
            clashes.append(f"the reserve of {litres:.0f} L at {area}: only {held:.0f} L are ever there")
    if clashes:
        raise NoPlanError(clashes)


def _aims(index: Index, variables: Variables, size: int, priority: str) -> list[Floats]:
    if priority == "weighted":
        return [coverage(index, variables, size)]
    occurring = [c for c in CATEGORIES if any(group.category == c for group in index.demand.groups)]
    return [coverage(index, variables, size, category) for category in occurring]


def build(scenario: Scenario, demand: Demand, priority: str = "weighted") -> tuple[Index, Variables, Built]:
    """Write the programme of an incident."""
    index = make_index(scenario, demand)
    columns = Columns()
    variables = make_variables(index, columns)
    families = [*supply_rows(index, variables), *care_rows(index, variables)]
    aims = _aims(index, variables, len(columns.names), priority)
    return index, variables, write(columns, families, aims)


def allocate(scenario: Scenario, demand: Demand, settings: Settings) -> Allocation:
    """Find the best possible coverage, and among the plans that reach it a steady and sparing one.

    Parameters
    ----------
    scenario
        The incident.
    demand
        Its patients, counted.
    settings
        Priority rule, limits, tolerance.

    Returns
    -------
    Allocation
        Outcome and loaded programme.

    Raises
    ------
    NoPlanError
        If a hard requirement (a reserve) cannot be met.
    SolverLimitError
        If the solver reached its limit without a plan.
    """
    _refuse_impossible(scenario)
    begin = time.perf_counter()
    index, variables, built = build(scenario, demand, settings.priority)
    solver = Solver(built, settings.time_limit, settings.threads)
    loaded = time.perf_counter()
    size = len(built.columns.names)
    earns = coverage(index, variables, size)
    stages = lexicographic(solver, built.aims, tidiness(index, variables, size), settings.hold_tolerance)
    solved = time.perf_counter()

    best, values = stages[-2][1], stages[-1][1].values
    limited = any(solution.status is not Status.OPTIMAL for _, solution in stages)
    columns, rows, nonzeros = solver.size
    return Allocation(
        outcome=Outcome(
            status=Status.LIMIT if limited else Status.OPTIMAL,
            bound=float(earns @ best.values),
            achieved=float(earns @ values),
            service=service_table(index, variables, values, scenario),
            need=need_table(index),
            draw=draw_table(index, variables, values),
            report=SolverReport(
                solver=f"HiGHS {highspy.Highs().version()}",
                columns=columns,
                rows=rows,
                nonzeros=nonzeros,
                build_seconds=loaded - begin,
                solve_seconds=solved - loaded,
            ),
        ),
        index=index,
        variables=variables,
        built=built,
        solver=solver,
        earns=earns,
    )
