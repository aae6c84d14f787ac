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
from collections.abc import Collection, Sequence
from dataclasses import dataclass

import highspy
import numpy as np
import numpy.typing as npt
import pandas as pd

from mci.demand.groups import Demand
from mci.errors import NoPlanError
from mci.lp.build import Built, write
from mci.lp.care_rows import care_rows
from mci.lp.extract import draw_table, need_table, service_table
from mci.lp.index import Index, litres_stored_to, make_index
from mci.lp.objective import coverage, tidiness
from mci.lp.outcome import Outcome, SolverReport, Status
from mci.lp.parts import split
from mci.lp.programme import Columns
from mci.lp.solve import Solution, Solver, lexicographic, solver_name
from mci.lp.supply_rows import supply_rows
from mci.lp.variables import Variables, make_variables
from mci.scenario.model import CATEGORIES, Scenario
from mci.settings import Settings

__all__ = [
    "Allocation",
    "Part",
    "aims_of",
    "allocate",
    "allocation_of",
    "build",
    "refuse_impossible",
    "solve_part",
    "weighted_need",
]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Part:
    """One area's programme, loaded and solved.

    Parameters
    ----------
    earns
        What each column earns in weighted coverage.
    best, plan
        The solution at the bound, and the steady and sparing one.
    corner
        Basis of ``best``, where others are solved from it; else ``None``.
    """

    scenario: Scenario
    index: Index
    variables: Variables
    built: Built
    solver: Solver
    earns: Floats
    best: Solution
    plan: Solution
    build_seconds: float
    solve_seconds: float
    corner: highspy.HighsBasis | None = None


@dataclass(frozen=True, slots=True)
class Allocation:
    """The outcome, and the loaded programmes for questions that follow."""

    outcome: Outcome
    parts: tuple[Part, ...]


def refuse_impossible(scenario: Scenario) -> None:
    """Refuse what no plan can meet.

    Raises
    ------
    NoPlanError
        If more is to be left at an area than can be there at the end.
    """
    clashes = []
    for area, litres in scenario.reserve.items():
        held = litres_stored_to(scenario.lots, area, scenario.horizon)
        if litres > held:
            clashes.append(f"the reserve of {litres:.0f} L at {area}: only {held:.0f} L can be there at the end")
    if clashes:
        raise NoPlanError(clashes)


def aims_of(index: Index, variables: Variables, size: int, priority: str, first: Collection[str] = ()) -> list[Floats]:
    """Return what each column earns, one vector per stage: weighted, or one per category with the strict rule."""
    if priority == "weighted":
        return [coverage(index, variables, size)]
    occurring = [c for c in CATEGORIES if any(group.category == c for group in index.demand.groups)]
    occurring.sort(key=lambda category: category not in first)
    return [coverage(index, variables, size, category) for category in occurring]


def build(
    scenario: Scenario,
    demand: Demand,
    priority: str = "weighted",
    first: Collection[str] = (),
    *,
    memory: bool = True,
) -> tuple[Index, Variables, Built]:
    """Write the programme of an incident.

    Parameters
    ----------
    scenario, demand
        The incident and its patients, counted.
    priority
        ``weighted`` or ``strict``.
    first
        Categories that come before the others with the strict rule.
    memory
        Whether step-downs and the owners of single-use devices are counted.
    """
    index = make_index(scenario, demand)
    columns = Columns()
    variables = make_variables(index, columns, memory=memory)
    families = [*supply_rows(index, variables), *care_rows(index, variables)]
    aims = aims_of(index, variables, len(columns.names), priority, first)
    return index, variables, write(columns, families, aims)


def solve_part(scenario: Scenario, demand: Demand, settings: Settings) -> Part:
    """Write, load and solve the programme of one part (or of a whole incident at once)."""
    begin = time.perf_counter()
    index, variables, built = build(scenario, demand, settings.priority, settings.first)
    solver = Solver(built, settings.time_limit, settings.threads)
    loaded = time.perf_counter()
    size = len(built.columns.names)
    stages = lexicographic(solver, built.aims, tidiness(index, variables, size), settings.hold_tolerance)
    return Part(
        scenario=scenario,
        index=index,
        variables=variables,
        built=built,
        solver=solver,
        earns=coverage(index, variables, size),
        best=stages[-2],
        plan=stages[-1],
        build_seconds=loaded - begin,
        solve_seconds=time.perf_counter() - loaded,
    )


def weighted_need(scenario: Scenario, demand: Demand) -> float:
    """Return what full coverage would earn: ``sum w_c(g) tau_k n_gk`` [weighted credit-minutes]."""
    weights = np.array([scenario.weights[group.category] for group in demand.groups])
    return float(weights @ demand.present @ demand.grid.lengths)


def _report(parts: Sequence[Part]) -> SolverReport:
    columns, rows, nonzeros = (sum(part.solver.size[n] for part in parts) for n in range(3))
    return SolverReport(
        solver=solver_name(),
        columns=columns,
        rows=rows,
        nonzeros=nonzeros,
        build_seconds=sum(part.build_seconds for part in parts),
        solve_seconds=sum(part.solve_seconds for part in parts),
    )


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
        Outcome and loaded programmes.  Where a limit stopped the solver, the bound is what full
        coverage would earn: nothing better is proven.

    Raises
    ------
    NoPlanError
        If a hard requirement (a reserve) cannot be met.
    SolverLimitError
        If the solver reached its limit without a plan.
    """
    refuse_impossible(scenario)
    return allocation_of(scenario, demand, tuple(solve_part(*part, settings) for part in split(scenario, demand)))


def allocation_of(scenario: Scenario, demand: Demand, parts: tuple[Part, ...]) -> Allocation:
    """Return the outcome of an incident, its areas solved."""
    solved = all(part.best.status is part.plan.status is Status.OPTIMAL for part in parts)
    tables = [
        (
            service_table(part.index, part.variables, part.plan.values, part.scenario),
            need_table(part.index),
            draw_table(part.index, part.variables, part.plan.values),
        )
        for part in parts
    ]
    service, need, draw = (pd.concat(kind, ignore_index=True) for kind in zip(*tables, strict=True))
    best = sum(float(part.earns @ part.best.values) for part in parts)
    outcome = Outcome(
        status=Status.OPTIMAL if solved else Status.LIMIT,
        bound=best if solved else weighted_need(scenario, demand),
        achieved=sum(float(part.earns @ part.plan.values) for part in parts),
        service=service,
        need=need,
        draw=draw,
        report=_report(parts),
    )
    return Allocation(outcome, parts)
