"""The scenario said back as plain tables, and in one sentence."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mci.scenario import describe_patients as patients
from mci.scenario import describe_supplies as supplies
from mci.scenario.bench import ladder_assumption
from mci.scenario.columns import Column, Table, basis
from mci.scenario.describe_exercise import exercise_headline, exercise_tables
from mci.scenario.describe_network import network_headline, network_tables
from mci.scenario.describe_stocking import stocking_headline, stocking_tables
from mci.units import format_clock, format_duration, format_litres

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from mci.scenario.model import Scenario
    from mci.scenario.numbers import Number
    from mci.scenario.presence import StayLike

__all__ = ["Table", "describe", "headline", "numbers_table"]


def describe(scenario: Scenario, stays: Sequence[StayLike]) -> tuple[Table, ...]:
    """Return the tables that say a scenario back; those without rows are left away.

    Parameters
    ----------
    stays
        Who is where when, as :func:`mci.demand.stays.find_stays` counts it.
    """
    tables = (
        patients.areas(scenario, stays),
        patients.need(scenario, stays),
        patients.courses(scenario),
        patients.ladders(scenario),
        patients.litre(scenario, stays),
        supplies.supplies(scenario),
        supplies.regulators(scenario),
        supplies.devices(scenario),
        supplies.hands(scenario),
        *network_tables(scenario),
        *stocking_tables(scenario),
        *exercise_tables(scenario),
        _left_out(scenario),
        _assumptions(scenario),
    )
    return tuple(table for table in tables if table.rows)


def _left_out(scenario: Scenario) -> Table:
    rows = [(item.area, item.what, item.why) for item in scenario.left_out]
    columns = (Column("area", "area", once=True), Column("cylinder", "cylinder"), Column("why", "why"))
    return Table("Left out, not fit for service", "left_out", columns, tuple(rows))


def _assumptions(scenario: Scenario) -> Table:
    rows = [
        (a.what, a.value, *basis(a.source))
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
        + (f" {network_headline(scenario.network)}" if scenario.network else "")
        + (f" {stocking_headline(scenario.stocking)}" if scenario.stocking else "")
        + (f" {exercise_headline(scenario.exercise)}" if scenario.exercise else "")
    )


def numbers_table(numbers: Iterable[Number]) -> Table:
    """Return the numbers that can be varied, each with its path."""
    columns = (
        Column("number", "number"),
        Column("as written", "as_written"),
        Column("kind", "kind"),
        Column("unit inside", "unit"),
        Column("what", "what"),
    )
    rows = tuple((each.path, each.text, each.kind.value, each.unit, each.what) for each in numbers)
    return Table("Numbers that can be varied, by path", "numbers", columns, rows)
