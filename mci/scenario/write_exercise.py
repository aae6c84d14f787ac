"""A drawn exercise as a scenario file of its own: the briefed scenario with single patients, and what is not told.

Reading it gives the briefed scenario back, with its injects and objectives.  Inventories stay tables, as in
:mod:`mci.scenario.write_variant`.
"""

from __future__ import annotations

import itertools
import math
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from mci import units
from mci.scenario.exact_text import pressure_text
from mci.scenario.exercise import InjectKind, Measure
from mci.scenario.model import Pattern
from mci.scenario.write_variant import SECTIONS, plain_tree, supply_lines
from mci.scenario.yaml_text import write_comment, write_tree

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from mci.scenario.draft import Draft
    from mci.scenario.exercise import Exercise, Inject, Objective
    from mci.scenario.model import Patients, Scenario

__all__ = ["write_exercise"]


def write_exercise(
    draft: Draft,
    briefed: Scenario,
    exercise: Exercise,
    patients: Sequence[Patients] | None = None,
    *,
    file: str = "exercise.yaml",
) -> Mapping[str, str]:
    """Write a drawn exercise as files that can be planned and debriefed.

    Parameters
    ----------
    draft
        The scenario from which it was drawn.
    briefed
        What players are told beforehand.
    exercise
        With its seed, difficulty, injects and objectives; its casualties are drawn, so they are not written.
    patients
        Single patients whom players are told of; those of ``briefed`` unless given.
    file
        Name of the scenario file; inventories get names that begin alike.

    Returns
    -------
    Mapping
        Contents by file name, the scenario first; all belong in one folder.

    Raises
    ------
    ValueError
        If a patient is a batch, or an inject or objective cannot be written.
    """
    tree = plain_tree(draft.files, draft.scenario().name, draft.scenario().summary)
    tree["patients"] = [_patient(each) for each in (briefed.patients if patients is None else patients)]
    tree["supplies"], tables = supply_lines(draft.files, file.rpartition(".")[0] or file)
    tree["exercise"] = _exercise(exercise, bar=briefed.pressures_in_bar)
    kept = {section: tree[section] for section in SECTIONS if tree.get(section) or section == "exercise"}
    return {file: _header(draft, exercise, file) + write_tree(kept), **tables}


def _patient(patients: Patients) -> dict[str, Any]:
    """Return the line of one patient."""
    if patients.count != 1 or patients.arrival.pattern is not Pattern.TOGETHER:
        raise ValueError(f"{patients.label} is a batch; a drawn exercise has single patients")
    first, arrive = patients.course[0], patients.arrival.at
    line: dict[str, Any] = {
        "patient": patients.label,
        "category": first.category,
        "area": first.area,
        "ladder": first.ladder,
        "arrive": _moment(arrive),
    }
    if math.isfinite(patients.stay) and arrive + patients.stay <= patients.leave:
        line["stay"] = _minutes(patients.stay)
    elif math.isfinite(patients.leave):
        line["leave"] = _moment(patients.leave)
    if patients.mechanism:
        line["mechanism"] = patients.mechanism
    then = [
        {"after": _minutes(now.after), **_changed(before, now)} for before, now in itertools.pairwise(patients.course)
    ]
    return {**line, "then": then} if then else line


def _changed(before: Any, now: Any) -> dict[str, str]:
    """Return what a spell changes; its ladder where that is nothing."""
    keys = [key for key in ("category", "area", "ladder") if getattr(before, key) != getattr(now, key)]
    return {key: getattr(now, key) for key in keys or ["ladder"]}


def _exercise(exercise: Exercise, *, bar: bool) -> dict[str, Any]:
    """Return the section; there is always one, be it empty."""
    section: dict[str, Any] = {}
    if exercise.injects:
        section["injects"] = [_inject(each, bar=bar) for each in exercise.injects]
    if exercise.objectives:
        section["objectives"] = [_objective(each) for each in exercise.objectives]
    if exercise.seed is not None:
        section["seed"] = str(exercise.seed)
    if not math.isnan(exercise.difficulty):
        section["difficulty"] = f"{100 * min(max(exercise.difficulty, 0.0), 1.0):.1f} %"
    return section


