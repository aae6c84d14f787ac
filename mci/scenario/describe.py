"""The scenario said back as plain tables: numbers with their units, no layout."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from mci.scenario.bench import ladder_assumption
from mci.scenario.doubts_gas import litres_at, litres_wanted
from mci.scenario.model import CATEGORIES, LotKind
from mci.scenario.presence import most_at_once
from mci.units import (
    format_clock,
    format_duration,
    format_flow,
    format_litres,
    format_moment,
    format_pressure,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from mci.catalogue.model import OutletSet, Source
    from mci.scenario.model import Lot, Patients, Scenario
    from mci.scenario.presence import StayLike

__all__ = ["Column", "Table", "describe", "headline"]


@dataclass(frozen=True, slots=True)
class Column:
    """One column: what it is called for people and for programs, and how a value is written.

    A column that only says ``usual`` in every row needs no place on a page.
    """

    title: str
    key: str
    show: Callable[[Any], str] = str
    right: bool = False
    usual: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """One table of what the scenario says."""

    title: str
    key: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Any, ...], ...]

    def texts(self) -> list[list[str]]:
        """Return the rows as people read them."""
        return [[column.show(value) for column, value in zip(self.columns, row, strict=True)] for row in self.rows]

    def records(self) -> list[dict[str, Any]]:
        """Return the rows as programs read them; ``None`` stands for no limit."""
        keys = [column.key for column in self.columns]
        return [{key: _finite(value) for key, value in zip(keys, row, strict=True)} for row in self.rows]


def _finite(value: Any) -> Any:
    return None if isinstance(value, float) and not math.isfinite(value) else value


def describe(scenario: Scenario, stays: Sequence[StayLike]) -> tuple[Table, ...]:
    """Return the tables that say a scenario back; those without rows are left away.

    Parameters
    ----------
    stays
        Who is where when, as :func:`mci.demand.stays.find_stays` counts it.
    """
    tables = (
        _need(scenario, stays),
        _courses(scenario),
        _ladders(scenario),
        _supplies(scenario),
        _regulators(scenario),
        _devices(scenario),
        _hands(scenario),
        _left_out(scenario),
        _assumptions(scenario),
    )
    return tuple(table for table in tables if table.rows)


def _count(value: float) -> str:
    return "unlimited" if math.isinf(value) else f"{value:.0f}"


def _litres(value: float) -> str:
    return "no limit" if math.isinf(value) else format_litres(value)


def _when(scenario: Scenario) -> Callable[[float], str]:
    def show(moment: float) -> str:
        if math.isinf(moment) or moment >= scenario.horizon:
            return "end"
        if moment == 0:
            return "start"
        clock = format_clock(moment, scenario.start)
        return format_moment(moment) + (f" ({clock})" if clock else "")

    return show


def _need(scenario: Scenario, stays: Sequence[StayLike]) -> Table:
    """Patients per area, with the oxygen that their top rungs draw beside what is there."""
    rows = []
    for area in scenario.areas:
        here = [stay for stay in stays if stay.area == area.key]
        lots = [lot for lot in scenario.lots if lot.area == area.key and lot.available_from < scenario.horizon]
        most, when = most_at_once(here)
        per_category = ", ".join(
            f"{sum(s.count for s in here if s.category == c and not s.continues)} {c}"
            for c in CATEGORIES
            if any(s.category == c and not s.continues for s in here)
        )
        arrivals = sum(s.count for s in here if not s.continues)
        wanted = litres_wanted(scenario, here)
        rows.append((area.key, area.title, arrivals, per_category, most, when, wanted, litres_at(scenario, lots)))
    columns = (
        Column("area", "area"),
        Column("title", "title"),
        Column("arrive", "arrivals_patients", right=True),
        Column("of whom", "per_category"),
        Column("most at once", "most_at_once_patients", right=True),
        Column("at", "most_at_min", _when(scenario)),
        Column("top rungs draw", "top_rungs_litres", _litres, right=True),
        Column("at most there", "at_most_there_litres", _litres, right=True),
    )
    return Table("Need and oxygen by area", "need", columns, tuple(rows))


def _courses(scenario: Scenario) -> Table:
    """Patients and batches; those alike in all but name and time of arrival are one row."""
    groups: dict[tuple[Any, ...], list[Patients]] = {}
    for patients in scenario.patients:
        first = patients.course[0]
        groups.setdefault((first.area, first.category, first.ladder, len(patients.course) - 1), []).append(patients)
    rows = []
    areas = [area.key for area in scenario.areas]
    for (area, category, ladder, changes), members in sorted(
        groups.items(), key=lambda item: (areas.index(item[0][0]), CATEGORIES.index(item[0][1]), item[0][2:])
    ):
        earliest = min(p.arrival.at for p in members)
        last = max(p.arrival.at + p.arrival.over for p in members)
        names = ", ".join(p.label for p in members[:3]) + (f" and {len(members) - 3} more" if len(members) > 3 else "")
        rows.append((area, category, ladder, sum(p.count for p in members), earliest, last, changes, names))
    when = _when(scenario)
    columns = (
        Column("area", "area"),
        Column("category", "category"),
        Column("ladder", "ladder"),
        Column("patients", "patients", right=True),
        Column("arrive from", "first_arrival_min", when),
        Column("to", "last_arrival_min", when),
        Column("changes", "changes_each", right=True, usual="0"),
        Column("names", "names"),
    )
    return Table("Patients on arrival", "patients", columns, tuple(rows))


def _ladders(scenario: Scenario) -> Table:
    rows = [
        (key, number, rung.device.title, rung.setting, rung.flow_lpm, rung.credit, *_basis(ladder.source))
        for key, ladder in scenario.ladders.items()
        for number, rung in enumerate(ladder.rungs, start=1)
    ]
    columns = (
        Column("ladder", "ladder"),
        Column("rung", "rung", right=True),
        Column("device", "device"),
        Column("set to", "setting"),
        Column("draws", "draw_lpm", format_flow, right=True),
        Column("credit", "credit", "{:g}".format, right=True),
        Column("basis", "basis"),
        Column("source", "source"),
    )
    return Table("Ladders in use", "ladders", columns, tuple(rows))


def _basis(source: Source) -> tuple[str, str]:
    return source.basis.value, source.text


def _reckoned(lot: Lot, *, metric: bool) -> str:
    """Say how the litres of a lot were reckoned."""
    if lot.kind is LotKind.CYLINDER and lot.gas_model is not None and lot.residual_psi is not None:
        warm = f", read at {lot.temperature_c:g} °C" if lot.temperature_c is not None else ""
        return f"{lot.gas_model.value}, above {format_pressure(lot.residual_psi, metric=metric)}{warm}"
    if lot.kind is LotKind.LIQUID:
        return "less unusable share and evaporation"
    power = f", {lot.quantity * lot.watts_each:.0f} W" if lot.watts_each else ""
    return f"as long as it runs{power}" if lot.watts_each else "as long as it is there"


def _outlets(outlets: OutletSet | None) -> str:
    if outlets is None:
        return "regulator"
    strong = f" + {outlets.high_pressure_outlets} high pressure" if outlets.high_pressure_outlets else ""
    return f"{outlets.outlets}{strong}, up to {format_flow(outlets.total_max_lpm)}"


def _supplies(scenario: Scenario) -> Table:
    rows = [
        (
            lot.area,
            lot.label + (f" ({lot.delivery})" if lot.delivery else ""),
            lot.litres,
            _reckoned(lot, metric=scenario.pressures_in_bar),
            _outlets(lot.built_in) if lot.built_in else f"regulator, {lot.valve}",
            lot.available_from,
            lot.available_until,
        )
        for lot in scenario.lots
    ]
    when = _when(scenario)
    columns = (
        Column("area", "area"),
        Column("supply", "supply"),
        Column("usable", "usable_litres", _litres, right=True),
        Column("reckoned by", "reckoned_by"),
        Column("outlets each", "outlets_each"),
        Column("from", "from_min", when, usual="start"),
        Column("until", "until_min", when, usual="end"),
    )
    return Table("Supplies", "supplies", columns, tuple(rows))


def _regulators(scenario: Scenario) -> Table:
    rows = [
        (r.area, r.outlets.key, r.quantity, _outlets(r.outlets), r.available_from, r.delivery)
        for r in scenario.regulators
    ]
    columns = (
        Column("area", "area"),
        Column("regulator or manifold", "regulator"),
        Column("number", "number", right=True),
        Column("outlets each", "outlets_each"),
        Column("from", "from_min", _when(scenario), usual="start"),
        Column("delivery", "delivery"),
    )
    return Table("Regulators and manifolds", "regulators", columns, tuple(rows))


def _devices(scenario: Scenario) -> Table:
    rows = [(d.area, d.device, d.quantity, d.available_from, d.delivery) for d in scenario.devices]
    columns = (
        Column("area", "area"),
        Column("device", "device"),
        Column("number", "number", _count, right=True),
        Column("from", "from_min", _when(scenario), usual="start"),
        Column("delivery", "delivery"),
    )
    return Table("Delivery devices", "devices", columns, tuple(rows))


def _hands(scenario: Scenario) -> Table:
    rows: list[tuple[Any, ...]] = [
        (
            s.area,
            f"{_count(s.people)} {'person' if s.people == 1 else 'people'} to change cylinders",
            s.available_from,
            s.available_until,
        )
        for s in scenario.staff
    ]
    rows += [
        (p.area, "power without limit" if math.isinf(p.watts) else f"power of {p.watts / 1000:g} kW", *span)
        for p in scenario.power
        for span in [(p.available_from, p.available_until)]
    ]
    rows += [
        (area, f"reserve of {format_litres(litres)} to be left", scenario.horizon, scenario.horizon)
        for area, litres in scenario.reserve.items()
        if litres
    ]
    when = _when(scenario)
    columns = (
        Column("area", "area"),
        Column("what", "what"),
        Column("from", "from_min", when, usual="start"),
        Column("until", "until_min", when, usual="end"),
    )
    return Table("People, power and reserve", "people_power_reserve", columns, tuple(rows))


def _left_out(scenario: Scenario) -> Table:
    rows = [(item.area, item.what, item.why) for item in scenario.left_out]
    columns = (Column("area", "area"), Column("cylinder", "cylinder"), Column("why", "why"))
    return Table("Left out, not fit for service", "left_out", columns, tuple(rows))


def _assumptions(scenario: Scenario) -> Table:
    rows = [
        (a.what, a.value, *_basis(a.source))
        for a in scenario.assumptions
        if a.what not in {ladder_assumption(key) for key in scenario.ladders}  # they have a table of their own
    ]
    columns = (
        Column("what", "what"),
        Column("value", "value"),
        Column("basis", "basis"),
        Column("source", "source"),
    )
    return Table("Assumptions", "assumptions", columns, tuple(rows))


def headline(scenario: Scenario, stays: Sequence[StayLike]) -> str:
    """Return the scenario in one sentence."""
    patients = sum(stay.count for stay in stays if not stay.continues)
    held = sum(lot.litres for lot in scenario.lots if math.isfinite(lot.litres))
    start = f", T+0 at {format_clock(0, scenario.start)}" if scenario.start is not None else ""
    areas = len(scenario.areas)
    return (
        f"{patients} patient{'s' if patients != 1 else ''} in {areas} area{'s' if areas != 1 else ''} over "
        f"{format_duration(scenario.horizon)}{start}; {format_litres(held)} usable in cylinders and vessels."
    )
