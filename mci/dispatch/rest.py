"""The rest of an incident from a moment on, with everything known that is to come: a scenario that begins then.

:mod:`mci.dispatch.rolling_rest` does this for a crew that does not know the future; here nothing is hidden.  Whatever
has a name keeps it, so that orders for the rest are orders for the incident, only later.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import TypeVar

from mci.catalogue.model import Device, Ladder
from mci.demand.people import Person, name_people
from mci.lp.index import litres_stored_to
from mci.plan.gauge import expected_gauge
from mci.plan.things import Supply, find_handlers, find_regulators, find_supplies
from mci.replay.floor import LITRE_NOISE, TOLERANCE
from mci.replay.gauge import litres_at_start
from mci.replay.standing import Standing
from mci.scenario.model import (
    Arrival,
    DeviceStock,
    Lot,
    Patients,
    PowerSupply,
    RegulatorStock,
    Scenario,
    Spell,
    StaffShift,
    Unit,
)

__all__ = ["left_of", "rest_of"]

_Window = TypeVar("_Window", Lot, PowerSupply, StaffShift)


def rest_of(scenario: Scenario, standing: Standing, *, apart: bool = True) -> Scenario:
    """Return the rest of an incident as the programme is to see it, with times counted from the moment.

    What differs from :func:`left_of` makes the optimum of the rest a bound of whatever may still be done:

    * A cylinder that is in service now needs no change of cylinder any more.
    * Devices that were handed out are gone from the stock; whoever owns one has a ladder with the own device instead,
      which takes nothing from it.

    What somebody owns serves nobody else.  ``apart`` is as for :func:`left_of`: only then the bound never rises.
    """
    owners = _Owners(scenario, standing)
    left = _left(scenario, standing, owners, apart=apart)
    in_service = set(standing.fitted.values())
    return replace(
        left,
        ladders={key: owners.with_own(each) for key, each in left.ladders.items()},
        lots=tuple(replace(lot, change_min=0.0) if _names(lot) <= in_service else lot for lot in left.lots),
        devices=(*_not_handed_out(left, standing), *owners.stocks()),
    )


def left_of(scenario: Scenario, standing: Standing, *, apart: bool = True) -> Scenario:
    """Return the rest of an incident as a crew has it in hand, with times counted from the moment.

    Everybody is a patient of their own; regulators and people who change cylinders are listed one by one.  What is
    empty or gone for good is left out.  Whoever owns single-use devices that may run out has a ladder of another name.

    Parameters
    ----------
    scenario, standing
        The incident, and how things stand.
    apart
        Whether every cylinder that has been touched is a lot of its own; else those of a lot that are in service now
        are one lot, and the others another one.
    """
    return _left(scenario, standing, _Owners(scenario, standing), apart=apart)


def _left(scenario: Scenario, standing: Standing, owners: _Owners, *, apart: bool) -> Scenario:
    now = standing.minute
    patients = tuple(each for person in name_people(scenario) for each in _patient(person, owners, now))
    lots = tuple(_lots(scenario, standing, apart=apart))
    horizon = scenario.horizon - now
    return replace(
        scenario,
        start=None,
        horizon=horizon,
        ladders={**scenario.ladders, **owners.ladders},
        patients=patients,
        lots=lots,
        regulators=tuple(_regulators(scenario, now)),
        devices=tuple(replace(each, available_from=max(each.available_from - now, 0.0)) for each in scenario.devices),
        staff=tuple(_staff(scenario, now)),
        power=tuple(_later(each, now) for each in scenario.power if each.available_until > now + TOLERANCE),
        reserve=_reserve(scenario, lots, horizon),
        network=None,
        uncertainty=None,
        stocking=None,
        exercise=None,
    )


def _later(thing: _Window, now: float) -> _Window:
    begin = max(thing.available_from - now, 0.0)
    return replace(thing, available_from=begin, available_until=thing.available_until - now)


# --- patients and what they own ---------------------------------------------------------------


class _Owners:
    """Who owns single-use devices that may run out, and the ladders of those who do.

    Attributes
    ----------
    ladders
        The same rungs under another name, for each ladder and each set of devices that a patient on it owns.
    """

    def __init__(self, scenario: Scenario, standing: Standing) -> None:
        self.ladders: dict[str, Ladder] = {}
        self._scenario = scenario
        self._owned: dict[str, tuple[str, ...]] = {}  # by name of a ladder
        limited = {each.device for each in scenario.devices if math.isfinite(each.quantity)}
        self._of: dict[str, set[str]] = {}
        for patient, device in standing.owned:
            if device in limited:
                self._of.setdefault(patient, set()).add(device)

    def ladder(self, patient: str, key: str) -> str:
        """Return the name of a ladder for a patient."""
        ladder, mine = self._scenario.ladders[key], self._of.get(patient, set())
        owned = tuple(sorted({rung.device.key for rung in ladder.rungs} & mine))
        if not owned:
            return key
        name = f"{key}, with own {' and '.join(owned)}"
        while name in self._scenario.ladders or self._owned.get(name, owned) != owned:
            name += " too"
        self._owned[name] = owned
        self.ladders[name] = replace(ladder, key=name)
        return name

    def with_own(self, ladder: Ladder) -> Ladder:
        """Return a ladder with devices that take nothing from any stock in the place of those owned."""
        owned = self._owned.get(ladder.key, ())
        rungs = (replace(r, device=_own(r.device)) if r.device.key in owned else r for r in ladder.rungs)
        return replace(ladder, rungs=tuple(rungs)) if owned else ladder

    def stocks(self) -> Iterator[DeviceStock]:
        """Yield stocks of what is owned, without limit."""
        for device in sorted({_OWN + key for owned in self._owned.values() for key in owned}):
            for area in self._scenario.areas:
                yield DeviceStock(f"{area.key} {device}", area.key, device, math.inf, 0.0, "")


_OWN = "own "


def _own(device: Device) -> Device:
    return replace(device, key=_OWN + device.key, single_use=False)


def _patient(person: Person, owners: _Owners, now: float) -> Iterator[Patients]:
    """Yield a patient who is there or to come."""
    stays = [stay for stay in person.stays if stay.end > now + TOLERANCE]
    if not stays:
        return
    begins = [max(stay.start - now, 0.0) for stay in stays]
    course = tuple(
        Spell(begin - begins[0], stay.area, stay.category, owners.ladder(person.key, stay.ladder))
        for stay, begin in zip(stays, begins, strict=True)
    )
    stays_for = stays[-1].end - now - begins[0]
    yield Patients(person.key, 1, Arrival.together(begins[0]), stays_for, math.inf, course)


def _not_handed_out(left: Scenario, standing: Standing) -> Iterator[DeviceStock]:
    """Yield the stocks of devices without what was handed out, taken from what came first."""
    gone = {key: float(number) for key, number in standing.handed_out.items()}
    for stock in sorted(left.devices, key=lambda stock: stock.available_from):
        key = stock.area, stock.device
        taken = min(gone.get(key, 0.0), stock.quantity)
        gone[key] = gone.get(key, 0.0) - taken
        yield replace(stock, quantity=stock.quantity - taken)


# --- things -----------------------------------------------------------------------------------


def _names(lot: Lot) -> set[str]:
    return {unit.id for unit in lot.units} or {lot.key}


def _lots(scenario: Scenario, standing: Standing, *, apart: bool) -> Iterator[Lot]:
    supplies: dict[str, list[Supply]] = {}
    for supply in find_supplies(scenario):
        supplies.setdefault(supply.lot.key, []).append(supply)
    for lot in scenario.lots:
        if lot.available_until > standing.minute + TOLERANCE:
            for each in _parts(lot, supplies.get(lot.key, []), standing, apart=apart):
                yield _later(each, standing.minute)


def _parts(lot: Lot, supplies: list[Supply], standing: Standing, *, apart: bool) -> Iterator[Lot]:
    """Yield a lot as it is if nothing of it has been touched, or else in parts."""
    in_service = set(standing.fitted.values())
    touched = {each.key for each in supplies if each.key in in_service or _is_drawn(each, standing)}
    if not touched or math.isinf(lot.litres):
        yield lot
        return
    listed = lot.cylinder is None or lot.gauge_psi is not None or bool(lot.units)  # an inventory can hold them
    parts: dict[str, list[Supply]] = {}
    for each in supplies:
        alone = not listed or (apart and each.key in touched)
        name = each.key if alone else f"{lot.key} in service" if each.key in in_service else lot.key
        if standing.litres[each.key] > LITRE_NOISE:
            parts.setdefault(name, []).append(each)
    for name, members in parts.items():
        if [each.key for each in members] == [name]:
            yield _single(members[0], standing)
        else:
            units = tuple(_unit(each, standing) for each in members)
            yield replace(lot, key=name, quantity=len(units), litres=sum(unit.litres for unit in units), units=units)


def _is_drawn(supply: Supply, standing: Standing) -> bool:
    litres = standing.litres[supply.key]
    return math.isfinite(litres) and abs(litres - litres_at_start(supply)) > LITRE_NOISE


def _gauge(supply: Supply, standing: Standing) -> float | None:
    if not _is_drawn(supply, standing):
        return supply.gauge_psi
    return expected_gauge(supply, standing.litres[supply.key])


def _unit(supply: Supply, standing: Standing) -> Unit:
    litres = standing.litres[supply.key] if _is_drawn(supply, standing) else supply.litres
    known = next((unit for unit in supply.lot.units if unit.id == supply.key), None)
    gauge = _gauge(supply, standing) or 0.0
    return replace(known, gauge_psi=gauge, litres=litres) if known else Unit(supply.key, gauge, litres)


def _single(supply: Supply, standing: Standing) -> Lot:
    """Return a supply as a lot of its own, with what is left in it."""
    litres, gauge = standing.litres[supply.key], _gauge(supply, standing)
    return replace(supply.lot, key=supply.key, label=supply.key, quantity=1, litres=litres, gauge_psi=gauge, units=())


def _regulators(scenario: Scenario, now: float) -> Iterator[RegulatorStock]:
    for each in find_regulators(scenario):
        if each.available_until > now + TOLERANCE:
            begin, end = max(each.available_from - now, 0.0), each.available_until - now
            yield RegulatorStock(each.key, each.area, each.outlets, 1, begin, "", end)


def _staff(scenario: Scenario, now: float) -> Iterator[StaffShift]:
    """Yield everybody who changes cylinders as a shift of their own, and parts of people."""
    for shift in scenario.staff:
        if shift.available_until <= now + TOLERANCE:
            continue
        later = _later(shift, now)
        people = [each.key for each in find_handlers(replace(scenario, staff=(shift,)))]
        if shift.people == math.inf or not people:
            yield later
            continue
        yield from (replace(later, key=key, people=1.0) for key in people)
        part = shift.people - len(people)
        if part > 0:
            yield replace(later, key=f"{shift.key} in part", people=part)


def _reserve(scenario: Scenario, lots: tuple[Lot, ...], horizon: float) -> dict[str, float]:
    """Return what must be left at the end, as far as it can be."""
    return {area: min(litres, litres_stored_to(lots, area, horizon)) for area, litres in scenario.reserve.items()}