def _inject(inject: Inject, *, bar: bool) -> dict[str, Any]:
    line: dict[str, Any] = {"inject": inject.kind.value, "at": _moment(inject.at)}
    match inject.kind:
        case InjectKind.REGULATOR_LEAKS:
            return {**line, "regulator": inject.thing}
        case InjectKind.WRONG_WASHER:
            return {**line, "regulator": inject.thing, "found after": _minutes(inject.minutes)}
        case InjectKind.CYLINDER_LOW:
            return {**line, "supply": inject.thing, "pressure": _pressure(inject.psi, bar=bar)}
        case InjectKind.DELIVERY_LATE:
            return {**line, "delivery": inject.thing, "late by": _minutes(inject.minutes)}
        case InjectKind.SECOND_WAVE:
            return {**line, "patients": [_patient(each) for each in inject.patients]}
        case InjectKind.PATIENT_WORSENS:
            return {**line, "patient": inject.thing, "category": inject.category, "ladder": inject.ladder}
        case InjectKind.POWER_FAILS | InjectKind.AREA_MOVES:
            lasts = {"for": _minutes(inject.minutes)} if math.isfinite(inject.minutes) else {}
            return {**line, "area": inject.area, **lasts}


def _objective(objective: Objective) -> dict[str, Any]:
    line = {"objective": objective.measure.value, "category": objective.category, "area": objective.area}
    if objective.measure is not Measure.COVERAGE:
        line["minutes"] = _minutes(objective.minutes)
    if objective.measure in (Measure.ON_OXYGEN, Measure.STEPPED_UP, Measure.COVERAGE):
        line["share"] = _share(objective.share)
    return {key: text for key, text in line.items() if text}


def _digits(value: float) -> str:
    """Write a number with as few digits as read back as the very same."""
    text = format(Decimal(repr(value)), "f")
    return text.removesuffix(".0")


def _minutes(minutes: float) -> str:
    return f"{_digits(minutes)} min"


def _moment(minutes: float) -> str:
    return f"T+{_digits(minutes)}"


def _pressure(psi: float, *, bar: bool) -> str:
    text = pressure_text(psi, bar=bar)
    return text if units.parse_pressure(text) == psi else f"{_digits(psi)} psi"


def _share(share: float) -> str:
    text = f"{100 * share:.10g} %"
    return text if units.parse_share(text) == share else _digits(share)


def _header(draft: Draft, exercise: Exercise, file: str) -> str:
    """Say in comments what the file is and for whom."""
    seed = f", drawn with seed {exercise.seed}" if exercise.seed is not None else ""
    text = write_comment(
        f"Exercise data, invented; not for care of any patient: an exercise on '{draft.scenario().name}' "
        f"({draft.file}){seed}."
    )
    text += "#\n" + write_comment(
        "For whoever leads the exercise. Keep it from the players: the section 'exercise' says what they are not told."
    )
    text += write_comment(
        f"`mci plan {file}` plans it as players are briefed, without what goes wrong.", "  - ", "    "
    )
    text += write_comment(
        f"`mci debrief {file} LOG.csv` compares what a team did with what was possible, with all that goes wrong.",
        "  - ",
        "    ",
    )
    text += "#\n" + write_comment("Assumptions, all to be replaced by your own:")
    for line in _ASSUMPTIONS:
        text += write_comment(line, "  - ", "    ")
    return text


_ASSUMPTIONS = (
    "Casualties were drawn by the mixes of the catalogue, planning assumptions; who needs no oxygen is left out.",
    "Batches and rosters are written out patient by patient; what is uncertain and what could be packed is left out.",
    "All else, with its assumptions, is as in the scenario named above, whose comments are not repeated here.",
)
