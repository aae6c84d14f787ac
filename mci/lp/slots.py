"""The programme of what must come: everybody on the top rung, and slots for deliveries.

The same rows about gas and staff as in the allocation.  A delivery is a lot of its own, because gas
that comes later cannot leave through the outlets of cylinders that came before.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from mci.demand.groups import Demand
from mci.lp.build import write
from mci.lp.care_rows import staff
from mci.lp.index import Index, make_index
from mci.lp.names import make_name
from mci.lp.outcome import Status
from mci.lp.programme import ABSENT, Columns, Resource, Rows, RowWriter, left_open
from mci.lp.solve import Solver
from mci.lp.supply_rows import lot_resource, supply_rows
from mci.lp.variables import Variables, make_variables
from mci.scenario.model import Lot, LotKind, Scenario
from mci.settings import Settings

__all__ = ["WHOLE", "Slots"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

#: Cost of a patient who cannot be served for a minute (at least), in cylinders: far above any real cost.
UNMET_COST = 1e4
#: Units closer to a whole number than this are that number.
WHOLE = 1e-5
#: Cost of an extra litre, where only the litres are left to choose.
LITRE_COST = 1e-3


def _slot(scenario: Scenario, number: int) -> Lot:
    """Return a lot of one extra cylinder; how many it has is a column, when they come are limits."""
    size = scenario.resupply
    return Lot(
        key=f"slot-{number}",  # lots of a scenario have a space in their keys
        label="",
        kind=LotKind.CYLINDER,
        area=scenario.areas[0].key,
        quantity=1,
        litres=size.litres_each,
        litres_each=size.litres_each,
        valve="",
        built_in=size.outlets,
        available_from=0.0,
        available_until=math.inf,
        change_min=size.cylinder.change_min,
        watts_each=0.0,
        delivery="",
    )


def _wanted(index: Index) -> Floats:
    """Patients per draw level and period [patients]."""
    wanted = np.zeros((len(index.levels), index.grid.periods))
    for option in index.options:
        if option.level >= 0:
            wanted[option.level] += index.demand.present[option.group]
    return wanted


def _target(index: Index, variables: Variables, unmet: Ints, wanted: Floats) -> Rows:
    """Everybody at the level is on target: ``sum_g x + unmet = wanted`` per draw level and period."""
    size = index.grid.periods
    periods = np.arange(size)
    writer = RowWriter()
    for number, option in enumerate(index.options):
        if option.level >= 0:
            writer.add(option.level * size + periods, variables.serve[number], 1.0)
    writer.add(np.arange(len(index.levels))[:, np.newaxis] * size + periods, unmet, 1.0)
    names = [make_name("target", level, k) for level in range(len(index.levels)) for k in periods.tolist()]
    return writer.finish(names, wanted.ravel(), equal=True)


class Slots:
    """The programme of one area, loaded, with slots for deliveries: how many cylinders, and when, are limits.

    Parameters
    ----------
    scenario, demand
        The area and the patients of the goal.
    slots
        How many deliveries there can be; all are closed at first.
    settings
        Limits of the solver.

    Attributes
    ----------
    index, variables
        Index sets and columns, the slots being the last lots.
    unmet
        Columns of patients who stay unserved, per draw level and period.
    number
        Columns of how many cylinders each slot has.
    most
        Column of how many all slots have at most.
    people
        Column of people who change cylinders and are not in the scenario.
    proven
        False after a limit of the solver left an answer that may not be the best.
    """

    def __init__(self, scenario: Scenario, demand: Demand, slots: int, settings: Settings) -> None:
        extra = [_slot(scenario, number) for number in range(slots)]
        scenario = replace(scenario, lots=(*scenario.lots, *extra))
        self.index = index = make_index(scenario, demand)
        columns = Columns()
        self.variables = variables = make_variables(index, columns, memory=False)
        wanted = _wanted(index)
        self.unmet = columns.add("unmet", wanted > 0)
        self.number = columns.add("number", np.ones(slots, dtype=bool))
        self.most, self.people = columns.add("most", np.ones(2, dtype=bool)).tolist()
        families = [*supply_rows(index, variables), staff(index, variables), self._sum()]
        for lot, column in zip(extra, self.number.tolist(), strict=True):
            families = [left_open(rows, lot_resource(lot), 1.0, column) for rows in families]
        crew = Resource("staff", scenario.areas[0].key, "person")
        families = [left_open(rows, crew, 0.0, self.people) for rows in families]
        families.append(_target(index, variables, self.unmet, wanted))
        self._unserved = np.zeros(len(columns.names))
        there = self.unmet != ABSENT
        cost = np.broadcast_to(UNMET_COST * np.maximum(index.grid.lengths, 1.0), self.unmet.shape)
        self._unserved[self.unmet[there]] = cost[there]
        built = write(columns, families, [-self._costs(self.most)])
        self._solver = Solver(built, settings.time_limit, settings.threads)
        self.proven = True
        for slot in range(slots):
            self.open(slot, index.grid.periods)

    def _sum(self) -> Rows:
        """Add up the cylinders: ``sum of numbers <= most``."""
        writer = RowWriter()
        writer.add(np.zeros_like(self.number), self.number, 1.0)
        writer.add(0, np.array([self.most]), -1.0)
        return writer.finish([make_name("sum")], 0.0)

    def _costs(self, column: int) -> Floats:
        costs = self._unserved.copy()
        costs[column] = 1.0
        return costs

    def _drawn(self, slot: int) -> tuple[Ints, Ints, Floats]:
        """Return the columns of patients connected to a slot, the period and the flow [L/min] of each."""
        lot = len(self.index.lots) - len(self.number) + slot
        links = self.variables.links
        mine = [n for n, link in enumerate(links) if self.index.sources[link.source].lot == lot]
        connect = self.variables.connect[mine]
        flows = np.array([self.index.levels[links[n].level].flow for n in mine])
        link, period = np.nonzero(connect != ABSENT)
        return connect[link, period], period, flows[link]

    def open(self, slot: int, first: int) -> None:
        """Let a delivery give gas from a period on; from the number of periods on: never."""
        columns, period, _ = self._drawn(slot)
        self._solver.limit(columns, np.where(period >= first, np.inf, 0.0))

    def limit(self, column: int, upper: float, lower: float = 0.0) -> None:
        """Let a column be at most a value, and at least another."""
        self._solver.limit(np.array([column]), np.array([upper]), np.array([lower]))

    def decide(self, slot: int, first: int, quantity: int) -> None:
        """Fix a delivery."""
        self.open(slot, first)
        self.limit(int(self.number[slot]), quantity, quantity)

    def fewest(self, column: int) -> tuple[int, float]:
        """Return the least whole value of a column with which all are served who can be, and what stays unserved."""
        values = self._minimise(self._costs(column))
        return math.ceil(values[column] - WHOLE), float(self._unserved @ values) / UNMET_COST

    def sparing(self) -> Floats:
        """Return the values of the plan that draws least from the deliveries, and that as late as it can."""
        costs = self._unserved.copy()
        points, lengths = self.index.grid.points, self.index.grid.lengths
        for slot in range(len(self.number)):
            columns, period, flow = self._drawn(slot)
            costs[columns] = LITRE_COST * flow * lengths[period] * (2.0 - points[period] / points[-1])
        return self._minimise(costs)

    def _minimise(self, costs: Floats) -> Floats:
        solution = self._solver.minimise(costs)
        self.proven &= solution.status is Status.OPTIMAL
        return solution.values

    def litres(self, values: Floats) -> Floats:
        """Return what is drawn from all deliveries, per period [L]."""
        drawn = np.zeros(self.index.grid.periods)
        for slot in range(len(self.number)):
            columns, period, flow = self._drawn(slot)
            np.add.at(drawn, period, values[columns] * flow * self.index.grid.lengths[period])
        return drawn
