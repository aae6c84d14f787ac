"""Transport and allocation in one programme: what should be where by when so that oxygen goes farthest.

The optimum is a bound on whatever trips and orders can reach: patients, cylinders and vehicles are
divisible, moments are rounded in their favour (:mod:`mci.lp.haulage`).
"""

from __future__ import annotations

import math
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import highspy
import numpy as np
import numpy.typing as npt

from mci.demand.groups import Demand
from mci.lp.build import Built, write
from mci.lp.extract import column_values
from mci.lp.given import Given, Grant, write_given
from mci.lp.goal_rows import GoalRows, write_goals
from mci.lp.haul_columns import Hauls, make_hauls
from mci.lp.haul_rows import cylinder_links, write_hauls
from mci.lp.haulage import Haulage
from mci.lp.objective import coverage
from mci.lp.outcome import SolverReport, Status
from mci.lp.programme import ABSENT, Columns
from mci.lp.solve import Solver
from mci.scenario.model import Scenario
from mci.scenario.network import ItemKind, PlaceKind
from mci.settings import Settings

__all__ = ["HaulPlan", "Joint", "plan_hauls", "write_joint"]

Floats = npt.NDArray[np.float64]

#: A credit-minute of a goal counts as much as this many cylinders: whatever helps a goal is brought.
MISSING = 10.0
#: Share of the full aim that driving, and giving early, may cost at most: they only choose among the best.
TIDY = 1e-4


@dataclass(frozen=True, slots=True)
class Joint:
    """The programme of transport and allocation together.

    Parameters
    ----------
    costs
        What each column costs; with goals what is missing and what is brought, else minus what is earned.
    earns
        What each column earns in weighted coverage.
    tidy
        The part of the costs that only chooses among the best.
    full
        What full coverage would earn [weighted credit-minutes].
    """

    haulage: Haulage
    given: Given
    hauls: Hauls
    goals: GoalRows
    built: Built
    costs: Floats
    earns: Floats
    tidy: Floats
    full: float


@dataclass(frozen=True, slots=True)
class HaulPlan:
    """What the programme answers.

    Parameters
    ----------
    bound
        Weighted coverage that no trips and orders can beat [weighted credit-minutes]; means nothing where there
        are goals.
    missing
        Per goal (area, category), credit-minutes missing at best.
    grants, given
        What is given where, counted from the start, shape ``(grants, steps)``.
    spent
        Per area and empty item, cylinders surely used up by the end of each step, counted from the start, shape
        ``(steps,)``: what was drawn, less a cylinder for each that may still be in use.
    cylinders
        Full cylinders that come to areas from places where nobody is treated.
    fewest
        The least number of those with which the goals can be met, whatever the trips; means nothing without goals.
    """

    status: Status
    bound: float
    missing: Mapping[tuple[str, str], float]
    grants: tuple[Grant, ...]
    given: Floats
    spent: Mapping[tuple[str, str], Floats]
    cylinders: float
    fewest: float
    report: SolverReport


def write_joint(
    scenario: Scenario, demand: Demand, grants: Sequence[Grant], haulage: Haulage, goals: Mapping[str, float]
) -> Joint:
    """Write the programme.

    Parameters
    ----------
    scenario, demand
        The incident without what areas lend; every step of ``haulage`` begins at a breakpoint.
    grants
        What may be given where.
    goals
        Per category, the share that every area is to reach; empty to maximise coverage.
    """
    columns = Columns()
    given = write_given(scenario, demand, grants, haulage.starts, columns)
    hauls = make_hauls(haulage, columns)
    goal_rows = write_goals(given.index, given.variables, goals, columns)
    size = len(columns.names)
    earns = coverage(given.index, given.variables, size)
    full = _full(given)
    tidy = _tidy(given, hauls, full, size)
    costs = tidy + _brought(hauls, size) if goals else tidy - earns
    costs[goal_rows.missing] += MISSING * goal_rows.weights
    families = [*given.families, *write_hauls(hauls, given), goal_rows.rows]
    return Joint(haulage, given, hauls, goal_rows, write(columns, families, [-costs]), costs, earns, tidy, full)


def _brought(hauls: Hauls, size: int) -> Floats:
    """Return 1 for every column of a full cylinder that comes to an area from a place where nobody is treated."""
    network = hauls.haulage.network
    area = {place.key for place in hauls.places if place.kind is PlaceKind.AREA}
    brought = np.zeros(size)
    for number, key in enumerate(hauls.items):
        if network.items[key].kind is ItemKind.FULL:
            for hop, way in enumerate(hauls.haulage.hops):
                if way.start not in area and way.end in area:
                    columns = hauls.carry[number, hop]
                    brought[columns[columns != ABSENT]] = 1.0
    return brought


