"""Words for injects: what players see or are told, what is expected, and what a controller adds if nothing happens."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mci.demand.people import name_people
from mci.drills.worsening import find_ladder
from mci.scenario.exercise import InjectKind
from mci.units import format_moment, format_pressure

if TYPE_CHECKING:
    from mci.demand.stays import Stay
    from mci.plan.marks import Marks
    from mci.scenario.exercise import Inject
    from mci.scenario.model import Scenario

__all__ = ["contingency_words", "end_words", "expected_words", "inject_words", "told_by"]


def told_by(inject: Inject) -> tuple[str, str]:
    """Return who tells players of an inject, and how."""
    match inject.kind:
        case InjectKind.DELIVERY_LATE | InjectKind.SECOND_WAVE:
            return "dispatch", "radio"
        case InjectKind.AREA_MOVES:
            return "incident command", "radio"
        case InjectKind.PATIENT_WORSENS:
            return "controller", "casualty card"
    return "controller", "inject card on the thing"


def _named(inject: Inject, marks: Marks) -> str:
    mark = marks.of(inject.thing)
    return inject.thing if mark == inject.thing else f"{mark} ({inject.thing})"


def inject_words(inject: Inject, scenario: Scenario, marks: Marks) -> str:
    """Say what players see or are told: nothing of what is still to come that they could not know."""
    thing = _named(inject, marks)
    minutes = f"{inject.minutes:g} min"
    match inject.kind:
        case InjectKind.REGULATOR_LEAKS:
            return f"Regulator {thing} hisses and does not hold; it cannot be mended here."
        case InjectKind.CYLINDER_LOW:
            shown = format_pressure(inject.psi, metric=scenario.pressures_in_bar)
            return (
                f"Cylinder {thing} was labelled with more than it had: when this exercise began its gauge read {shown}."
            )
        case InjectKind.WRONG_WASHER:
            return f"Regulator {thing} does not seal: wrong washer."
        case InjectKind.DELIVERY_LATE:
            return f"The delivery '{inject.thing}' is held up and comes {minutes} later than announced."
        case InjectKind.SECOND_WAVE:
            count = len(inject.patients)
            times = sorted(each.arrival.at for each in inject.patients)
            first, last = format_moment(times[0]), format_moment(times[-1])
            when = f"from {first} to {last}" if first != last else f"to come at {first}"
            return f"{count} more casualt{'ies are' if count > 1 else 'y is'} on the way, {when}."
        case InjectKind.POWER_FAILS:
            how_long = "It is not known for how long." if math.isfinite(inject.minutes) else "It will not come back."
            return f"The power fails; machines stop. {how_long}"
        case InjectKind.PATIENT_WORSENS:
            return f"{inject.thing} gets worse: {_need(inject, scenario)}."
    return (
        f"The treatment area moves now: for {minutes} whoever changes cylinders carries instead, and what is built in "
        "stays behind."
    )


def _need(inject: Inject, scenario: Scenario) -> str:
    """Say the category, unless it is the one before, and what is prescribed."""
    before = next((stay.category for stay in _stays_before(inject, scenario)), "")
    words = [f"now {inject.category.capitalize()}"] if inject.category not in ("", before) else []
    if inject.ladder:
        rung = find_ladder(scenario, inject.ladder).rungs[0]
        words.append(f"prescribed is now {rung.device.title}, {rung.setting}")
    return ", ".join(words) or f"still {before.capitalize()}"


def _stays_before(inject: Inject, scenario: Scenario) -> list[Stay]:
    """Return the stays of a patient that began before an inject, the last one first."""
    mine = (stay for person in name_people(scenario) if person.key == inject.thing for stay in person.stays)
    return sorted((stay for stay in mine if stay.start < inject.at), key=lambda stay: -stay.start)


def end_words(inject: Inject, marks: Marks) -> tuple[str, str] | None:
    """Say what players see when what went wrong is over, and what is expected then; ``None`` if nothing is to be seen.

    Only of what they were not told beforehand; the end of a move was announced with it.
    """
    match inject.kind:
        case InjectKind.WRONG_WASHER:
            thing = _named(inject, marks)
            return f"The right washer for {thing} is found; it seals now.", f"Put {thing} into service where it helps."
        case InjectKind.POWER_FAILS:
            return (
                "The power is back; machines run again.",
                "Put back on machines whoever does well on one; save cylinders.",
            )
    return None


def expected_words(inject: Inject, scenario: Scenario, marks: Marks) -> str:
    """Say what is expected of the team."""
    thing = _named(inject, marks)
    match inject.kind:
        case InjectKind.REGULATOR_LEAKS:
            return f"Take {thing} out of service, move whoever is on it to other outlets, the sickest first."
        case InjectKind.CYLINDER_LOW:
            return f"Read the gauge of {thing}, reckon anew how long it lasts, have the next cylinder ready before."
        case InjectKind.WRONG_WASHER:
            return f"Use another regulator meanwhile, look for the washer, put {thing} into service when it seals."
        case InjectKind.DELIVERY_LATE:
            return "Reckon anew how long oxygen lasts; step down who can spare it until the delivery comes."
        case InjectKind.SECOND_WAVE:
            return "Make outlets ready; decide who can be stepped down or moved so that the sickest get oxygen at once."
        case InjectKind.POWER_FAILS:
            return "Put whoever is on a machine on cylinders, the sickest first; back when power is there again."
        case InjectKind.PATIENT_WORSENS:
            ladder = find_ladder(scenario, inject.ladder) if inject.ladder else None
            given = f" ({ladder.rungs[0].device.title}, {ladder.rungs[0].setting})" if ladder else ""
            return f"Step {inject.thing} up to what is prescribed now{given}; find the outlet and the litres for it."
    return "Move patients in turn, each on a portable cylinder; no change of cylinder falls into the move."


def contingency_words(inject: Inject, marks: Marks) -> str:
    """Say what a controller adds if the team has not reacted."""
    thing = _named(inject, marks)
    match inject.kind:
        case InjectKind.REGULATOR_LEAKS:
            return f"'Listen at {thing}: what do you hear, and who is on it?'"
        case InjectKind.CYLINDER_LOW:
            return f"'When did somebody last read the gauge of {thing}?'"
        case InjectKind.WRONG_WASHER:
            return f"'{thing} is of no use as it is. What else could give oxygen meanwhile?'"
        case InjectKind.DELIVERY_LATE:
            return f"'How long does what is here last without the delivery {inject.thing}?'"
        case InjectKind.SECOND_WAVE:
            return "'More are coming. Which outlets are free for them?'"
        case InjectKind.POWER_FAILS:
            return "'Who is on a machine, and what do they breathe now?'"
        case InjectKind.PATIENT_WORSENS:
            return f"'Look at {inject.thing} again. What does the card say now?'"
    return "'Who is without oxygen because of the move, and who looks after the gauges?'"
