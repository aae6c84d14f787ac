"""What controllers and evaluators need: events, contingency injects, slips, what to bring when, what to look at."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.catalogue.model import Basis
from mci.drills.criteria import load_criteria
from mci.report.drill_page import (
    CheckRow,
    ControllerArea,
    ControllersBody,
    CriterionRow,
    DeviceRow,
    EventRow,
    ObjectiveRow,
    Slip,
)
from mci.report.drill_players import devices_of, pressure_limits
from mci.report.drill_words import drill_page, safety_plan, times
from mci.report.words import category_word, moment
from mci.scenario.exercise import Measure
from mci.units import format_moment

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from mci.catalogue.model import Source
    from mci.drills.criteria import Criterion
    from mci.drills.result import Casualty, Drill, Event
    from mci.report.drill_page import DrillPage

__all__ = ["MEASURED", "build_controllers", "source_words", "told_injects"]

#: How each measure is found; the debrief does the same from the log.
MEASURED: Mapping[Measure, str] = {
    Measure.ON_OXYGEN: "Minutes from being brought in to the first flow, casualty by casualty; then the share in time.",
    Measure.STEPPED_UP: "Minutes from getting worse to device and flow as prescribed; then the share in time.",
    Measure.COVERAGE: "Minutes of need that were met, a lower option by its credit, over all minutes of need.",
    Measure.WITHOUT: "Minutes in need without any flow, added up over casualties.",
    Measure.EMPTY: "The longest stretch that a casualty is connected to something that gives nothing.",
    Measure.LEAST_FLOW: "Minutes on a device below its least flow, added up over casualties.",
}
#: Contingency injects for any moment: if so, say so.  Assumptions of this packet, to be edited.
_AT_ANY_TIME = (
    ("the team stands still for 3 min", "“Which cylinder will be empty first?”"),
    ("the team has nothing to do", "The next announced casualty comes 5 min early; note both times."),
    ("the log is more than 5 min behind", "By radio: “Who breathes from which cylinder now?”"),
)


def build_controllers(drill: Drill) -> DrillPage[ControllersBody]:
    """Put the sheets of controllers and evaluators into words."""
    unannounced = [card.key for card in drill.casualties if card.unannounced]
    body = ControllersBody(
        events=tuple(_event(event, drill) for event in drill.events),
        at_any_time=_AT_ANY_TIME,
        slips=tuple(_slip(event, drill) for event in told_injects(drill)),
        areas=_areas(drill),
        objectives=tuple(_objectives(drill)),
        criteria=_criteria(),
        devices=_devices(drill),
        limits=pressure_limits(drill.briefed),
        unannounced=", ".join(unannounced),
        safety=safety_plan(),
    )
    count = len(drill.casualties)
    told = f"{count}, {len(unannounced)} of them unannounced" if unannounced else str(count)
    facts = (("Casualties", told), ("Events", str(len(drill.events))), ("Injects", str(len(body.slips))))
    return drill_page(drill, "Controllers’ and evaluators’ book", "not for players", body, facts)


def _event(event: Event, drill: Drill) -> EventRow:
    kind = "contingency" if event.contingency else "inject" if event in told_injects(drill) else ""
    return EventRow(
        number=str(event.number),
        when=format_moment(event.minute),
        clock=times(event.minute, drill.briefed),
        what=event.what,
        sender=event.sender,
        receiver=event.receiver,
        means=event.means,
        expected=event.expected,
        objectives=", ".join(event.objectives),
        kind=kind,
    )


def told_injects(drill: Drill) -> tuple[Event, ...]:
    """Return the first event of each inject, at which players are told; what comes of it later is none of them."""
    found: list[Event] = []
    for event in drill.events:
        if event.inject is not None and all(event.inject is not before.inject for before in found):
            found.append(event)
    return tuple(found)


def _slip(event: Event, drill: Drill) -> Slip:
    return Slip(
        number=str(event.number),
        when=moment(event.minute, drill.briefed.start),
        receiver=event.receiver,
        means=event.means,
        what=event.what,
    )


def _areas(drill: Drill) -> tuple[ControllerArea, ...]:
    """Say for every area what its controller brings, says and takes back, in the order of time."""
    made = []
    for area in drill.actual.areas:
        rows = [(*row, False) for card in drill.casualties if card.area == area.key for row in _of_card(card, drill)]
        rows += [
            (event.minute, f"Inject {event.number}: {event.what}", event.contingency)
            for event in drill.events
            if event.inject is not None and event.inject.area == area.key
        ]
        rows.sort(key=lambda row: row[0])
        checks = tuple(
            CheckRow(format_moment(at), times(at, drill.briefed), what, spare=spare) for at, what, spare in rows
        )
        if checks:
            made.append(ControllerArea(area.title, checks))
    return tuple(made)


def _of_card(card: Casualty, drill: Drill) -> Iterator[tuple[float, str]]:
    """Yield when a casualty comes, needs something else (unless an inject says so) and leaves."""
    yield card.arrive, f"Bring in {card.key} with the card" + (", unannounced" if card.unannounced else "")
    said = {(event.inject.thing, event.inject.at) for event in drill.events if event.inject is not None}
    for minute, category, need, _ in card.needs[1:]:
        if (card.key, minute) not in said:
            yield minute, f"{card.key} from now on: {category_word(category)}, {need}"
    if card.leave < drill.actual.horizon:
        yield card.leave, f"{card.key} leaves; keep the card"


def _objectives(drill: Drill) -> Iterator[ObjectiveRow]:
    for objective in drill.objectives:
        serving = [str(event.number) for event in drill.events if objective.key in event.objectives]
        yield ObjectiveRow(objective.key, objective.text, MEASURED[objective.measure], ", ".join(serving))


def source_words(source: Source) -> str:
    """Write a source with how far it was checked, or that there is none."""
    return str(source.basis) if source.basis is Basis.PRACTICE else f"{source.text}; {source.basis}"


def _criteria() -> tuple[tuple[str, tuple[CriterionRow, ...]], ...]:
    groups: dict[str, list[Criterion]] = {}
    for criterion in load_criteria():
        groups.setdefault(criterion.where, []).append(criterion)
    return tuple(
        (
            where[:1].upper() + where[1:],
            tuple(CriterionRow(each.what, each.seen, source_words(each.source), each.gas) for each in group),
        )
        for where, group in groups.items()
    )


def _devices(drill: Drill) -> tuple[DeviceRow, ...]:
    """Return the devices that are there and the flows that they take."""
    there = {stock.device for stock in drill.actual.devices if stock.quantity > 0}
    return tuple(
        DeviceRow(
            title=device.title,
            flow=f"{device.min_lpm:g} to {device.max_lpm:g}",
            risk=device.below_min_risk,
            source=source_words(device.source),
        )
        for key, device in devices_of(drill.actual).items()
        if key in there
    )
