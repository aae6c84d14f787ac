"""The same programme with every patient by name, written in plain PuLP: the yardstick for the aggregate."""

from __future__ import annotations

import math
from collections import defaultdict

import highspy
import pulp

from mci.demand.groups import count_demand
from mci.demand.stays import find_stays
from mci.lp.index import Index, make_index
from mci.scenario.model import Scenario

__all__ = ["solve_by_name"]

Terms = list[tuple[float, pulp.LpVariable]]


def _sum(terms: Terms) -> pulp.LpAffineExpression:
    return pulp.lpSum(weight * variable for weight, variable in terms)


def _supplies(problem: pulp.LpProblem, index: Index, drawn: dict[tuple[int, int], Terms]) -> None:
    """Limit what is drawn (flow, patient's share) from each source and period."""
    tau = index.grid.lengths.tolist()
    litres: dict[int, Terms] = defaultdict(list)
    regulators: dict[tuple[int, int], Terms] = defaultdict(list)
    power: dict[tuple[str, int], Terms] = defaultdict(list)
    for (s, k), users in drawn.items():
        source = index.sources[s]
        lot = index.lots[source.lot]
        use = problem.add_variable(f"c_{s}_{k}", 0, lot.quantity)
        problem += pulp.lpSum(x for _, x in users) <= source.outlets.outlets * use, f"outlets_{s}_{k}"
        problem += _sum(users) <= source.outlets.total_max_lpm * use, f"rate_{s}_{k}"
        litres[source.lot] += [(tau[k] * flow, x) for flow, x in users]
        regulators[source.pool, k].append((1.0, use))
        power[lot.area, k].append((lot.watts_each, use))
    for number, terms in litres.items():
        if math.isfinite(index.lots[number].litres):
            problem += _sum(terms) <= index.lots[number].litres, f"content_{number}"
    for (pool, k), terms in regulators.items():
        if pool >= 0:
            problem += _sum(terms) <= float(index.regulator_pools[pool].stock[k]), f"regulators_{pool}_{k}"
    for (area, k), terms in power.items():
        problem += _sum(terms) <= float(index.power[area][k]), f"power_{area}_{k}"


def solve_by_name(scenario: Scenario, method: str) -> tuple[float, int]:
    """Return the best weighted coverage, and the columns that it took.

    ``x`` is the share of a period that a patient spends on a rung of the ladder from a source.
    Leaves out what needs memory (single-use devices that run short, step-downs) and staff, so
    the incident must not be short of either.

    Parameters
    ----------
    scenario
        The incident.
    method
        HiGHS's ``solver`` option; ``choose`` is its default.
    """
    demand = count_demand(scenario)
    index = make_index(scenario, demand)
    tau = index.grid.lengths.tolist()
    problem = pulp.LpProblem("by-name", pulp.LpMinimize)
    drawn: dict[tuple[int, int], Terms] = defaultdict(list)
    earned: Terms = []
    people = [stay for stay in find_stays(scenario) for _ in range(stay.count)]
    for number, stay in enumerate(people):
        first, last = (int(k) for k in index.grid.index([stay.start, stay.end]))
        for k in range(first, last):
            mine: Terms = []
            for r, rung in enumerate(scenario.ladders[stay.ladder].rungs):
                for s, source in enumerate(index.sources):
                    begin, end = index.windows[source.lot]
                    fits = rung.flow_lpm <= source.outlets.outlet_max_lpm and begin <= k < end
                    if fits and index.lots[source.lot].area == stay.area:
                        x = problem.add_variable(f"x_{number}_{r}_{s}_{k}", 0)
                        drawn[s, k].append((rung.flow_lpm, x))
                        mine.append((scenario.weights[stay.category] * rung.credit * tau[k], x))
            problem += pulp.lpSum(x for _, x in mine) <= 1, f"presence_{number}_{k}"
            earned += mine
    _supplies(problem, index, drawn)
    problem.setObjective(pulp.lpSum(-worth * x for worth, x in earned))
    problem.solve(pulp.HiGHS(msg=False, threads=1, solver=method))
    solver = problem.solverModel
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        raise RuntimeError("the yardstick was not solved")
    return -solver.getInfo().objective_function_value, solver.getNumCol()
