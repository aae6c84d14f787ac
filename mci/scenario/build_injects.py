"""Injects of an exercise: every thing that they name is there, and every moment makes sense."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from mci.scenario import schema_exercise as written
from mci.scenario.build_patients import patients_of
from mci.scenario.exercise import Inject, InjectKind
from mci.scenario.known import nearest
from mci.scenario.names import lot_names, numbered
from mci.units import format_moment

if TYPE_CHECKING:
    from collections.abc import Sequence

    from mci.scenario.bench import Bench
    from mci.scenario.model import Lot, Patients, RegulatorStock
    from mci.scenario.yaml_positions import Where

__all__ = ["build_injects"]


class _Thing(NamedTuple):
    """What an inject may name: where it is, from when [min], and what it is."""

    area: str
    available_from: float
    what: Lot | RegulatorStock | None = None


@dataclass(frozen=True, slots=True)
class _There:
    """What injects may name, by kind and by its name in orders; single patients too, those of second waves last.

    ``taken`` has the names that a second wave cannot use, ``drawn`` whose patients are drawn anew.
    """

    regulators: Mapping[str, _Thing]
    supplies: Mapping[str, _Thing]
    deliveries: Mapping[str, _Thing]
    patients: dict[str, Patients]
    taken: set[str]
    drawn: Sequence[str]


def build_injects(
    bench: Bench,
    part: written.ExercisePart,
    listed: Sequence[Patients],
    drawn: Sequence[str],
    lots: Sequence[Lot],
    regulators: Sequence[RegulatorStock],
) -> tuple[Inject, ...]:
    """Return the injects in the order of time; those at one moment in the order of the file.

    Parameters
    ----------
    listed
        Patients whom the planner listed.
    drawn
        Names of those who stand for casualties, and who therefore have no names yet.
    lots, regulators
        Of the scenario, with their keys.
    """
    there = _There(
        {key: _Thing(r.area, r.available_from, r) for r in regulators for key in numbered(r.key, r.quantity)},
        {key: _Thing(lot.area, lot.available_from, lot) for lot in lots for key in lot_names(lot)},
        {line.delivery: _Thing(line.area, line.at) for line in bench.file.deliveries},
        {each.label: each for each in listed if each.count == 1},
        {each.label for each in listed} | set(drawn),
        drawn,
    )
    waves = [_wave(bench, there, index, line) for index, line in enumerate(part.injects)]
    found = [
        inject
        for index, (line, wave) in enumerate(zip(part.injects, waves, strict=True))
        if (inject := _inject(bench, there, index, line, wave)) is not None
    ]
    return tuple(sorted(found, key=lambda inject: inject.at))


def _wave(bench: Bench, there: _There, index: int, line: written.InjectLine) -> tuple[Patients, ...]:
    """Return the patients of a second wave, nobody for other injects; names that are used twice are noted."""
    if not isinstance(line, written.SecondWave):
        return ()
    found = []
    for number, patient in enumerate(line.patients):
        path: Where = ("exercise", "injects", index, "patients", number)
        patients = patients_of(bench, path, patient)
        if patients.label in there.taken:
            fix = "Every patient has a name of their own, those of a second wave too."
            bench.wrong((*path, "patient"), "this name is used twice", fix, patients.label)
        if patients.arrival.at < line.at:
            rule = f"arrives before players are told of the wave ({format_moment(line.at)})"
            bench.wrong((*path, "arrive"), rule, "Let them arrive later, or the inject be earlier.")
        elif patients.arrival.at >= bench.horizon:
            rule = f"arrives when the plan is over ({format_moment(bench.horizon)})"
            bench.wrong((*path, "arrive"), rule, "Let them arrive earlier, or the horizon be longer.")
        there.taken.add(patients.label)
        there.patients.setdefault(patients.label, patients)
        found.append(patients)
    return tuple(found)


def _inject(
    bench: Bench, there: _There, index: int, line: written.InjectLine, wave: tuple[Patients, ...]
) -> Inject | None:
    """Return an inject; ``None`` where what it names is not there, which is noted."""
    path: Where = ("exercise", "injects", index)
    kind = InjectKind(line.inject)
    if line.at >= bench.horizon:
        rule = f"is when the plan is over ({format_moment(bench.horizon)})"
        bench.wrong((*path, "at"), rule, "Give an earlier moment, or a longer horizon.")
    match line:
        case written.RegulatorLeaks():
            thing = _named(bench, (*path, "regulator"), line.regulator, there.regulators, line.at)
            return thing and Inject(kind, line.at, thing.area, line.regulator)
        case written.WrongWasher():
            thing = _named(bench, (*path, "regulator"), line.regulator, there.regulators, line.at)
            return thing and Inject(kind, line.at, thing.area, line.regulator, line.found_after)
        case written.CylinderLow():
            thing = _named(bench, (*path, "supply"), line.supply, there.supplies, line.at)
            if thing is None or not _holds_less(bench, path, line, thing.what):
                return None
            return Inject(kind, line.at, thing.area, line.supply, psi=line.pressure)
        case written.DeliveryLate():
            return _late(bench, there, path, line)
        case written.SecondWave():
            return Inject(kind, line.at, wave[0].course[0].area, patients=wave)
        case written.PatientWorsens():
            return _worsens(bench, there, path, line)
        case written.PowerFails() | written.AreaMoves():
            return Inject(kind, line.at, line.area, minutes=math.inf if line.for_ is None else line.for_)


def _named(bench: Bench, path: Where, name: str, things: Mapping[str, _Thing], at: float) -> _Thing | None:
    """Return the thing of a name that is there at a moment [min]; else ``None``, which is noted."""
    thing = things.get(name)
    word = path[-1]
    if thing is None:
        none = f"There is no {word} in this scenario."
        bench.wrong(path, f"there is no {word} of this name", nearest(name, things, most=3) or none, name)
    elif thing.available_from > at:
        rule = f"is there only from {format_moment(thing.available_from)}, after the inject"
        bench.wrong(path, rule, "Let the inject be later, or name another one.", name)
        return None
    return thing


def _holds_less(bench: Bench, path: Where, line: written.CylinderLow, what: Lot | RegulatorStock | None) -> bool:
    """Return whether a low cylinder is one, and its gauge is below what its label says; what is wrong is noted."""
    lot: Lot = what  # type: ignore[assignment]
    if lot.gauge_psi is None:
        bench.wrong((*path, "supply"), "is no cylinder and has no gauge", "Name a cylinder.", line.supply)
        return False
    label = next((unit.gauge_psi for unit in lot.units if unit.id == line.supply), lot.gauge_psi)
    if line.pressure >= label:
        rule = f"is not below the {bench.pressure(label)} that its label says"
        bench.wrong((*path, "pressure"), rule, "Give what its gauge really shows.", bench.pressure(line.pressure))
        return False
    return True


def _late(bench: Bench, there: _There, path: Where, line: written.DeliveryLate) -> Inject | None:
    delivery = there.deliveries.get(line.delivery)
    if delivery is None:
        fix = nearest(line.delivery, there.deliveries, most=3) or "There is no delivery in this scenario."
        bench.wrong((*path, "delivery"), "there is no delivery of this name", fix, line.delivery)
        return None
    if line.at > delivery.available_from:
        rule = f"'{line.delivery}' has come by then ({format_moment(delivery.available_from)})"
        bench.wrong((*path, "at"), rule, "Let players be told before it is due.")
    return Inject(InjectKind.DELIVERY_LATE, line.at, delivery.area, line.delivery, line.late_by)


def _worsens(bench: Bench, there: _There, path: Where, line: written.PatientWorsens) -> Inject | None:
    patients = there.patients.get(line.patient)
    if patients is None:
        of_several = line.patient in there.taken
        rule = "is a batch, not a single patient" if of_several else "there is no single patient of this name"
        fix = nearest(line.patient, there.patients, most=3) or "List the patient under 'patients'."
        if there.drawn and not fix.startswith("Did"):
            fix += " Casualties have no names before they are drawn."
        bench.wrong((*path, "patient"), rule, fix, line.patient)
        return None
    arrive = patients.arrival.at
    leave = min(arrive + patients.stay, patients.leave, bench.horizon)
    if not arrive < line.at < leave:
        rule = f"'{line.patient}' is there from {format_moment(arrive)} to {format_moment(leave)} only"
        bench.wrong((*path, "at"), rule, "Give a moment after arrival and before leaving.")
        return None
    now = [spell for spell in patients.course if arrive + spell.after <= line.at][-1]
    category, ladder = line.category or now.category, line.ladder or now.ladder
    if (category, ladder) == (now.category, now.ladder):
        rule = f"'{line.patient}' is {category} with {ladder} already at that moment"
        bench.wrong(path, rule, "Give another category or ladder.")
    return Inject(InjectKind.PATIENT_WORSENS, line.at, now.area, line.patient, category=category, ladder=ladder)
