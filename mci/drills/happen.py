"""What happens: an incident as players were told it, with its injects.

Every supply, regulator, patient and person keeps the name that it has in the incident as told, so that orders
and logs mean the same thing in both.  To change one thing of several, they are counted one by one
(:mod:`mci.drills.singly`).  Injects of a kind are applied together, kinds in an order of their own, so that it does
not matter in which order injects are written.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import TYPE_CHECKING, TypeVar

from mci.catalogue.usable import usable_litres
from mci.drills.singly import single_patients, single_regulators, single_units
from mci.drills.worsening import find_ladder
from mci.lp.index import litres_stored_to
from mci.scenario.defaults import load_defaults
from mci.scenario.exercise import Inject, InjectKind
from mci.scenario.model import (
    CATEGORIES,
    Lot,
    LotKind,
    Patients,
    PowerSupply,
    RegulatorStock,
    Scenario,
    Spell,
    StaffShift,
)
from mci.surge.late import postpone

if TYPE_CHECKING:
    from mci.scenario.model import Unit

__all__ = ["BUILT_IN", "as_told", "happened"]

_Hours = TypeVar("_Hours", StaffShift, PowerSupply)

#: What stays behind when an area moves.  Concentrators are carried along (35 to 50 lb: ATS table 1, as in the
#: catalogue).
BUILT_IN = (LotKind.PLANT, LotKind.PIPED, LotKind.LIQUID)
_OF_REGULATORS = (InjectKind.REGULATOR_LEAKS, InjectKind.WRONG_WASHER)


def happened(scenario: Scenario, injects: Sequence[Inject]) -> Scenario:
    """Return an incident as it happens.

    Parameters
    ----------
    scenario
        As players were told it.
    injects
        In any order.

    Returns
    -------
    Scenario
        With the same names; the same scenario where there are no injects.  A reserve is no more than can be left.
        Whoever changes cylinders and is away for a while has two shifts under one name.
    """
    if not injects:
        return scenario
    actual = as_told(scenario, injects)
    for kind, apply in _APPLY.items():
        for inject in sorted((each for each in injects if each.kind is kind), key=_place):
            actual = apply(actual, inject)
    return _with_rules(replace(actual, reserve=_reserve(actual)))


def as_told(scenario: Scenario, injects: Sequence[Inject]) -> Scenario:
    """Return the incident as players were told it, with the same things counted one by one as in :func:`happened`.

    Whoever compares both thing by thing (a crew that plans again) must have the same keys in both.
    """
    tools = {each.thing for each in injects if each.kind in _OF_REGULATORS}
    names = {each.thing for each in injects if each.kind is InjectKind.PATIENT_WORSENS}
    cylinders = {each.thing for each in injects if each.kind is InjectKind.CYLINDER_LOW}
    return replace(
        scenario,
        regulators=single_regulators(scenario.regulators, tools),
        patients=single_patients(scenario, names),
        lots=single_units(scenario.lots, cylinders),
    )


# --- regulators and cylinders --------------------------------------------------------------------


def _leak(scenario: Scenario, inject: Inject) -> Scenario:
    """Let a regulator end at the moment."""

    def leaking(stock: RegulatorStock) -> RegulatorStock:
        end = max(stock.available_from, min(stock.available_until, inject.at))
        return replace(stock, available_until=end)

    return _with_regulator(scenario, inject.thing, leaking)


def _wrong_washer(scenario: Scenario, inject: Inject) -> Scenario:
    """Let a regulator be of use only once the right washer is found."""

    def sealing(stock: RegulatorStock) -> RegulatorStock:
        begin = max(stock.available_from, inject.at + inject.minutes)
        return replace(stock, available_from=begin, available_until=max(begin, stock.available_until))

    return _with_regulator(scenario, inject.thing, sealing)


def _with_regulator(scenario: Scenario, key: str, change: Callable[[RegulatorStock], RegulatorStock]) -> Scenario:
    stocks = tuple(change(each) if each.key == key and each.quantity == 1 else each for each in scenario.regulators)
    return replace(scenario, regulators=stocks)


def _low(scenario: Scenario, inject: Inject) -> Scenario:
    """Let a cylinder hold what its true gauge makes, from the start."""
    return replace(scenario, lots=tuple(_with_low(lot, inject) for lot in scenario.lots))


def _with_low(lot: Lot, inject: Inject) -> Lot:
    if not any(unit.id == inject.thing for unit in lot.units):
        return lot
    units = tuple(_lowered(lot, unit, inject.psi) if unit.id == inject.thing else unit for unit in lot.units)
    gauges = {unit.gauge_psi for unit in units}
    return replace(
        lot,
        units=units,
        litres=sum(unit.litres for unit in units),
        litres_each=max(unit.litres for unit in units),
        gauge_psi=gauges.pop() if len(gauges) == 1 else None,
    )


def _lowered(lot: Lot, unit: Unit, psi: float) -> Unit:
    """Return a unit at its true gauge; below the residual pressure nothing of it can be used."""
    if lot.cylinder is None or lot.residual_psi is None:
        return unit
    gauge = min(unit.gauge_psi, max(psi, lot.residual_psi))
    litres = usable_litres(lot.cylinder, gauge, lot.residual_psi, lot.temperature_c, lot.gas_model)
    return replace(unit, gauge_psi=gauge, litres=min(unit.litres, max(litres, 0.0)))


def _late(scenario: Scenario, inject: Inject) -> Scenario:
    """Let everything that a delivery brings come later."""
    return postpone(scenario, inject.thing, inject.minutes)


# --- whole areas ---------------------------------------------------------------------------------


def _power_fails(scenario: Scenario, inject: Inject) -> Scenario:
    """Cut the power of an area out of its windows."""
    return replace(scenario, power=tuple(_without(scenario.power, inject)))


def _move(scenario: Scenario, inject: Inject) -> Scenario:
    """Leave behind what is built in; whoever changes cylinders carries, and changes none, for some minutes."""

    def left(lot: Lot) -> Lot:
        if lot.area != inject.area or lot.kind not in BUILT_IN:
            return lot
        return replace(lot, available_until=max(lot.available_from, min(lot.available_until, inject.at)))

    lots = tuple(left(lot) for lot in scenario.lots)
    return replace(scenario, lots=lots, staff=tuple(_without(scenario.staff, inject)))


def _without(things: Iterable[_Hours], inject: Inject) -> Iterator[_Hours]:
    """Yield what there is at an area before and after an inject, both under the same key.

    What lasts no longer than the inject is there for no time: its name stays.
    """
    start, end = inject.at, inject.at + inject.minutes
    for each in things:
        if each.area != inject.area or each.available_until <= start or each.available_from >= end:
            yield each
            continue
        if each.available_from < start or each.available_until <= end:
            yield replace(each, available_until=max(start, each.available_from))
        if each.available_until > end:
            yield replace(each, available_from=end)


# --- patients ------------------------------------------------------------------------------------


def _wave(scenario: Scenario, inject: Inject) -> Scenario:
    """Let more patients come."""
    return replace(scenario, patients=(*scenario.patients, *inject.patients))


def _worsen(scenario: Scenario, inject: Inject) -> Scenario:
    """Let a patient who is there need more from the moment on, wherever the patient goes later."""
    singly = single_patients(scenario, {inject.thing})  # somebody of a second wave may be one of a batch
    return replace(
        scenario, patients=tuple(_worse(each, inject) if each.label == inject.thing else each for each in singly)
    )


def _worse(patient: Patients, inject: Inject) -> Patients:
    after = inject.at - patient.arrival.at
    if patient.count != 1 or after < 0 or inject.at >= min(patient.arrival.at + patient.stay, patient.leave):
        return patient

    def so(spell: Spell) -> Spell:
        return replace(spell, category=inject.category or spell.category, ladder=inject.ladder or spell.ladder)

    before = [spell for spell in patient.course if spell.after < after]
    later = [spell for spell in patient.course if spell.after > after]
    now = [spell for spell in patient.course if spell.after <= after][-1]
    return replace(patient, course=(*before, so(replace(now, after=after)), *map(so, later)))


# --- the whole -----------------------------------------------------------------------------------

#: Kinds in the order in which they are applied: a delivery that is late brings the regulator that then leaks, and
#: somebody of a second wave may worsen.
_APPLY: Mapping[InjectKind, Callable[[Scenario, Inject], Scenario]] = MappingProxyType(
    {
        InjectKind.DELIVERY_LATE: _late,
        InjectKind.WRONG_WASHER: _wrong_washer,
        InjectKind.REGULATOR_LEAKS: _leak,
        InjectKind.CYLINDER_LOW: _low,
        InjectKind.POWER_FAILS: _power_fails,
        InjectKind.AREA_MOVES: _move,
        InjectKind.SECOND_WAVE: _wave,
        InjectKind.PATIENT_WORSENS: _worsen,
    }
)


def _place(inject: Inject) -> tuple[object, ...]:
    """Return a key by which injects of a kind are put in order."""
    return inject.at, inject.thing, inject.area, [each.label for each in inject.patients]


def _reserve(scenario: Scenario) -> dict[str, float]:
    """Return the reserves, each no more than what stored gas can still be there at the end."""
    lots, end = scenario.lots, scenario.horizon
    return {area: min(litres, litres_stored_to(lots, area, end)) for area, litres in scenario.reserve.items()}


def _with_rules(scenario: Scenario) -> Scenario:
    """Add ladders and weights that only injects need."""
    spells = [spell for patients in scenario.patients for spell in patients.course]
    more = sorted({each.ladder for each in spells} - set(scenario.ladders))
    new = {each.category for each in spells} - set(scenario.weights)
    weights = {**scenario.weights, **{key: load_defaults().weights[key] for key in new}}
    return replace(
        scenario,
        ladders=MappingProxyType({**scenario.ladders, **{key: find_ladder(scenario, key) for key in more}}),
        weights=MappingProxyType({key: weights[key] for key in CATEGORIES if key in weights}),
    )
