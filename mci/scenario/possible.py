"""What patients of an exercise may come to need besides those who are listed: whoever can be drawn, and injects."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.catalogue.mechanisms import load_mechanisms
from mci.scenario.exercise import InjectKind
from mci.scenario.model import Spell

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from mci.scenario.exercise import Casualties, Exercise
    from mci.scenario.model import Patients

__all__ = ["all_spells", "may_need"]


def may_need(group: Casualties) -> Iterator[Spell]:
    """Yield every need that somebody of a group can have, on arrival."""
    for need in load_mechanisms()[group.mechanism].needs:
        for child in (False, True):
            if group.children < 1 if not child else group.children > 0:
                yield Spell(0.0, group.area, need.category, need.ladder_of(child=child))


def all_spells(patients: Iterable[Patients], exercise: Exercise | None) -> Iterator[Spell]:
    """Yield every spell that there is or can be: of patients, of casualties however they are drawn, and of injects."""
    for each in patients:
        yield from each.course
    for group in exercise.casualties if exercise else ():
        yield from may_need(group)
    for inject in exercise.injects if exercise else ():
        for each in inject.patients:
            yield from each.course
        if inject.kind is InjectKind.PATIENT_WORSENS:
            yield Spell(0.0, inject.area, inject.category, inject.ladder)
