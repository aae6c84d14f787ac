"""How many more cylinders must be where by when so that nobody of a goal falls below target.

The same rows about gas as in the allocation, with everybody of the goal fixed on the top rung
and, at every area, a growing number of full cylinders of the planner's size, each with its outlets.
Patients outside the goal take what is left and are not part of it.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from mci.demand.groups import Demand
from mci.lp.build import write
from mci.lp.extract import column_values, draw_table
from mci.lp.index import Index, make_index
from mci.lp.names import make_name
from mci.lp.programme import ABSENT, Columns, Rows, RowWriter
from mci.lp.solve import Solver
from mci.lp.supply_rows import supply_rows
from mci.lp.variables import Variables, make_variables
from mci.scenario.model import LotKind, Resupply, Scenario
from mci.settings import Settings

__all__ = ["Requirement", "require"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

#: Cost of a patient-minute that even the extra cylinders cannot serve, in cylinders: far above any real cost.
UNMET_COST = 1e4
#: Cost of an extra litre, where only the litres are left to choose.
LITRE_COST = 1e-3
#: Cylinders closer to a whole number than this are that number.
WHOLE = 1e-5


@dataclass(frozen=True, slots=True)
class Requirement:
    """The least extra gas that meets a goal.

    Parameters
    ----------
    areas
        Keys of the areas.
    starts
        Start of each period [min].
    cylinders
        Whole extra cylinders that must be there by the start of each period, shape ``(areas, periods)``.
    litres
        Litres drawn from them by the end of each period, same shape.
    handling
        Staff time that all draws cost at the least by the end of each period [person-min], same shape.
    idle
        Litres left at the end in cylinders of the area that need a regulator.
    unmet
        Per draw level that the extra cylinders cannot serve: area, flow [L/min], most patients.
    """

    areas: tuple[str, ...]
    starts: Floats
    cylinders: npt.NDArray[np.int64]
    litres: Floats
    handling: Floats
    idle: Floats
    unmet: tuple[tuple[str, float, float], ...]


@dataclass(frozen=True, slots=True)
class _Extra:
    """Columns of the extra supply: ``drawn`` and ``unmet`` per level and period, ``here`` per area and period."""

    drawn: Ints
    unmet: Ints
    here: Ints


def _only_goal(scenario: Scenario, demand: Demand, goal: Collection[str]) -> tuple[Scenario, Demand]:
    kept = [number for number, group in enumerate(demand.groups) if group.category in goal]
    top = {key: replace(ladder, rungs=ladder.rungs[:1]) for key, ladder in scenario.ladders.items()}
    return replace(scenario, ladders=top), demand.select(kept)


def _wanted(index: Index) -> Floats:
    """Patients per draw level and period [patients]."""
    wanted = np.zeros((len(index.levels), index.grid.periods))
    for option in index.options:
        if option.level >= 0:
            wanted[option.level] += index.demand.present[option.group]
    return wanted


def _extra_columns(index: Index, columns: Columns, wanted: Floats, resupply: Resupply) -> _Extra:
    fits = np.array([level.passes(resupply.outlets) for level in index.levels], dtype=bool)
    drawn = columns.add("extra", (wanted > 0) & fits[:, np.newaxis])
    unmet = columns.add("unmet", wanted > 0)
    return _Extra(drawn, unmet, columns.add("here", np.ones((len(index.areas), index.grid.periods), dtype=bool)))


def _target(index: Index, variables: Variables, extra: _Extra, wanted: Floats) -> Rows:
    """Everybody at the level is on target: ``sum_g x + extra + unmet = wanted`` per draw level and period."""
    size = index.grid.periods
    periods = np.arange(size)
    writer = RowWriter()
    for number, option in enumerate(index.options):
        if option.level >= 0:
            writer.add(option.level * size + periods, variables.serve[number], 1.0)
    rows = np.arange(len(index.levels))[:, np.newaxis] * size + periods
    writer.add(rows, extra.drawn, 1.0)
    writer.add(rows, extra.unmet, 1.0)
    names = [make_name("target", level, k) for level in range(len(index.levels)) for k in periods.tolist()]
    return writer.finish(names, wanted.ravel(), equal=True)


def _extra_outlets(index: Index, extra: _Extra, resupply: Resupply) -> Rows:
    """Extra cylinders limit patients and flow: ``sum_f extra <= outlets here``, likewise the rest."""
    size = index.grid.periods
    periods = np.arange(size)
    own = resupply.outlets
    limits = (own.outlets, own.high_pressure_outlets, own.total_max_lpm)
    writer = RowWriter()
    for number, level in enumerate(index.levels):
        first = index.areas.index(level.area) * len(limits)
        writer.add((first + int(level.high_pressure)) * size + periods, extra.drawn[number], 1.0)
        writer.add((first + 2) * size + periods, extra.drawn[number], level.flow)
    for area in range(len(index.areas)):
        for limit, allowed in enumerate(limits):
            writer.add((area * len(limits) + limit) * size + periods, extra.here[area], -float(allowed))
    count = len(index.areas) * len(limits)
    return writer.finish([make_name("allow", row, k) for row in range(count) for k in periods.tolist()], 0.0)


def _extra_content(index: Index, extra: _Extra, resupply: Resupply, drawn_so_far: Ints) -> tuple[Rows, Rows, Rows]:
    """Extra cylinders give what they hold: ``drawn_k = drawn_k-1 + tau_k sum_f f extra <= litres here_k``.

    ``here`` never falls.
    """
    size = index.grid.periods
    periods = np.arange(size)
    count = len(index.areas)
    rows = np.arange(count)[:, np.newaxis] * size + periods
    balance, limit, growth = RowWriter(), RowWriter(), RowWriter()
    balance.add(rows, drawn_so_far, -1.0)
    balance.add(rows[:, 1:], drawn_so_far[:, :-1], 1.0)
    for number, level in enumerate(index.levels):
        area = index.areas.index(level.area)
        balance.add(area * size + periods, extra.drawn[number], level.flow * index.grid.lengths)
    limit.add(rows, drawn_so_far, 1.0)
    limit.add(rows, extra.here, -resupply.litres_each)
    growth.add(rows[:, 1:], extra.here[:, :-1], 1.0)
    growth.add(rows[:, 1:], extra.here[:, 1:], -1.0)

    def names(family: str) -> list[str]:
        return [make_name(family, area, k) for area in range(count) for k in periods.tolist()]

    return (
        balance.finish(names("drawn"), 0.0, equal=True),
        limit.finish(names("holds"), 0.0),
        growth.finish(names("growth"), 0.0),
    )


def _whole(here: Floats) -> Floats:
    return np.ceil(here - WHOLE)


def _latest(solver: Solver, here: Ints, unserved: Floats, total: Floats) -> Floats:
    """Return the whole cylinders per area and period, and hold them: from the start on, in every period the fewest.

    So the first arrival is as late as it can be while the rest may still all come, then the second,
    and so on.  Weighing all arrivals in one aim would not do: a small part of a cylinder early costs
    as little as a whole one late, and is rounded up to a whole one early.
    """
    count = np.broadcast_to(total[:, np.newaxis], here.shape).copy()
    solver.limit(here.ravel(), count.ravel())
    place, held = 0, np.zeros(len(here))
    while place < here.shape[1] and np.any(held < total):
        aim = unserved.copy()
        aim[here[:, place]] = 1.0
        profile = np.maximum(_whole(solver.minimise(aim).values[here]), held[:, np.newaxis])
        held = profile[:, place]
        # what this very answer keeps up needs no further question
        grows = np.flatnonzero((profile[:, place:] > held[:, np.newaxis]).any(axis=0))
        end = place + (int(grows[0]) if len(grows) else here.shape[1] - place)
        count[:, place:end] = held[:, np.newaxis]
        solver.limit(here[:, place:end].ravel(), count[:, place:end].ravel())
        place = end
    return count


def require(scenario: Scenario, demand: Demand, goal: Collection[str], settings: Settings) -> Requirement:
    """Find the fewest extra cylinders that keep every patient of the goal at target, each as late as possible.

    Parameters
    ----------
    scenario, demand
        The incident and its patients, counted.
    goal
        Categories that must not fall below target.
    settings
        Limits of the solver.

    Notes
    -----
    The relaxed number of cylinders is minimised, then rounded up per area and held as the new
    limit while every arrival is moved as late as it can be, in whole cylinders.  Areas share no
    supply, so the total per area is the least whole number for the fluid programme.

    Gas and outlets of all extra cylinders of an area are counted together, as if later gas could
    leave through the outlets of earlier, empty cylinders.  So the total is enough when all of it is
    there by the first moment, but the later moments can be too late.

    Raises
    ------
    SolverLimitError
        If the solver reached its limit without an answer.
    """
    scenario, demand = _only_goal(scenario, demand, goal)
    index = make_index(scenario, demand)
    columns = Columns()
    variables = make_variables(index, columns, memory=False)
    wanted = _wanted(index)
    extra = _extra_columns(index, columns, wanted, scenario.resupply)
    drawn_so_far = columns.add("drawn", np.ones_like(extra.here, dtype=bool))
    families = [
        *supply_rows(index, variables),
        _target(index, variables, extra, wanted),
        _extra_outlets(index, extra, scenario.resupply),
        *_extra_content(index, extra, scenario.resupply, drawn_so_far),
    ]
    size = len(columns.names)
    unserved = np.zeros(size)
    unmet = extra.unmet[extra.unmet != ABSENT]
    unserved[unmet] = UNMET_COST * np.broadcast_to(index.grid.lengths, extra.unmet.shape)[extra.unmet != ABSENT]
    fewest = unserved.copy()
    fewest[extra.here[:, -1]] = 1.0
    sparing = unserved.copy()
    sparing[drawn_so_far] = LITRE_COST * index.grid.lengths / index.grid.points[-1]
    sparing[drawn_so_far[:, -1]] += LITRE_COST

    solver = Solver(write(columns, families, [-fewest]), settings.time_limit, settings.threads)
    cylinders = _latest(solver, extra.here, unserved, _whole(solver.minimise(fewest).values[extra.here[:, -1]]))
    values = solver.minimise(sparing).values
    left = column_values(extra.unmet, values)
    return Requirement(
        areas=index.areas,
        starts=index.grid.starts,
        cylinders=cylinders.astype(np.int64),
        litres=values[drawn_so_far],
        handling=_handling(index, variables, values, scenario, values[drawn_so_far]),
        idle=_idle(index, variables, values),
        unmet=tuple(
            (level.area, level.flow, float(left[number].max()))
            for number, level in enumerate(index.levels)
            if left[number].max() > WHOLE
        ),
    )


def _idle(index: Index, variables: Variables, values: Floats) -> Floats:
    drawn = draw_table(index, variables, values).groupby("lot")["litres"].sum()
    idle = np.zeros(len(index.areas))
    for lot in index.lots:
        if lot.kind is LotKind.CYLINDER and lot.built_in is None:
            idle[index.areas.index(lot.area)] += lot.litres - drawn.get(lot.key, 0.0)
    return idle


def _handling(index: Index, variables: Variables, values: Floats, scenario: Scenario, extra_litres: Floats) -> Floats:
    resupply = scenario.resupply
    minutes = np.zeros((len(index.areas), index.grid.periods))
    connected = column_values(variables.connect, values)
    for number, link in enumerate(variables.links):
        lot = index.lots[index.sources[link.source].lot]
        if lot.change_min > 0 and np.isfinite(lot.litres_each):
            litres = connected[number] * index.levels[link.level].flow * index.grid.lengths
            minutes[index.areas.index(lot.area)] += litres / lot.litres_each * lot.change_min
    return np.cumsum(minutes, axis=1) + extra_litres / resupply.litres_each * resupply.cylinder.change_min