def _full(given: Given) -> float:
    index = given.index
    present = index.demand.present @ index.grid.lengths
    return float(sum(option.weight * present[option.group] for option in index.options if option.rung == 0))


def _tidy(given: Given, hauls: Hauls, full: float, size: int) -> Floats:
    """Return small costs of minutes on the road, with and without load, and of giving early.

    For trips that can be carried out they are at most ``TIDY`` of full coverage together.
    """
    costs = np.zeros(size)
    network = hauls.haulage.network
    minutes = hauls.haulage.ends[-1] * max(1, len(network.vehicles))
    things = sum(stock.quantity for stock in network.stock) + _most_filled(hauls)
    costs[hauls.driven] = TIDY * full / minutes / 3
    costs[given.number] = TIDY * full / max(1.0, things) / given.number.shape[1] / 3
    carried = hauls.haulage.ends[-1] * max(1, sum(sum(v.slots.values()) for v in network.vehicles))
    for hop, each in enumerate(hauls.haulage.hops):
        cylinders = [n for n, key in enumerate(hauls.items) if network.items[key].cylinder]
        columns = hauls.carry[cylinders, hop]
        costs[columns[columns != ABSENT]] = TIDY * full * each.minutes / carried / 3
    return costs


def _most_filled(hauls: Hauls) -> float:
    """Return how many cylinders can be filled at most."""
    hours = hauls.haulage.ends[-1] / 60.0
    lots = [item.lot for item in hauls.haulage.network.items.values() if item.lot is not None]
    least = min((lot.litres_each for lot in lots), default=math.inf)
    stations = [place.filling for place in hauls.places if place.filling is not None]
    return float(sum(hours * min(each.per_hour, each.litres_per_hour / least) for each in stations))


def _spent(joint: Joint, values: Floats) -> dict[tuple[str, str], Floats]:
    """Return what is used up: a cylinder in use may be nearly full, so each one counts as not yet empty."""
    hauls, given = joint.hauls, joint.given
    found = {}
    for number, key in enumerate(hauls.items):
        for rank, place in enumerate(hauls.places):
            if (hauls.free[number, rank] != ABSENT).any():
                cylinder = joint.haulage.network.items[key].cylinder
                emptied, in_use = np.zeros(joint.haulage.steps), np.zeros(joint.haulage.steps)
                for link, litres_each in cylinder_links(given, place.key, cylinder):
                    source = given.index.sources[given.variables.links[link].source]
                    connected = column_values(given.variables.connect[link], values)
                    flow = given.index.levels[given.variables.links[link].level].flow
                    np.add.at(emptied, given.step_of, connected * flow * given.index.grid.lengths / litres_each)
                    most = np.zeros_like(in_use)
                    np.maximum.at(most, given.step_of, connected / max(1, source.outlets.outlets))
                    in_use += most
                found[place.key, key] = np.maximum.accumulate(np.maximum(np.cumsum(emptied) - np.ceil(in_use), 0.0))
    return found


def plan_hauls(joint: Joint, settings: Settings) -> HaulPlan:
    """Solve the programme of transport and allocation.

    Raises
    ------
    NoPlanError
        If a hard requirement (a reserve) cannot be met.
    SolverLimitError
        If the solver reached its limit without a plan.
    """
    begin = time.perf_counter()
    solver = Solver(joint.built, settings.time_limit, settings.threads, corner=False)
    loaded = time.perf_counter()
    solution = solver.minimise(joint.costs)
    seconds = time.perf_counter() - loaded
    values = solution.values
    columns, rows, nonzeros = solver.size
    given, hauls = joint.given, joint.hauls
    reached, cylinders = float(joint.earns @ values), float(_brought(hauls, len(values)) @ values)
    spared = TIDY * joint.full - float(joint.tidy @ values)  # what tidiness can have cost at most
    proven = solution.status is Status.OPTIMAL
    return HaulPlan(
        status=solution.status,
        bound=min(joint.full, reached + spared) if proven else joint.full,
        missing=dict(zip(joint.goals.pairs, column_values(joint.goals.missing, values).tolist(), strict=True)),
        grants=given.grants,
        given=column_values(given.number, values),
        spent=_spent(joint, values),
        cylinders=cylinders,
        fewest=max(0.0, cylinders - spared) if proven else 0.0,
        report=SolverReport(
            solver=f"HiGHS {highspy.Highs().version()}",
            columns=columns,
            rows=rows,
            nonzeros=nonzeros,
            build_seconds=loaded - begin,
            solve_seconds=seconds,
        ),
    )
