"""The section ``exercise``: casualties as the patients who stand for them, objectives; injects are built beside it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mci.catalogue.mechanisms import load_mechanisms
from mci.scenario.build_injects import build_injects
from mci.scenario.build_patients import arrival_of, leaving_of
from mci.scenario.exercise import Casualties, Exercise, Measure, Objective
from mci.scenario.mean_mix import mean_patients
from mci.scenario.objective_words import make_objective

if TYPE_CHECKING:
    from collections.abc import Sequence

    from mci.scenario.bench import Bench
    from mci.scenario.model import Lot, Patients, RegulatorStock
    from mci.scenario.schema_exercise import ExercisePart, ObjectiveLine
    from mci.scenario.yaml_positions import Where

__all__ = ["build_exercise"]


def build_exercise(
    bench: Bench, listed: Sequence[Patients], lots: Sequence[Lot], regulators: Sequence[RegulatorStock]
) -> tuple[Exercise | None, tuple[Patients, ...]]:
    """Return what makes the scenario an exercise, ``None`` where it is none, and the patients for its casualties.

    Parameters
    ----------
    listed
        Patients whom the planner listed.
    lots, regulators
        What injects may name.
    """
    part = bench.file.exercise
    if part is None:
        return None, ()
    groups = _groups(bench, part)
    patients = _stand_ins(bench, groups, {each.label for each in listed})
    if not listed and not patients:
        hurt = sum(group.count for group in groups)
        rule = f"none of the {hurt} hurt needs oxygen by the mean mix, and no patients are listed"
        bench.wrong(("exercise", "casualties"), rule, "Let more be hurt, or list patients.")
    exercise = Exercise(
        casualties=groups,
        casualty_labels=tuple(each.label for each in patients),
        injects=build_injects(bench, part, listed, [each.label for each in patients], lots, regulators),
        objectives=tuple(_objective(bench, number, line) for number, line in enumerate(part.objectives, start=1)),
        seed=part.seed,
        difficulty=math.nan if part.difficulty is None else part.difficulty,
    )
    return exercise, patients


def _groups(bench: Bench, part: ExercisePart) -> tuple[Casualties, ...]:
    groups: list[Casualties] = []
    for index, line in enumerate(part.casualties):
        if line.group in [group.label for group in groups]:
            path: Where = ("exercise", "casualties", index, "group")
            bench.wrong(path, "this name is used twice", "Give every group its own name.", line.group)
        arrival = arrival_of(bench, line.arrive)
        leaving = leaving_of(line)
        groups.append(Casualties(line.group, line.mechanism, line.hurt, line.area, arrival, *leaving, line.children))
        mechanism = load_mechanisms()[line.mechanism]
        bench.assume(
            f"who of those hurt needs oxygen: {mechanism.title.lower()}",
            f"{100 * (1 - mechanism.no_oxygen):.3g} %; {len(mechanism.needs)} kinds of need",
            mechanism.source,
        )
    return tuple(groups)


def _stand_ins(bench: Bench, groups: Sequence[Casualties], taken: set[str]) -> tuple[Patients, ...]:
    """Return the patients who stand for the casualties; a name that somebody has already is noted."""
    found = []
    for index, group in enumerate(groups):
        for patients in mean_patients(group):
            if patients.label in taken:
                rule = f"its casualties would be called '{patients.label}', as patients of the list are"
                bench.wrong(("exercise", "casualties", index, "group"), rule, "Give it another name.", group.label)
            found.append(patients)
    return tuple(found)


def _objective(bench: Bench, number: int, line: ObjectiveLine) -> Objective:
    return make_objective(
        number,
        Measure(line.objective),
        category=line.category or "",
        area=line.area or "",
        title=bench.file.areas[line.area] if line.area else "",
        minutes=getattr(line, "minutes", math.nan),
        share=getattr(line, "share", math.nan),
    )
