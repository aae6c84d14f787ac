"""What players may see, made from what they are briefed alone: nothing that happens later can slip in."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mci.plan.marks import Legend, find_marks
from mci.plan.things import ANYONE, find_supplies
from mci.report.drill_page import AreaKit, Delivered, PlayersBody, Supply
from mci.report.drill_words import area_titles, drill_page, safety_plan, times
from mci.report.study_words import amount
from mci.report.words import join_words, moment
from mci.units import format_moment, format_pressure

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from mci.catalogue.model import Device
    from mci.drills.result import Drill
    from mci.plan.marks import Marks
    from mci.report.drill_page import DrillPage
    from mci.scenario.model import Scenario

__all__ = ["LOG_HEADERS", "build_players", "devices_of", "pressure_limits"]

#: Columns of the scribe's log, as the reader of logs takes them.
LOG_HEADERS = ("Time", "Action", "Patient", "Device", "Flow [L/min]", "Cylinder", "Regulator", "By", "Note")
#: What is written for each action, what it means, and which columns it needs.
_ACTIONS = (
    ("connect", "a casualty who had no oxygen gets it", "patient, device, flow, cylinder, regulator"),
    ("change cylinder", "a regulator goes on another cylinder, or the first one", "cylinder, regulator, by"),
    ("move", "a casualty goes to another outlet", "patient, device, flow, cylinder, regulator"),
    ("set flow", "another device or flow at the same outlet", "patient, device, flow"),
    ("step down", "less than before at the same outlet", "patient, device, flow, and why in the note"),
    ("disconnect", "a casualty comes off oxygen or leaves", "patient, and why in the note"),
)  # fmt: skip
_LINES = 19  # of a page of the log: at a height to write in
_PAGES = 3
_MOST_ROUNDS = 7  # columns that fit
_ROUND_STEPS_MIN = (10, 15, 20, 30, 60, 120, 240, 480, 1440)


def build_players(drill: Drill) -> DrillPage[PlayersBody]:
    """Put what players are told into words."""
    scenario = drill.briefed
    expected = sum(patients.count for patients in scenario.patients)
    body = PlayersBody(
        areas=tuple(_kits(scenario)),
        deliveries=_deliveries(scenario),
        limits=pressure_limits(scenario),
        actions=_ACTIONS,
        log_headers=LOG_HEADERS,
        example=_example(scenario),
        log_pages=_PAGES,
        rows=_LINES,
        rounds=_rounds(scenario),
        safety=safety_plan(),
    )
    facts = (("Casualties announced", str(expected)), ("Areas", join_words([area.title for area in scenario.areas])))
    return drill_page(drill, "Players’ briefing", "for everybody who plays", body, facts)


def devices_of(scenario: Scenario) -> dict[str, Device]:
    """Return the devices of all ladders by key."""
    return {rung.device.key: rung.device for ladder in scenario.ladders.values() for rung in ladder.rungs}


def _kits(scenario: Scenario) -> Iterator[AreaKit]:
    marks = find_marks(scenario)
    for area in scenario.areas:
        legends = tuple(each for each in marks.legends.get(area.key, ()) if not each.marks.startswith("Staff"))
        gauges = _gauges(scenario, area.key, marks)
        yield AreaKit(
            title=area.title,
            legends=(*legends, *_unmarked(gauges, marks)),
            people=tuple(_people(scenario, area.key)),
            devices=_devices(scenario, area.key),
            gauges=gauges,
        )


def _unmarked(gauges: Sequence[Supply], marks: Marks) -> Iterator[Legend]:
    """Yield what has a short name of its own, as from an inventory, and so no mark."""
    alike: dict[str, list[str]] = {}
    for each in gauges:
        if each.mark not in marks.by_name.values():
            alike.setdefault(each.what + (f", from {each.since}" if each.since else ""), []).append(each.mark)
    for what, names in alike.items():
        yield Legend(", ".join(names), f"{len(names)} x {what}")


def _people(scenario: Scenario, area: str) -> Iterator[str]:
    """Say who changes cylinders, and what power there is."""
    numbers = iter(range(1, 10_000))
    for shift in (each for each in scenario.staff if each.area == area):
        when = _while(shift.available_from, shift.available_until, scenario)
        if math.isinf(shift.people):
            yield f"{ANYONE.capitalize()} may change cylinders{when}"
            continue
        names = [f"Staff {next(numbers)}" for _ in range(math.floor(shift.people + 1e-9))]
        if names:
            yield f"{join_words(names)}: change{'s' if len(names) == 1 else ''} cylinders{when}"
    for supply in (each for each in scenario.power if each.area == area):
        when = _while(supply.available_from, supply.available_until, scenario)
        yield f"Electrical power: {amount(supply.watts)} W{when}"


def _while(begin: float, end: float, scenario: Scenario) -> str:
    since = f" from {moment(begin, scenario.start)}" if begin > 0 else ""
    until = f" until {moment(end, scenario.start)}" if end < scenario.horizon else ""
    return since + until


def _devices(scenario: Scenario, area: str) -> tuple[tuple[str, str], ...]:
    """Return number and title of every kind of device that is there from the start."""
    known, counts = devices_of(scenario), dict[str, float]()
    for stock in scenario.devices:
        if stock.area == area and not stock.delivery:
            counts[stock.device] = counts.get(stock.device, 0.0) + stock.quantity
    return tuple(
        ("no limit" if math.isinf(number) else amount(number), known[key].title if key in known else key)
        for key, number in counts.items()
        if number > 0
    )


def _gauges(scenario: Scenario, area: str, marks: Marks) -> tuple[Supply, ...]:
    """Return everything with a gauge at an area, in the order of marks."""
    return tuple(
        Supply(
            mark=marks.of(supply.key),
            what=supply.lot.label.partition(" x ")[2] or supply.lot.label,
            since=format_moment(supply.lot.available_from) if supply.lot.available_from > 0 else "",
        )
        for supply in find_supplies(scenario)
        if supply.lot.area == area and supply.gauge_psi is not None
    )


def _deliveries(scenario: Scenario) -> tuple[Delivered, ...]:
    """Return every delivery of the briefing with what it brings."""
    known = devices_of(scenario)
    titles = area_titles(scenario)
    brought: dict[tuple[str, float, str], list[str]] = {}
    for lot in scenario.lots:
        if lot.delivery:
            brought.setdefault((lot.delivery, lot.available_from, lot.area), []).append(lot.label)
    for regulators in scenario.regulators:
        if regulators.delivery:
            key = (regulators.delivery, regulators.available_from, regulators.area)
            brought.setdefault(key, []).append(f"{regulators.quantity} x {regulators.outlets.key}")
    for devices in scenario.devices:
        if devices.delivery:
            title = known[devices.device].title if devices.device in known else devices.device
            key = (devices.delivery, devices.available_from, devices.area)
            brought.setdefault(key, []).append(f"{amount(devices.quantity)} x {title}")
    return tuple(
        Delivered(name, moment(when, scenario.start), titles.get(area, area), tuple(things))
        for (name, when, area), things in sorted(brought.items(), key=lambda item: (item[0][1], item[0][0]))
    )


def pressure_limits(scenario: Scenario) -> tuple[str, ...]:
    """Say at which gauges a cylinder may go into service and has to be changed."""
    metric = scenario.pressures_in_bar
    said = []
    if scenario.in_service_psi > 0:
        least = format_pressure(scenario.in_service_psi, metric=metric)
        said.append(f"No cylinder goes into service below {least} on its gauge.")
    residuals = sorted({lot.residual_psi for lot in scenario.lots if lot.residual_psi})
    if residuals:
        words = join_words([format_pressure(psi, metric=metric) for psi in residuals])
        kinds = ", by kind" if len(residuals) > 1 else ""
        said.append(f"A cylinder is changed before its gauge falls to {words}{kinds} (the residual pressure).")
    return tuple(said)


def _example(scenario: Scenario) -> tuple[tuple[str, ...], ...]:
    """Return two lines of the log that show how it is written, about nobody in the exercise."""
    marks = find_marks(scenario)
    plain = [device for device in devices_of(scenario).values() if not device.high_pressure]
    device = min(plain, key=lambda each: each.min_lpm, default=None)
    first, second = (
        times(minutes, scenario) if scenario.start is not None else format_moment(minutes) for minutes in (7, 19)
    )
    cylinders = [marks.of(supply.key) for supply in find_supplies(scenario) if supply.must_be_opened] + ["C1", "C2"]
    words = (device.title, f"{device.min_lpm:g}") if device else ("", "")
    return (
        (first, "connect", "P00", *words, cylinders[0], "R1", "", "example, not read"),
        (second, "change cylinder", "", "", "", cylinders[1], "R1", "Staff 1", "example, not read"),
    )


def _rounds(scenario: Scenario) -> tuple[tuple[str, str], ...]:
    """Return the moments at which all gauges are read, with clock times, as columns of the sheet."""
    step = next(
        (step for step in _ROUND_STEPS_MIN if scenario.horizon / step < _MOST_ROUNDS),
        math.ceil(scenario.horizon / (_MOST_ROUNDS - 1)),
    )
    moments = range(0, math.floor(scenario.horizon), step)
    return tuple((format_moment(at), times(at, scenario)) for at in moments)
