"""One programme for many variants of an incident: loaded once, changed in place, and solved again from a kept basis.

A few variants are solved when the frame is made.  Every other is solved from the basis of the one of them whose limits
are nearest, with everything else cleared, so its answer does not depend on which variant was solved before it
(:meth:`mci.lp.solve.Solver.minimise_from`).
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

import highspy
import numpy as np
import numpy.typing as npt

from mci.demand.groups import Demand, count_demand
from mci.lp.allocate import Allocation, Part, aims_of, allocation_of, refuse_impossible
from mci.lp.build import Built, write
from mci.lp.care_rows import care_rows
from mci.lp.hull import Variant, find_hull, fit
from mci.lp.index import Index
from mci.lp.objective import tidiness
from mci.lp.parts import restrict
from mci.lp.programme import ABSENT, Columns
from mci.lp.solve import Solution, Solver
from mci.lp.supply_rows import supply_rows
from mci.lp.variables import make_variables
from mci.scenario.model import Scenario
from mci.settings import Settings
from mci.timegrid import TimeGrid, make_grid

__all__ = ["Frame"]

Floats = npt.NDArray[np.float64]

#: From so many variants at most others are solved; each costs a solve when the frame is made.
STARTS = 16


class Frame:
    """The programme of several variants of an incident, and of any other that fits between them.

    Parameters
    ----------
    scenarios
        Variants that it must hold; from the solutions of some of them others are solved.
    settings
        Priority rule, limits, tolerance.

    Raises
    ------
    ValueError
        If they differ in more than numbers.
    NoPlanError, SolverLimitError
        If one of them cannot be planned.
    """

    def __init__(self, scenarios: Sequence[Scenario], settings: Settings) -> None:
        first = scenarios[0]
        moments = {float(m) for each in scenarios for m in count_demand(each).grid.points}
        self._grid = make_grid(moments, first.horizon, settings.max_period)
        demands = [self._count(each) for each in scenarios]
        self._areas = tuple(area.key for area in first.areas)
        self._frames: dict[str, _AreaFrame] = {}
        for area in self._areas:
            variants = [_at(area, s, d) for s, d in zip(scenarios, demands, strict=True)]
            if any(demand.groups for _, demand in variants):
                self._frames[area] = _AreaFrame(variants, settings)

    def allocate(self, scenario: Scenario) -> Allocation:
        """Answer a variant as :func:`mci.lp.allocate.allocate` does; its programmes serve until the next one is asked.

        Raises
        ------
        ValueError
            If the variant does not fit: a moment off the grid, another ladder, something that none of the variants has.
        NoPlanError
            If a hard requirement (a reserve) cannot be met.
        SolverLimitError
            If the solver reached its limit without a plan.
        """
        refuse_impossible(scenario)
        demand = self._count(scenario)
        if tuple(area.key for area in scenario.areas) != self._areas:
            raise ValueError("the variant has other areas")
        parts = []
        for area in self._areas:
            variant = _at(area, scenario, demand)
            if variant[1].groups and area not in self._frames:
                raise ValueError(f"there are patients at {area}, which no variant has")
            if variant[1].groups:
                parts.append(self._frames[area].solve(variant))
        return allocation_of(scenario, demand, tuple(parts))

    def _count(self, scenario: Scenario) -> Demand:
        """Count the patients on the common grid."""
        demand = count_demand(scenario, moments=self._grid.points)
        if len(demand.grid.points) != len(self._grid.points) or demand.grid.points[-1] != self._grid.points[-1]:
            raise ValueError("a moment of the variant is no breakpoint")
        return replace(demand, grid=TimeGrid(self._grid.points))


def _at(area: str, scenario: Scenario, demand: Demand) -> Variant:
    kept = [number for number, group in enumerate(demand.groups) if group.area == area]
    return restrict(scenario, area), demand.select(kept)


class _AreaFrame:
    """The programme of one area."""

    def __init__(self, variants: Sequence[Variant], settings: Settings) -> None:
        self._settings = settings
        self._hull, self._index = find_hull(variants)
        self._columns = Columns()
        self._variables = make_variables(self._index, self._columns)
        first = fit(variants[0], self._hull, self._index)
        self._built = self._write(first, load=True)
        self._solver = Solver(self._built, settings.time_limit, settings.threads)
        self._starts: list[_Start] = []
        for variant in variants[:: -(-len(variants) // STARTS)]:
            index = fit(variant, self._hull, self._index)
            built = self._take(index)
            self._maximise(built)
            self._starts.append(_Start(_limits(built), self._solver.basis()))

    def solve(self, variant: Variant) -> Part:
        """Solve a variant from the kept bases."""
        begin = time.perf_counter()
        index = fit(variant, self._hull, self._index)
        built = self._take(index)
        loaded = time.perf_counter()
        stages = self._stages(index, built)
        return Part(
            scenario=replace(variant[0], lots=index.lots),
            index=index,
            variables=self._variables,
            built=built,
            solver=self._solver,
            earns=aims_of(index, self._variables, len(self._columns.names), "weighted")[0],
            best=stages[-2],
            plan=stages[-1],
            build_seconds=loaded - begin,
            solve_seconds=time.perf_counter() - loaded,
        )

    def _take(self, index: Index) -> Built:
        """Put the numbers of a variant into the loaded programme."""
        built = self._write(index)
        self._limit_columns(index)
        self._solver.take(built)
        return built

    def _write(self, index: Index, *, load: bool = False) -> Built:
        """Write a variant on the columns of the hull.

        Raises
        ------
        ValueError
            If its nonzeros are not those of the others.
        """
        families = (*supply_rows(index, self._variables), *care_rows(index, self._variables))
        settings = self._settings
        aims = tuple(aims_of(index, self._variables, len(self._columns.names), settings.priority, settings.first))
        if load:
            return write(self._columns, families, aims)
        same = all(
            np.array_equal(old.row, new.row) and np.array_equal(old.column, new.column) and len(old.rhs) == len(new.rhs)
            for old, new in zip(self._built.families, families, strict=True)
        )
        if not same or not all(np.array_equal(o != 0, n != 0) for o, n in zip(self._built.aims, aims, strict=True)):
            raise ValueError("the variant has other nonzeros")
        return replace(self._built, families=families, aims=aims)

    def _limit_columns(self, index: Index) -> None:
        """Allow what the variant has: no supply outside its own time, no more owners than stayed or came along."""
        variables, periods = self._variables, np.arange(index.grid.periods)
        for number, link in enumerate(variables.links):
            begin, end = index.windows[index.sources[link.source].lot]
            row = variables.connect[number]
            here = row != ABSENT
            there = (periods >= begin) & (periods < end)
            self._solver.limit(row[here], np.where(there, np.inf, 0.0)[here])
        groups = [wearer.group for wearer in variables.wearers]
        most = index.demand.stayers[groups] + index.demand.transferred[groups]
        here = variables.keep != ABSENT
        self._solver.limit(variables.keep[here], most[here])

    def _maximise(self, built: Built) -> Solution:
        """Maximise the first aim, from the basis of the start whose limits are nearest."""
        cost = -built.aims[0]
        if not self._starts:
            return self._solver.minimise(cost)
        limits = _limits(built)
        near = min(self._starts, key=lambda start: _distance(start.limits, limits))
        return self._solver.minimise_from(near.basis, cost)

    def _stages(self, index: Index, built: Built) -> list[Solution]:
        """Maximise one aim after the other, each held, then tidy up; each stage goes on from the one before."""
        costs = [-aim for aim in built.aims] + [tidiness(index, self._variables, len(self._columns.names))]
        tolerance, stages = self._settings.hold_tolerance, [self._maximise(built)]
        for number, (aim, cost) in enumerate(zip(built.aims, costs[1:], strict=True)):
            best = float(aim @ stages[-1].values)
            self._solver.hold(number, best - tolerance * max(1.0, abs(best)))
            stages.append(self._solver.minimise(cost))
        return stages


@dataclass(frozen=True, slots=True)
class _Start:
    """A variant that was solved first: its limits, and the basis at its best coverage."""

    limits: Floats
    basis: highspy.HighsBasis


def _distance(one: Floats, other: Floats) -> float:
    """Return how unlike limits are: relative differences, so that litres do not count for more than patients."""
    return float((np.abs(one - other) / (1.0 + np.maximum(np.abs(one), np.abs(other)))).sum())


def _limits(built: Built) -> Floats:
    return np.concatenate([rows.rhs for rows in built.families])
