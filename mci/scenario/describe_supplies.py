"""Supplies, regulators, devices, people and power as tables."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from mci.scenario.columns import Column, Table, show_count, show_litres, show_span
from mci.scenario.model import LotKind
from mci.units import format_flow, format_litres, format_pressure

if TYPE_CHECKING:
    from mci.catalogue.model import OutletSet
    from mci.scenario.model import Lot, Scenario

__all__ = ["ALWAYS", "devices", "hands", "regulators", "supplies"]

ALWAYS = "from start"  # there all the time


def _reckoned(lot: Lot, *, metric: bool) -> str:
    """Say how the litres of a lot were reckoned."""
    if lot.kind is LotKind.CYLINDER and lot.gas_model is not None and lot.residual_psi is not None:
        warm = f", read at {lot.temperature_c:g} °C" if lot.temperature_c is not None else ""
        return f"{lot.gas_model.value}, above {format_pressure(lot.residual_psi, metric=metric)}{warm}"
    if lot.kind is LotKind.LIQUID:
        return "less unusable share and evaporation"
    return f"as long as it runs, {_power(lot)}" if lot.watts_each else "as long as it is there"


def _power(lot: Lot) -> str:
    return f"{lot.quantity * lot.watts_each / 1000:g} kW"


def _note(lot: Lot, residual: str, *, metric: bool) -> str:
    """Say what is special about a lot, where the assumptions do not tell it for all of its kind."""
    notes = []
    if lot.cylinder is not None and lot.gas_model is not None and lot.residual_psi is not None:
        if lot.gas_model is not lot.cylinder.gas_model:
            notes.append(f"by {lot.gas_model.value}")
        if not residual:
            notes.append(f"above {format_pressure(lot.residual_psi, metric=metric)}")
        if lot.temperature_c is not None:
            notes.append(f"read at {lot.temperature_c:g} °C")
    elif lot.watts_each:
        notes.append(f"takes {_power(lot)}")
    return ", ".join(notes)


def _outlets(outlets: OutletSet) -> str:
    strong = f" + {outlets.high_pressure_outlets} high pressure" if outlets.high_pressure_outlets else ""
    return f"{outlets.outlets}{strong}, up to {format_flow(outlets.total_max_lpm)}"


def supplies(scenario: Scenario) -> Table:
    """Every lot with its usable litres and what patients are connected by."""
    metric = scenario.pressures_in_bar
    residuals = {format_pressure(p, metric=metric) for lot in scenario.lots if (p := lot.residual_psi) is not None}
    residual = residuals.pop() if len(residuals) == 1 else ""
    rows = [
        (
            lot.area,
            lot.label + (f" ({lot.delivery})" if lot.delivery else ""),
            lot.label,
            lot.litres,
            _reckoned(lot, metric=metric),
            _outlets(lot.built_in) if lot.built_in else f"regulator, {lot.valve}",
            lot.available_from,
            lot.available_until,
            show_span(scenario, lot.available_from, lot.available_until, lot.delivery),
            _note(lot, residual, metric=metric),
        )
        for lot in scenario.lots
    ]
    columns = (
        Column("area", "area", once=True),
        Column("", "supply"),
        Column("supply", ""),
        Column("usable", "usable_litres", show_litres, right=True),
        Column("", "reckoned_by"),
        Column("outlets each", "outlets_each"),
        Column("", "from_min"),
        Column("", "until_min"),
        Column("there", "", usual=ALWAYS),
        Column("note", ""),
    )
    title = f"Supplies (usable above {residual})" if residual else "Supplies"
    return Table(title, "supplies", columns, tuple(rows))


def regulators(scenario: Scenario) -> Table:
    """Regulators and manifolds."""
    rows = [
        (
            r.area,
            r.outlets.key,
            r.quantity,
            _outlets(r.outlets),
            r.available_from,
            r.available_until,
            r.delivery,
            show_span(scenario, r.available_from, r.available_until, r.delivery),
        )
        for r in scenario.regulators
    ]
    columns = (
        Column("area", "area", once=True),
        Column("regulator or manifold", "regulator"),
        Column("number", "number", right=True),
        Column("outlets each", "outlets_each"),
        Column("", "from_min"),
        Column("", "until_min"),
        Column("", "delivery"),
        Column("there", "", usual=ALWAYS),
    )
    return Table("Regulators and manifolds", "regulators", columns, tuple(rows))


def devices(scenario: Scenario) -> Table:
    """Delivery devices."""
    rows = [
        (
            d.area,
            d.device,
            d.quantity,
            d.available_from,
            d.delivery,
            show_span(scenario, d.available_from, delivery=d.delivery),
        )
        for d in scenario.devices
    ]
    columns = (
        Column("area", "area", once=True),
        Column("device", "device"),
        Column("number", "number", show_count, right=True),
        Column("", "from_min"),
        Column("", "delivery"),
        Column("there", "", usual=ALWAYS),
    )
    return Table("Delivery devices", "devices", columns, tuple(rows))


def hands(scenario: Scenario) -> Table:
    """People who change cylinders, electrical power and reserves."""
    rows: list[tuple[Any, ...]] = [
        (
            s.area,
            f"{show_count(s.people)} {'person' if s.people == 1 else 'people'} to change cylinders",
            s.available_from,
            s.available_until,
            show_span(scenario, s.available_from, s.available_until),
        )
        for s in scenario.staff
    ]
    rows += [
        (
            p.area,
            "power without limit" if math.isinf(p.watts) else f"power of {p.watts / 1000:g} kW",
            p.available_from,
            p.available_until,
            show_span(scenario, p.available_from, p.available_until),
        )
        for p in scenario.power
    ]
    rows += [
        (area, f"reserve of {format_litres(litres)} to be left", 0.0, scenario.horizon, "at the end")
        for area, litres in scenario.reserve.items()
        if litres
    ]
    columns = (
        Column("area", "area"),
        Column("what", "what"),
        Column("", "from_min"),
        Column("", "until_min"),
        Column("there", "", usual=ALWAYS),
    )
    return Table("People, power and reserve", "people_power_reserve", columns, tuple(rows))
