"""The programme of what must come: everybody on the top rung, and slots for deliveries.

The same rows about gas and staff as in the allocation.  A delivery is a lot of its own, because gas
that comes later cannot leave through the outlets of cylinders that came before.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from mci.demand.groups import Demand
from mci.lp.build import write
from mci.lp.care_rows import staff
from mci.lp.extract import column_values
from mci.lp.index import make_index
from mci.lp.names import make_name
from mci.lp.outcome import Status
from mci.lp.programme import ABSENT, Columns, Resource, Rows, RowWriter, left_open
from mci.lp.solve import Solver
from mci.lp.supply_rows import lot_resource, supply_rows
from mci.lp.variables import make_variables
from mci.scenario.model import Lot, LotKind, Scenario
from mci.settings import Settings

__all__ = ["WHOLE", "Slots"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

#: How much more a patient who goes without counts than the cylinders that it takes at most to serve one.
UNSERVED = 10.0
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


class Slots:
    """The programme of one area, loaded, with slots for deliveries: how many cylinders, and when, are limits.

    Parameters
    ----------
    scenario, demand
        The area and its patients; the top rung of each ladder is what they need.
    slots
        How many deliveries there can be; all are closed at first.
    settings
        Limits of the solver.

    Attributes
    ----------
    index, variables
        Index sets and columns, the slots being the last lots.
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
        self._source = scenario, demand, settings
        extra = [_slot(scenario, number) for number in range(slots)]
        top = {key: replace(ladder, rungs=ladder.rungs[:1]) for key, ladder in scenario.ladders.items()}
        scenario = replace(scenario, ladders=top, lots=(*scenario.lots, *extra))
        self.index = index = make_index(scenario, demand)
        columns = Columns()
        self.variables = variables = make_variables(index, columns, memory=False)
        self.number = columns.add("number", np.ones(slots, dtype=bool))
        self.most, self.people = columns.add("most", np.ones(2, dtype=bool)).tolist()
        families = [*supply_rows(index, variables), staff(index, variables), self._sum()]
        for lot, column in zip(extra, self.number.tolist(), strict=True):
            families = [left_open(rows, lot_resource(lot), 1.0, column) for rows in families]
        crew = Resource("staff", scenario.areas[0].key, "person")
        families = [left_open(rows, crew, 0.0, self.people) for rows in families]
        self._wanted = np.zeros(len(columns.names))
        self._minutes, self._worth = np.zeros(len(columns.names)), np.zeros(len(columns.names))
        for number, option in enumerate(index.options):
            if option.level >= 0:
                serve, here = variables.serve[number], variables.serve[number] != ABSENT
                self._minutes[serve[here]] = index.grid.lengths[here]
                self._worth[serve[here]] = self._serving(option.level)[here]
        built = write(columns, families, [self._worth])
        self._solver = Solver(built, settings.time_limit, settings.threads)
        self.proven = True

    def _serving(self, level: int) -> Floats:
        """Return what serving a patient of a draw level in each period earns: more than the cylinders it takes.

        One more patient takes an outlet and ``f tau`` litres, or those of the patients at lower flows who
        give theirs up: at most ``1 + f / f_min + f tau / litres each`` cylinders, all there from the start.
        """
        flows = [each.flow for each in self.index.levels]
        litres = flows[level] * self.index.grid.lengths
        litres_each = self._source[0].resupply.litres_each
        return UNSERVED * (1.0 + flows[level] / min(flows) + litres / litres_each)

    def roomier(self) -> Slots:
        """Return the same programme with three times as many slots."""
        scenario, demand, settings = self._source
        slots = Slots(scenario, demand, 3 * len(self.number), settings)
        slots.proven = self.proven
        return slots

    def want(self, categories: Collection[str]) -> None:
        """Say who is to be on the top rung, and nobody else; every slot is closed, no number limited."""
        for slot, column in enumerate(self.number.tolist()):
            self.open(slot, self.index.grid.periods)
            self.limit(column, math.inf)
        self.limit(self.people, math.inf)
        for number, option in enumerate(self.index.options):
            group = self.index.demand.groups[option.group]
            if option.level >= 0:
                serve = self.variables.serve[number]
                present = self.index.demand.present[option.group] * (group.category in categories)
                self._wanted[serve[serve != ABSENT]] = present[serve != ABSENT]
        columns = np.flatnonzero(self._worth)
        self._solver.limit(columns, self._wanted[columns])

    def unserved(self, values: Floats) -> list[tuple[float, float]]:
        """Return, per draw level, its flow [L/min] and the most patients who want it and go without."""
        missing = np.zeros((len(self.index.levels), self.index.grid.periods))
        for number, option in enumerate(self.index.options):
            if option.level >= 0:
                serve = self.variables.serve[number]
                missing[option.level] += column_values(serve, self._wanted) - column_values(serve, values)
        return [(level.flow, float(row.max())) for level, row in zip(self.index.levels, missing, strict=True)]

    def _sum(self) -> Rows:
        """Add up the cylinders: ``sum of numbers <= most``."""
        writer = RowWriter()
        writer.add(np.zeros_like(self.number), self.number, 1.0)
        writer.add(0, np.array([self.most]), -1.0)
        return writer.finish([make_name("sum")], 0.0)

    def _costs(self, column: int) -> Floats:
        costs = -self._worth
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
        """Return the least whole value of a column, and the patient-minutes that nothing can serve."""
        values = self._minimise(self._costs(column))
        return math.ceil(values[column] - WHOLE), float(self._minutes @ (self._wanted - values))

    def sparing(self) -> Floats:
        """Return the values of the plan that draws least from the deliveries, and that as late as it can."""
        costs = -self._worth
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
