"""Doubts about exercises; one function per rule."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mci.scenario.doubt import Doubt, Question
from mci.scenario.exercise import InjectKind, Measure
from mci.scenario.mean_mix import mean_patients
from mci.scenario.model import CATEGORIES
from mci.scenario.names import lot_names
from mci.scenario.possible import all_spells
from mci.units import format_moment, format_pressure

if TYPE_CHECKING:
    from collections.abc import Iterator

    from mci.scenario.exercise import Exercise, Inject
    from mci.scenario.model import Lot, Patients, Scenario

__all__ = ["EXERCISE_RULES", "exercise_doubts"]

#: A low cylinder that has lost less of its gauge than this share is hardly noticed.  Assumption.
_NOTICED = 0.1


def needs_none(scenario: Scenario, exercise: Exercise) -> Iterator[Doubt]:
    """Of a group nobody needs oxygen by the mean mix."""
    del scenario
    for group in exercise.casualties:
        if not any(mean_patients(group)):
            what = f"of the {group.count} hurt of '{group.label}' nobody needs oxygen by the mean mix; plans have none"
            yield Doubt("casualties-need-none", what, group.area)


def low_changes_little(scenario: Scenario, exercise: Exercise) -> Iterator[Doubt]:
    """A cylinder is low by little, or was so already."""
    for inject, lot in _low(scenario, exercise):
        gauge = next((unit.gauge_psi for unit in lot.units if unit.id == inject.thing), lot.gauge_psi) or 0.0
        residual = lot.residual_psi or 0.0
        told = format_pressure(gauge, metric=scenario.pressures_in_bar)
        if gauge - inject.psi < _NOTICED * (gauge - residual):
            yield _little(inject, f"its label says {told}, hardly more than the inject lets it hold")
        elif gauge <= (1 + _NOTICED) * scenario.in_service_psi:
            least = format_pressure(scenario.in_service_psi, metric=scenario.pressures_in_bar)
            yield _little(inject, f"its label says {told}, and below {least} it is not brought into service anyway")


def _low(scenario: Scenario, exercise: Exercise) -> Iterator[tuple[Inject, Lot]]:
    lots = {key: lot for lot in scenario.lots for key in lot_names(lot)}
    for inject in exercise.injects:
        if inject.kind is InjectKind.CYLINDER_LOW and inject.thing in lots:
            yield inject, lots[inject.thing]


def _little(inject: Inject, why: str) -> Doubt:
    thing = f" of '{inject.thing}'" if inject.thing else ""
    what = f"the inject '{inject.kind.value}'{thing} at {format_moment(inject.at)} changes little or nothing: {why}"
    return Doubt("inject-changes-little", what, inject.area)


def moves_or_fails_for_nobody(scenario: Scenario, exercise: Exercise) -> Iterator[Doubt]:
    """Power fails where nothing needs power; an area moves when nobody is there any more."""
    powered = {lot.area for lot in scenario.lots if lot.watts_each > 0}
    used = {spell.area for spell in all_spells(scenario.patients, exercise)}
    for inject in exercise.injects:
        if inject.kind is InjectKind.POWER_FAILS and inject.area not in powered:
            yield _little(inject, "no machine that needs power is there")
        elif inject.kind is InjectKind.AREA_MOVES and inject.area not in used:
            yield _little(inject, "no patient is there at any time")


def late_without_effect(scenario: Scenario, exercise: Exercise) -> Iterator[Doubt]:
    """A delivery that is late would have come after the end anyway."""
    comes = {
        **{lot.delivery: lot.available_from for lot in scenario.lots},
        **{stock.delivery: stock.available_from for stock in scenario.regulators},
        **{stock.delivery: stock.available_from for stock in scenario.devices},
    }
    for inject in exercise.injects:
        if inject.kind is InjectKind.DELIVERY_LATE and comes.get(inject.thing, 0.0) >= scenario.horizon:
            yield _little(inject, f"it is due at {format_moment(comes[inject.thing])}, when the plan is over")


def gets_better(scenario: Scenario, exercise: Exercise) -> Iterator[Doubt]:
    """A patient who worsens has a milder category, or needs less, than before."""
    waves = (each for inject in exercise.injects for each in inject.patients)
    people = {each.label: each for each in (*scenario.patients, *waves) if each.count == 1}
    for inject in exercise.injects:
        if inject.kind is not InjectKind.PATIENT_WORSENS or inject.thing not in people:
            continue
        category, ladder = _need_at(people[inject.thing], inject.at)
        milder = CATEGORIES.index(inject.category) > CATEGORIES.index(category)
        flows = [scenario.ladders[key].rungs[0].flow_lpm for key in (ladder, inject.ladder)]
        if milder or (category == inject.category and flows[1] < flows[0]):
            what = (
                f"'{inject.thing}' worsens at {format_moment(inject.at)} from {category} with {ladder} to "
                f"{inject.category} with {inject.ladder}, which is milder"
            )
            yield Doubt("worsens-to-milder", what, inject.area)


def _need_at(patients: Patients, moment: float) -> tuple[str, str]:
    spell = [each for each in patients.course if patients.arrival.at + each.after <= moment + 1e-9][-1]
    return spell.category, spell.ladder


def nobody_is_asked(scenario: Scenario, exercise: Exercise) -> Iterator[Doubt]:
    """An objective asks about patients whom there are none of."""
    spells = list(all_spells(scenario.patients, exercise))
    changes = any(len(each.course) > 1 for each in scenario.patients)
    worsens = any(i.kind is InjectKind.PATIENT_WORSENS or i.patients for i in exercise.injects)
    for each in exercise.objectives:
        whose = [s for s in spells if each.category in ("", s.category) and each.area in ("", s.area)]
        if not whose:
            yield Doubt("objective-of-nobody", f"{each.key} asks about nobody: {each.text}", each.area)
        elif each.measure is Measure.STEPPED_UP and exercise.injects and not changes and not worsens:
            yield Doubt("objective-of-nobody", f"{each.key} asks about nobody, since no patient worsens: {each.text}")


def nothing_is_asked(scenario: Scenario, exercise: Exercise) -> Iterator[Doubt]:
    """An objective is met by whatever a team does."""
    for each in exercise.objectives:
        long = math.isfinite(each.minutes) and each.minutes >= scenario.horizon and each.measure is not Measure.WITHOUT
        if each.share == 0 or (long and each.measure is not Measure.LEAST_FLOW):
            yield Doubt("objective-asks-nothing", f"{each.key} is met by whatever is done: {each.text}", each.area)


EXERCISE_RULES = (
    needs_none,
    low_changes_little,
    moves_or_fails_for_nobody,
    late_without_effect,
    gets_better,
    nobody_is_asked,
    nothing_is_asked,
)


def exercise_doubts(q: Question) -> Iterator[Doubt]:
    """Yield every doubt about an exercise, none where the scenario is none."""
    if q.scenario.exercise is not None:
        for rule in EXERCISE_RULES:
            yield from rule(q.scenario, q.scenario.exercise)
