"""Patients as written, batches and roster rows, in the shape that the program uses."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from mci.scenario.known import Wrong
from mci.scenario.model import Arrival, Patients, Pattern, Spell
from mci.scenario.schema_patients import Batch, ChangeRow, Leaving, Patient, RosterRow, Spread, changes_in_order
from mci.units import format_duration

if TYPE_CHECKING:
    from mci.scenario.bench import Bench
    from mci.scenario.yaml_positions import Where

__all__ = ["arrival_of", "build_patients", "leaving_of", "patients_of"]

_PATTERNS = {"evenly": Pattern.EVEN, "early": Pattern.EARLY, "waves": Pattern.WAVES}


def build_patients(bench: Bench, rosters: dict[Where, list[RosterRow | ChangeRow]]) -> tuple[Patients, ...]:
    """Return all patients in the order of the file; a label that is used twice is a mistake."""
    built: list[Patients] = []
    first_use: dict[str, str] = {}
    for index, line in enumerate(bench.file.patients):
        path: Where = ("patients", index)
        if isinstance(line, Patient | Batch):
            patients = patients_of(bench, path, line)
            _use_once(bench, first_use, patients.label, path)
            built.append(patients)
            continue
        above: dict[str, int] = {}
        for number, row in enumerate(rosters.get(path, [])):
            if isinstance(row, ChangeRow):
                _change(bench, built, above.get(row.patient), row, (path, number))
                continue
            above[row.patient] = len(built)
            built.append(_course(row.patient, 1, Arrival.together(row.arrive), row, ()))
            _use_once(bench, first_use, row.patient, path, number)
    return tuple(built)


def _change(bench: Bench, built: list[Patients], place: int | None, row: ChangeRow, at: tuple[Where, int]) -> None:
    """Add a later row of a roster to the course of its patient."""
    table, number = bench.tables[at[0]], at[1]
    if place is None:
        rule, fix = "no row above says when this patient arrives", "Put the row with 'arrive' first."
        bench.mistakes.append(table.mistake((number, "patient"), rule, fix, row.patient))
        return
    patient = built[place]
    after = row.change - patient.arrival.at
    if after <= patient.course[-1].after + 1e-9:
        rule = "a change must come after arrival and after the change above it"
        bench.mistakes.append(table.mistake((number, "change"), rule, "Write a later moment."))
        return
    course = (*patient.course, Spell(after, row.area, row.category, row.ladder))
    built[place] = replace(patient, course=course)


def _use_once(bench: Bench, first_use: dict[str, str], label: str, path: Where, row: int | None = None) -> None:
    table = bench.tables.get(path)
    place = table.mistake((row, "patient"), "") if table is not None and row is not None else None
    here = f"{place.file} row {place.line}" if place else f"line {bench.positions.of_value(path)[0]}"
    if label in first_use:
        rule, fix = "this name is used twice", f"It was used in {first_use[label]}; every patient or batch has its own."
        if table is not None and row is not None:
            bench.mistakes.append(table.mistake((row, "patient"), rule, fix, label))
        else:
            word = "batch" if isinstance(bench.file.patients[path[1]], Batch) else "patient"
            bench.wrong((*path, word), rule, fix, label)
    first_use.setdefault(label, here)


def patients_of(bench: Bench, path: Where, line: Patient | Batch) -> Patients:
    """Return the patients of a line; what is wrong with their changes is noted."""
    label, count = (line.batch, line.count) if isinstance(line, Batch) else (line.patient, 1)
    try:
        changes = changes_in_order(line)
    except Wrong as wrong:
        bench.wrong((*path, "then"), str(wrong), wrong.fix)
        changes = []
    spells: list[Spell] = []
    now = Spell(0.0, line.area, line.category, line.ladder)
    for after, change in changes:
        now = Spell(after, change.area or now.area, change.category or now.category, change.ladder or now.ladder)
        spells.append(now)
    return _course(label, count, arrival_of(bench, line.arrive), line, tuple(spells))


def arrival_of(bench: Bench, spread: float | Spread) -> Arrival:
    """Return an arrival, at a moment [min] or over a time."""
    if not isinstance(spread, Spread):
        return Arrival.together(spread)
    step = spread.step
    if step is None:
        step = min(bench.defaults.arrival_step, spread.over)
        what = bench.defaults.what["arrival step"]
        bench.assume(what, format_duration(bench.defaults.arrival_step), bench.defaults.sources["arrival step"])
    return Arrival(_PATTERNS[spread.pattern], spread.from_, spread.over, step)


def _course(
    label: str, count: int, arrival: Arrival, line: Patient | Batch | RosterRow, later: tuple[Spell, ...]
) -> Patients:
    first = Spell(0.0, line.area, line.category, line.ladder)
    return Patients(label, count, arrival, *leaving_of(line), (first, *later), line.mechanism or "")


def leaving_of(line: Leaving) -> tuple[float, float]:
    """Return how long they stay [min] and at which moment they leave [min]; ``inf`` where that is not said."""
    return math.inf if line.stay is None else line.stay, math.inf if line.leave is None else line.leave
