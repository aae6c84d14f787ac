"""One programme for many variants of an incident: loaded once, changed in place, and solved again from a kept basis.

A few variants are solved when the frame is made.  Every other is solved from the basis of the one of them whose limits
are nearest, with everything else cleared, so its answer does not depend on which variant was solved before it
(:meth:`mci.lp.solve.Solver.minimise_from`).
"""

from __future__ import annotations

import functools
import hashlib
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
from mci.lp.programme import ABSENT, Columns, Rows
from mci.lp.solve import Solution, Solver, lexicographic
from mci.lp.supply_rows import supply_rows
from mci.lp.variables import make_variables
from mci.scenario.model import Scenario
from mci.settings import Settings
from mci.timegrid import TimeGrid, make_grid

__all__ = ["Frame"]

Floats = npt.NDArray[np.float64]

#: From so many variants of one structure at most others are solved; each costs a solve when the frame is made.
STARTS = 16
#: A best possible that falls by less than this share has not fallen: what solvers leave.
SAME = 1e-6


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

    def as_good(self, scenario: Scenario, parts: Sequence[Part]) -> bool:
        """Tell whether the best possible of a variant is no less, at the areas of some parts, than theirs.

        With the strict rule, that of the first category.  Raises as :meth:`allocate` does.

        Parameters
        ----------
        scenario
            The variant.
        parts
            Areas of a similar variant, as a frame has solved them.
        """
        refuse_impossible(scenario)
        demand = self._count(scenario)
        there = {part.scenario.areas[0].key: part for part in parts}
        if not self._frames.keys() >= there.keys():
            raise ValueError("there are patients at an area where no variant has any")
        return all(self._frames[area].as_good(_at(area, scenario, demand), part) for area, part in there.items())

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
    """The programmes of one area: one for each structure of nonzeros that occurs among the variants."""

    def __init__(self, variants: Sequence[Variant], settings: Settings) -> None:
        self._settings = settings
        self._hull, self._index = find_hull(variants)
        self._columns = Columns()
        self._variables = make_variables(self._index, self._columns)
        alike: dict[str, list[tuple[Index, _Rows]]] = {}
        for variant in variants:
            index = fit(variant, self._hull, self._index)
            rows = self._rows(index)
            alike.setdefault(rows.structure, []).append((index, rows))
        self._loaded = {structure: self._load(written) for structure, written in alike.items()}

    def solve(self, variant: Variant) -> Part:
        """Solve a variant from the kept bases."""
        begin = time.perf_counter()
        index, built, loaded = self._enter(variant)
        taken = time.perf_counter()
        last = tidiness(index, self._variables, len(self._columns.names))
        first, corner = loaded.maximise(built), loaded.solver.basis()
        stages = lexicographic(loaded.solver, built.aims, last, self._settings.hold_tolerance, first)
        return Part(
            scenario=replace(variant[0], lots=index.lots),
            index=index,
            variables=self._variables,
            built=built,
            solver=loaded.solver,
            earns=aims_of(index, self._variables, len(self._columns.names), "weighted")[0],
            best=stages[-2],
            plan=stages[-1],
            build_seconds=taken - begin,
            solve_seconds=time.perf_counter() - taken,
            corner=corner,
        )

    def as_good(self, variant: Variant, part: Part) -> bool:
        """Tell whether the optimum of the first aim is no less than that of a similar variant."""
        _, built, loaded = self._enter(variant)
        reached = float(part.built.aims[0] @ part.best.values)
        enough = reached - SAME * max(1.0, reached)
        if part.solver is loaded.solver and part.corner is not None:
            return loaded.solver.stays_within(part.corner, -built.aims[0], -enough)
        return float(built.aims[0] @ loaded.maximise(built).values) >= enough

    def _enter(self, variant: Variant) -> tuple[Index, Built, _Loaded]:
        """Put a variant into the programme of its structure."""
        index = fit(variant, self._hull, self._index)
        rows = self._rows(index)
        loaded = self._loaded.get(rows.structure)
        if loaded is None:
            raise ValueError("the variant has other nonzeros")
        return index, self._take(loaded, index, rows), loaded

    def _rows(self, index: Index) -> _Rows:
        """Write a variant on the columns of the hull."""
        settings, variables = self._settings, self._variables
        return _Rows(
            families=(*supply_rows(index, variables), *care_rows(index, variables)),
            aims=tuple(aims_of(index, variables, len(self._columns.names), settings.priority, settings.first)),
        )

    def _load(self, alike: Sequence[tuple[Index, _Rows]]) -> _Loaded:
        """Load the programme of variants of one structure, and keep the solutions of some of them."""
        first = alike[0][1]
        built = write(self._columns, first.families, first.aims)
        loaded = _Loaded(built, Solver(built, self._settings.time_limit, self._settings.threads), [])
        for index, rows in alike[:: -(-len(alike) // STARTS)]:
            taken = self._take(loaded, index, rows)
            loaded.maximise(taken)
            loaded.starts.append(_Start(taken.limits, loaded.solver.basis()))
        return loaded

    def _take(self, loaded: _Loaded, index: Index, rows: _Rows) -> Built:
        """Put the numbers of a variant into the loaded programme."""
        built = replace(loaded.built, families=rows.families, aims=rows.aims)
        self._limit_columns(loaded.solver, index)
        loaded.solver.take(built)
        return built

    def _limit_columns(self, solver: Solver, index: Index) -> None:
        """Allow what the variant has: no supply outside its own time, no more owners than stayed or came along."""
        variables, periods = self._variables, np.arange(index.grid.periods)
        for number, link in enumerate(variables.links):
            begin, end = index.windows[index.sources[link.source].lot]
            row = variables.connect[number]
            here = row != ABSENT
            there = (periods >= begin) & (periods < end)
            solver.limit(row[here], np.where(there, np.inf, 0.0)[here])
        groups = [wearer.group for wearer in variables.wearers]
        most = index.demand.stayers[groups] + index.demand.transferred[groups]
        here = variables.keep != ABSENT
        solver.limit(variables.keep[here], most[here])


@dataclass(frozen=True)
class _Rows:
    """What a variant writes on the columns of the hull."""

    families: tuple[Rows, ...]
    aims: tuple[Floats, ...]

    @functools.cached_property
    def structure(self) -> str:
        """A name for where the nonzeros are: programmes of one structure differ in values only."""
        where = hashlib.sha256()
        for rows in self.families:
            for part in (np.array(len(rows.rhs)), rows.row, rows.column):
                where.update(np.ascontiguousarray(part).tobytes())
        for aim in self.aims:
            where.update((aim != 0).tobytes())
        return where.hexdigest()


@dataclass(frozen=True, slots=True)
class _Start:
    """A variant that was solved first: its limits, and the basis at its best coverage."""

    limits: Floats
    basis: highspy.HighsBasis


@dataclass(frozen=True, slots=True)
class _Loaded:
    """A programme in the solver, as it was loaded, and the variants that were solved first."""

    built: Built
    solver: Solver
    starts: list[_Start]

    def maximise(self, built: Built) -> Solution:
        """Maximise the first aim of what it has become, from the basis of the start whose limits are nearest."""
        cost = -built.aims[0]
        if not self.starts:
            return self.solver.minimise(cost)
        limits = built.limits
        near = min(self.starts, key=lambda start: _distance(start.limits, limits))
        return self.solver.minimise_from(near.basis, cost)


def _distance(one: Floats, other: Floats) -> float:
    """Return how unlike limits are: relative differences, so that litres do not count for more than patients."""
    return float((np.abs(one - other) / (1.0 + np.maximum(np.abs(one), np.abs(other)))).sum())
