"""Casualties drawn one by one: mixes by mechanism become people, batches become single patients.

The same scenario and seed always draw the same people.  Whatever an ordinary patient line says stays as written; it is
only taken apart into single patients.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import TYPE_CHECKING

from mci.catalogue.mechanisms import load_mechanisms
from mci.demand.arrivals import cohorts, moment_of
from mci.errors import UsageError
from mci.scenario.model import Arrival, Patients, Spell
from mci.surge.seeds import seed_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    import numpy as np

    from mci.catalogue.mechanisms import Need
    from mci.scenario.exercise import Casualties
    from mci.scenario.model import Scenario

__all__ = ["STAY_VARIES", "STREAM", "Drawn", "draw", "draw_casualties", "free_names"]

#: By what share a stay may be shorter or longer than written.  Assumption, exercise data.
STAY_VARIES = 0.2
#: Number of the stream of random numbers for casualties; see :func:`mci.surge.seeds.seed_of`.
STREAM = 1
#: Draws in which nobody needs oxygen are drawn again, so often.
_TRIES = 20
_LETTER = "P"


@dataclass(frozen=True, slots=True)
class Drawn:
    """Casualties as drawn.

    Parameters
    ----------
    patients
        Single patients, by arrival.
    well
        Per group of casualties, how many need no oxygen; they have no card.
    """

    patients: tuple[Patients, ...]
    well: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _Nameless:
    """A single patient who may still need a name."""

    patients: Patients
    named: bool


def draw_casualties(scenario: Scenario, seed: int) -> tuple[Patients, ...]:
    """Return the single patients of an exercise, by arrival (:func:`draw`)."""
    return draw(scenario, seed).patients


def draw(scenario: Scenario, seed: int, number: int = 0) -> Drawn:
    """Draw the casualties of an exercise, and take batches apart into single patients.

    Parameters
    ----------
    seed
        Of the drill.
    number
        Of the draw; other numbers are other draws of the same drill.

    Returns
    -------
    Drawn
        Single patients with whole-minute arrivals, named ``P01``, ``P02`` and so on by arrival; a single patient whom
        the planner named keeps the name.

    Raises
    ------
    UsageError
        If nobody needs oxygen, however often it is drawn.
    """
    exercise = scenario.exercise
    replaced = frozenset(exercise.casualty_labels) if exercise else frozenset[str]()
    kept = [one for patients in scenario.patients if patients.label not in replaced for one in _single(patients)]
    groups = exercise.casualties if exercise else ()
    for again in range(_TRIES):
        found, well = list(kept), dict[str, int]()
        for place, group in enumerate(groups):
            drawn = _draw_group(group, seed_of(seed, STREAM * 1_000_000 + number * 10_000 + again * 100 + place))
            well[group.label] = group.count - len(drawn)
            found += [_Nameless(each, named=False) for each in drawn]
        if any(each.patients.arrival.at < scenario.horizon for each in found):
            return Drawn(_named(found), MappingProxyType(well))
    raise UsageError(f"nobody in {scenario.name} needs oxygen: there is nothing to drill; have more people hurt")


def _single(patients: Patients) -> Iterator[_Nameless]:
    """Take a batch apart; who is alone keeps the planner's name."""
    if patients.count == 1:
        yield _Nameless(patients, named=True)
        return
    for moment, count in zip(*cohorts(patients.arrival, patients.count), strict=True):
        for _ in range(int(count)):
            yield _Nameless(replace(patients, count=1, arrival=Arrival.together(float(moment))), named=False)


def _draw_group(group: Casualties, rng: np.random.Generator) -> list[Patients]:
    """Draw everybody of a group: how hurt, child or adult, when they come and how long they stay."""
    mechanism = load_mechanisms()[group.mechanism]
    found = []
    for _ in range(group.count):
        which, young, came, stays = (float(value) for value in rng.random(4))
        need = _need_at(mechanism.needs, which)
        if need is None:
            continue
        ladder = need.ladder_of(child=young < group.children)
        stay = group.stay if math.isinf(group.stay) else max(1.0, _whole(group.stay * _varied(stays)))
        at = Arrival.together(float(math.floor(moment_of(group.arrival, came))))
        course = (Spell(0.0, group.area, need.category, ladder),)
        found.append(Patients(group.label, 1, at, stay, group.leave, course, group.mechanism))
    return [each for each in found if each.arrival.at < each.leave]


def _need_at(needs: tuple[Need, ...], which: float) -> Need | None:
    """Return the need at a point of the mix (0 to 1); ``None`` past the last, where no oxygen is needed."""
    reached = 0.0
    for need in needs:
        reached += need.share
        if which < reached:
            return need
    return None


def _varied(uniform: float) -> float:
    return 1 + STAY_VARIES * (2 * uniform - 1)


def _whole(minutes: float) -> float:
    return float(math.floor(minutes + 0.5))


def _named(found: list[_Nameless]) -> tuple[Patients, ...]:
    """Sort by arrival and give names to those who have none."""
    found = sorted(found, key=lambda each: each.patients.arrival.at)
    taken = {each.patients.label for each in found if each.named}
    names = iter(free_names(taken, sum(not each.named for each in found), total=len(found)))
    return tuple(each.patients if each.named else replace(each.patients, label=next(names)) for each in found)


def free_names(taken: set[str], number: int, total: int) -> list[str]:
    """Return so many names for patients that nobody has: ``P01``, ``P02``, with as many digits as ``total`` needs."""
    digits = max(2, len(str(total)))
    used = {name.casefold() for name in taken}
    names: list[str] = []
    count = 0
    while len(names) < number:
        count += 1
        name = f"{_LETTER}{count:0{digits}d}"
        if name.casefold() not in used:
            names.append(name)
    return names
