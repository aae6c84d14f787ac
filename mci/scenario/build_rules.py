"""Rules that hold between the parts of a scenario; one function per rule, none stops at its first mistake."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.scenario.model import LotKind
from mci.scenario.possible import all_spells
from mci.scenario.schema_supplies import Inventory

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from mci.scenario.bench import Bench
    from mci.scenario.model import Scenario

__all__ = ["RULES", "apply_rules"]


def apply_rules(bench: Bench, scenario: Scenario) -> None:
    """Note every mistake that only shows once all parts are there."""
    for rule in RULES:
        rule(bench, scenario)


def devices_are_stated(bench: Bench, scenario: Scenario) -> None:
    """Every device that a ladder can use at an area has a stock there, or is unlimited."""
    stated = {(stock.area, stock.device) for stock in scenario.devices}
    used: dict[tuple[str, str], str] = {}
    for spell in all_spells(scenario.patients, scenario.exercise):
        for rung in scenario.ladders[spell.ladder].rungs:
            used.setdefault((spell.area, rung.device.key), spell.ladder)
    for (area, device), ladder in sorted(used.items()):
        if (area, device) not in stated:
            rule = f"ladder '{ladder}' uses the device '{device}' at area '{area}', but no number of it is given there"
            fix = f"Add a line such as {{device: {device}, count: unlimited, area: {area}}}, or their number, be it 0."
            bench.wrong(("devices",), rule, fix)


def somebody_arrives(bench: Bench, scenario: Scenario) -> None:
    """Somebody arrives before the end of the plan."""
    if all(patients.arrival.at >= scenario.horizon for patients in scenario.patients):
        fix = "Give a longer horizon or earlier arrivals."
        bench.wrong(("patients",), "nobody arrives before the end of the plan", fix)


def staff_are_stated(bench: Bench, scenario: Scenario) -> None:
    """Every area whose supplies need hands has a line of staff."""
    need = {lot.area for lot in scenario.lots if lot.change_min > 0}
    _each_area(bench, need, {shift.area for shift in scenario.staff}, "staff", "people: 2", "has cylinders or machines")


def power_is_stated(bench: Bench, scenario: Scenario) -> None:
    """Every area with machines has a line of power."""
    need = {lot.area for lot in scenario.lots if lot.watts_each > 0}
    _each_area(bench, need, {supply.area for supply in scenario.power}, "power", "power: 6 kW", "has machines")


def _each_area(bench: Bench, need: Iterable[str], stated: set[str], section: str, example: str, why: str) -> None:
    word = example.split(":")[0]
    for area in sorted(set(need) - stated):
        rule = f"area '{area}' {why}, but no {section} is given there"
        bench.wrong((section,), rule, f"Add a line such as {{{example}, area: {area}}}, or {word}: unlimited.")


def deliveries_have_names(bench: Bench, scenario: Scenario) -> None:
    """A name of a delivery is used once."""
    del scenario
    seen: set[str] = set()
    for index, delivery in enumerate(bench.file.deliveries):
        if delivery.delivery in seen:
            bench.wrong(("deliveries", index, "delivery"), "this name is used twice", "", delivery.delivery)
        seen.add(delivery.delivery)


def inspection_day_is_stated(bench: Bench, scenario: Scenario) -> None:
    """Hydrostatic test dates can only be judged against a day."""
    del scenario
    has_inventory = any(isinstance(line, Inventory) for line in bench.file.supplies)
    if has_inventory and bench.file.incident.inspection_date is None:
        rule = "an inventory needs the day on which test dates are judged"
        bench.wrong(("incident",), rule, "Add a line such as inspection date: 2026-05-01.")


def shifts_end_after_they_begin(bench: Bench, scenario: Scenario) -> None:
    """Staff and power end after they begin."""
    del scenario
    sections: Mapping[str, list[tuple[float | None, float | None]]] = {
        "staff": [(line.from_, line.until) for line in bench.file.staff],
        "power": [(line.from_, line.until) for line in bench.file.power],
    }
    for section, spans in sections.items():
        for index, (start, end) in enumerate(spans):
            if end is not None and end <= (start or 0.0):
                bench.wrong((section, index, "until"), "ends before it begins", "Let 'until' be later than 'from'.")


def liquid_lasts(bench: Bench, scenario: Scenario) -> None:
    """A liquid vessel holds more than what evaporates and cannot be used."""
    for lot in scenario.lots:
        if lot.kind is LotKind.LIQUID and lot.litres <= 0:
            rule = f"nothing of '{lot.label}' is left once evaporation and the unusable share are set aside"
            bench.wrong(("supplies",), rule, "Check contents, evaporation and unusable, or shorten the horizon.")


RULES = (
    somebody_arrives,
    devices_are_stated,
    staff_are_stated,
    power_is_stated,
    deliveries_have_names,
    inspection_day_is_stated,
    shifts_end_after_they_begin,
    liquid_lasts,
)
