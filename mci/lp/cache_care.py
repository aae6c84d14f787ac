"""The care of one incident where a cache brings what is packed: how much harm is left, list after list.

Columns: those of care (:mod:`mci.lp.variables`), what each area gets of each supply, and the excess.  Only right-hand
sides change from question to question, so each is solved from the basis of the last.

    minimise   excess
    care       all rows of the programme, with ``given_ka`` more units of supply k at area a from its arrival on
    stored     sum_a given_ka <= stock_k
    harm       need_m - sum earns_m x - need_m excess <= unit_m allowed_m

Duals of the last two families say how the excess changes with the stock and with what is allowed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

import highspy
import numpy as np
import numpy.typing as npt

from mci.catalogue.model import OutletSet
from mci.demand.brought import count_brought
from mci.demand.groups import Demand
from mci.demand.stays import find_stays
from mci.errors import PlannerError
from mci.lp.care_rows import care_rows, holders
from mci.lp.handover import hand_over
from mci.lp.index import Index, make_index
from mci.lp.names import make_name, read_name
from mci.lp.objective import coverage
from mci.lp.programme import ABSENT, Columns, Resource, Rows, RowWriter, left_open
from mci.lp.supply_rows import lot_resource, supply_rows
from mci.lp.variables import Variables, make_variables
from mci.scenario.model import DeviceStock, Lot, RegulatorStock, Scenario, StaffShift

__all__ = ["CacheCare", "Harm", "HarmKind", "Supply"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


#: Upper bound of what an area gets: in an integer programme every column needs one.
MANY = 1e6
#: Distance to the best division at which the search ends, and its limit [s].
DIVIDED, DIVIDING = 0.002, 20.0
#: A whole number may be missed by so much.
WHOLE = 1e-6


class HarmKind(StrEnum):
    """What is counted as harm."""

    MISSED = "missed"  # share of the needed credit-minutes of a category that is not met
    WITHOUT = "without"  # patient-minutes without oxygen of a category
    WEIGHTED = "weighted"  # share of the weighted need that is not met


@dataclass(frozen=True, slots=True)
class Harm:
    """A kind of harm; ``category`` is empty where all count."""

    kind: HarmKind
    category: str = ""


@dataclass(frozen=True, slots=True)
class Supply:
    """Things alike that come from one place.

    Parameters
    ----------
    key
        Used once.
    most
        The most units that there may be.
    lot, outlets, device, people
        What one unit is: a source of gas, a regulator, a device, or so many people; the others are empty.
    arrives
        Per area, when it gets there [min]; areas that it cannot reach are left out.
    """

    key: str
    most: int
    arrives: Mapping[str, float]
    lot: Lot | None = None
    outlets: OutletSet | None = None
    device: str = ""
    people: float = 0.0


@dataclass(frozen=True, slots=True)
class _Gift:
    """What an area may get of a supply."""

    supply: int
    area: str
    arrives: float
    key: str


class CacheCare:
    """The programme of one incident, loaded.

    Parameters
    ----------
    scenario, demand
        The incident; every arrival of a supply is a breakpoint of the demand's grid.
    supplies
        What may come; those of a kind from several places are apart.
    harms
        What is counted.
    """

    def __init__(self, scenario: Scenario, demand: Demand, supplies: Sequence[Supply], harms: Sequence[Harm]) -> None:
        gifts = _gifts(scenario, supplies)
        index = make_index(_with_gifts(scenario, supplies, gifts), _with_brought(scenario, demand, supplies, gifts))
        columns = Columns()
        variables = make_variables(index, columns, steady=False)
        given = columns.add("given", np.ones(len(gifts), dtype=bool))
        excess = columns.add("excess", np.ones(1, dtype=bool))
        families = [*supply_rows(index, variables), *care_rows(index, variables)]
        brought = [_brought(index, variables, demand)] if demand.brought else []
        lots = {lot.key: lot for lot in index.lots}
        for number, gift in enumerate(gifts):
            supply = supplies[gift.supply]
            families = [_opened(rows, index, supply, gift, given[number], lots) for rows in families]
            for area in index.areas if supply.device else ():
                there = replace(gift, area=area)
                brought = [_opened(rows, index, supply, there, given[number], lots) for rows in brought]
        families += brought
        counted = [_count(index, variables, harm, len(columns.names)) for harm in harms]
        stored, kept = _stored(gifts, given, len(supplies)), _kept(counted, excess)
        self._highs = hand_over(columns, [*families, stored, kept])
        self._highs.setOptionValue("threads", 1)
        self._highs.setOptionValue("solver", "simplex")
        self._highs.changeColCost(int(excess[0]), 1.0)
        self._highs.changeColBounds(int(excess[0]), -highspy.kHighsInf, highspy.kHighsInf)
        first = sum(len(rows.names) for rows in families)
        self._stored = np.array([read_name(name)[1][0] for name in stored.names], dtype=np.intp)
        self._rows = np.arange(first, first + len(stored.names) + len(kept.names), dtype=np.int32)
        self._supplies = len(supplies)
        self._gifts, self._given = gifts, given
        self._bases: dict[bytes, highspy.HighsBasis] = {}
        self._last: bytes | None = None
        self._need = np.array([need for need, _, _ in counted])
        self._unit = np.array([unit for _, unit, _ in counted])
        self._earns = [earns for _, _, earns in counted]

    def ask(self, stock: Floats, allowed: Floats) -> tuple[float, Floats, Floats, Floats]:
        """Say how far the incident is from keeping to the harms that are allowed.

        Parameters
        ----------
        stock
            Units of each supply, shape ``(supplies,)``.
        allowed
            Harms, shape ``(harms,)``.

        Returns
        -------
        excess, attained, by_stock, by_harm
            As :class:`mci.lp.two_stage.Answers`, for one incident.
        """
        highs = self._highs
        upper = np.concatenate([stock[self._stored], self._unit * allowed - self._need])
        highs.changeRowsBounds(len(self._rows), self._rows, np.full(len(upper), -highspy.kHighsInf), upper)
        self._start_near(np.isfinite(allowed).tobytes())
        highs.run()
        if highs.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            highs.clearSolver()
            highs.run()
        if highs.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            raise PlannerError(f"the solver failed: {highs.modelStatusToString(highs.getModelStatus())}")
        solution = highs.getSolution()
        values = np.array(solution.col_value)
        duals = np.array(solution.row_dual)[self._rows]
        by_stock = np.zeros(self._supplies)
        by_stock[self._stored] = np.minimum(duals[: len(self._stored)], 0.0)
        by_harm = np.maximum(-duals[len(self._stored) :] * self._unit, 0.0)
        met = np.array([earns @ values for earns in self._earns])
        attained = np.maximum(self._need - met, 0.0) / self._unit
        return float(highs.getInfo().objective_function_value), attained, by_stock, by_harm

    def _start_near(self, matters: bytes) -> None:
        """Go on from the last question about the same kinds of harm: with others freed its basis would be far away."""
        if matters == self._last:
            return
        if self._last is not None:
            self._bases[self._last] = self._highs.getBasis()
        if matters in self._bases:
            self._highs.setBasis(self._bases[matters])
        self._last = matters

    def least(self, stock: Floats) -> Floats:
        """Return the least harm of each kind that a stock allows, each by itself, shape ``(harms,)``."""
        found = []
        for number in range(len(self._need)):
            allowed = np.full(len(self._need), np.inf)
            allowed[number] = 0.0
            excess = self.ask(stock, allowed)[0]
            found.append(max(0.0, excess * max(self._need[number], 1.0) / self._unit[number]))
        return np.array(found)

    def divide(self, stock: Floats, harm: int = 0) -> dict[tuple[int, str], int]:
        """Divide whole units among the areas so that little harm of one kind is left; what is not needed stays out.

        Returns
        -------
        dict
            Units by supply and area.
        """
        highs, columns = self._highs, self._given.astype(np.int32)
        allowed = np.full(len(self._need), np.inf)
        allowed[harm] = 0.0
        self.ask(stock, allowed)
        highs.changeColsIntegrality(len(columns), columns, np.full(len(columns), highspy.HighsVarType.kInteger))
        highs.changeColsBounds(len(columns), columns, np.zeros(len(columns)), np.full(len(columns), MANY))
        for option, value in (("mip_rel_gap", DIVIDED), ("mip_heuristic_run_feasibility_jump", False)):
            highs.setOptionValue(option, value)
        highs.setOptionValue("time_limit", highs.getRunTime() + DIVIDING)
        highs.run()
        values = np.array(highs.getSolution().col_value)
        highs.setOptionValue("time_limit", highspy.kHighsInf)
        highs.changeColsIntegrality(len(columns), columns, np.full(len(columns), highspy.HighsVarType.kContinuous))
        highs.clearSolver()
        found = np.floor(values[columns] + WHOLE).astype(int) if len(values) else np.zeros(len(columns), dtype=int)
        return {(gift.supply, gift.area): int(units) for gift, units in zip(self._gifts, found, strict=True) if units}


def _gifts(scenario: Scenario, supplies: Sequence[Supply]) -> list[_Gift]:
    return [
        _Gift(number, area.key, supply.arrives[area.key], f"{supply.key}, for {area.key}")
        for number, supply in enumerate(supplies)
        for area in scenario.areas
        if supply.arrives.get(area.key, np.inf) < scenario.horizon
    ]


def _with_gifts(scenario: Scenario, supplies: Sequence[Supply], gifts: Sequence[_Gift]) -> Scenario:
    """Add what may come: as many cylinders as there may be, none of the rest, so no row that may bind is left out."""
    lots, regulators, devices, staff = [*scenario.lots], [*scenario.regulators], [*scenario.devices], [*scenario.staff]
    for gift in gifts:
        supply = supplies[gift.supply]
        if supply.lot is not None:
            lots.append(
                replace(
                    supply.lot, key=gift.key, area=gift.area, quantity=supply.most,
                    litres=supply.most * supply.lot.litres_each, available_from=gift.arrives,
                )
            )  # fmt: skip
        elif supply.outlets is not None:
            regulators.append(RegulatorStock(gift.key, gift.area, supply.outlets, 0, gift.arrives, ""))
        elif supply.device:
            devices.append(DeviceStock(gift.key, gift.area, supply.device, 0.0, gift.arrives, ""))
        else:
            staff.append(StaffShift(gift.key, gift.area, 0.0, gift.arrives, scenario.horizon))
    return replace(
        scenario, lots=tuple(lots), regulators=tuple(regulators), devices=tuple(devices), staff=tuple(staff), reserve={}
    )


def _with_brought(scenario: Scenario, demand: Demand, supplies: Sequence[Supply], gifts: Sequence[_Gift]) -> Demand:
    """Let patients bring devices that a cache has brought where they were before: as many as they are."""
    devices = [
        DeviceStock(gift.key, gift.area, supply.device, np.inf, gift.arrives, "")
        for gift in gifts
        if (supply := supplies[gift.supply]).device
    ]
    there = replace(scenario, devices=(*scenario.devices, *devices))
    return replace(demand, brought=count_brought(there, find_stays(scenario), demand.grid)) if devices else demand


def _brought(index: Index, variables: Variables, demand: Demand) -> Rows:
    """No more owners than devices here and brought from elsewhere, wherever the cache gave them.

    ``sum_g (keep_gdk + fit_gdk) <= stock_dk + brought_dk + sum_a given_ka``; ``brought`` is told without caches.
    """
    return holders(replace(index, demand=demand), variables)


def _opened(rows: Rows, index: Index, supply: Supply, gift: _Gift, column: int, lots: Mapping[str, Lot]) -> Rows:
    """Let a column say how much of a supply an area gets; it counts from its arrival on."""
    if supply.lot is not None:
        return left_open(rows, lot_resource(lots[gift.key]), float(supply.most), int(column))
    if supply.outlets is not None:
        resource = Resource("regulator", gift.area, supply.outlets.key)
    elif supply.device:
        resource = Resource("device", gift.area, supply.device)
    else:
        resource = Resource("staff", gift.area, "person")
    there = np.where(index.grid.starts >= gift.arrives - 1e-9, column, ABSENT)
    return left_open(rows, resource, 0.0, there)


def _stored(gifts: Sequence[_Gift], given: Ints, supplies: int) -> Rows:
    """Give no more than is packed: ``sum_a given_ka <= stock_k``."""
    writer = RowWriter()
    for number, gift in enumerate(gifts):
        writer.add(gift.supply, given[number : number + 1], 1.0)
    return writer.finish([make_name("stored", row) for row in range(supplies)], np.full(supplies, 1e20))


def _kept(counted: Sequence[tuple[float, float, Floats]], excess: Ints) -> Rows:
    """Keep to what is allowed: ``- sum earns x - need excess <= unit allowed - need``."""
    writer = RowWriter()
    for row, (need, _, earns) in enumerate(counted):
        used = np.flatnonzero(earns)
        writer.add(row, used, -earns[used])
        writer.add(row, excess, -max(need, 1.0))
    return writer.finish([make_name("kept", row) for row in range(len(counted))], np.full(len(counted), 1e20))


def _count(index: Index, variables: Variables, harm: Harm, size: int) -> tuple[float, float, Floats]:
    """Return what is needed, what counts as 1, and what each column earns of it."""
    demand, lengths = index.demand, index.grid.lengths
    groups = [n for n, group in enumerate(demand.groups) if harm.category in ("", group.category)]
    if harm.kind is HarmKind.WITHOUT:
        earns = np.zeros(size)
        for number, option in enumerate(index.options):
            if option.group in groups:
                here = variables.serve[number] != ABSENT
                earns[variables.serve[number][here]] = lengths[here]
        return float((demand.present[groups] @ lengths).sum()), 1.0, earns
    if harm.kind is HarmKind.MISSED:
        earns = coverage(index, variables, size, harm.category)
        need = float((demand.present[groups] @ lengths).sum())
    else:
        earns = coverage(index, variables, size)
        weights = [next(o.weight for o in index.options if o.group == n) for n in groups]
        need = float(np.array(weights) @ (demand.present[groups] @ lengths)) if groups else 0.0
    return need, max(need, 1.0), earns
