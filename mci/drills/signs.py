"""Vital signs of casualties over time, with and without oxygen: exercise data by one simple rule.

Saturation ``s`` goes towards a level ``L`` at a speed in proportion to what is missing::

    ds/dt = (L - s) / T,     L = low + credit (high - low)

``credit`` is the share of the need that is met (0 on air, 1 at target), ``high`` what the casualty reaches at target,
``low`` where saturation ends on air.  ``T`` is :data:`RISES` while ``s`` rises and :data:`SINKS` while it sinks.  Since
``L`` only rises with the credit, more oxygen never means a lower saturation.  Breaths and pulse go with saturation.

None of this is physiology: all constants are assumptions, exercise data, invented so that players see a difference.
Never use it for the care of any patient.
"""

from __future__ import annotations

import itertools
import math
import zlib
from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.catalogue.mechanisms import load_mechanisms
from mci.catalogue.model import DrawRule
from mci.demand.people import name_people
from mci.drills.result import Signs
from mci.surge.seeds import seed_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    import numpy as np

    from mci.catalogue.mechanisms import Need, Picture, Span
    from mci.catalogue.model import Ladder
    from mci.demand.people import Person
    from mci.replay.verdict import Service
    from mci.scenario.model import Scenario

__all__ = [
    "FLOOR",
    "Body",
    "Stretch",
    "child_of",
    "find_bodies",
    "history_at",
    "need_of",
    "saturation_after",
    "seed_of_patient",
    "signs_at",
    "worse_of",
]

# Every constant here: assumption, exercise data.
#: Time constants of saturation while it rises and while it sinks [min].
RISES, SINKS = 2.0, 15.0
#: Saturation [%] never sinks below this.
FLOOR = 60.0
#: Where saturation ends on air, in points below that on arrival; and further for each time that the need grows.
SINKS_BY, WORSE_BY = 10.0, 6.0
#: What is reached at target [%]: from, to.
HIGH = (94, 98)
#: Breaths and pulse [per min] more for each point of saturation less than on arrival; and their limits.
BREATHS_PER_POINT, PULSE_PER_POINT = 0.4, 1.2
BREATHS_RANGE, PULSE_RANGE = (8, 70), (45, 210)
#: On arrival where a scenario does not say how somebody was hurt: saturation, breaths and pulse, each from, to.
UNKNOWN = ((86, 92), (20, 28), (95, 125))
#: How somebody looks from a saturation on: breathing without help, and with it.
LOOKS = (
    (94, "speaks in whole sentences, good colour", "good colour, chest rises evenly"),
    (90, "speaks in short sentences, a little pale", "a little pale, chest rises evenly"),
    (85, "single words only, anxious, pale", "pale, fights the help"),
    (80, "restless, confused, bluish lips", "bluish lips"),
    (0, "drowsy, hardly answers, blue lips", "blue lips, cold skin"),
)
_FIRST_PATIENT = 2**32  # streams of patients lie apart from those of whole drills


@dataclass(frozen=True, slots=True)
class Body:
    """What the rule needs to know of one casualty.

    Parameters
    ----------
    spo2, breaths, pulse
        On arrival, on air.
    high
        Saturation that is reached at target [%].
    helped
        Whether somebody or something breathes for the casualty; then breaths do not change.
    """

    spo2: float
    breaths: float
    pulse: float
    high: float
    helped: bool = False


@dataclass(frozen=True, slots=True)
class Stretch:
    """Some minutes on the same share of the need, after the need has grown so many times."""

    minutes: float
    credit: float
    worse: int = 0


def saturation_after(body: Body, history: Iterable[Stretch]) -> float:
    """Return the saturation after a history that begins on arrival [%]."""
    now = body.spo2
    for stretch in history:
        low = max(FLOOR, body.spo2 - SINKS_BY - WORSE_BY * stretch.worse)
        level = low + stretch.credit * (body.high - low)
        now = level + (now - level) * math.exp(-stretch.minutes / (RISES if level > now else SINKS))
    return min(max(now, FLOOR), 100.0)


def signs_at(body: Body, history: Iterable[Stretch]) -> Signs:
    """Return the vital signs after a history that begins on arrival."""
    saturation = saturation_after(body, history)
    missing = body.spo2 - saturation
    breaths = body.breaths + (0.0 if body.helped else BREATHS_PER_POINT * missing)
    shown = _rounded(saturation, (int(FLOOR), 100))
    spontaneous, helped = next((alone, help_) for least, alone, help_ in LOOKS if shown >= least)
    return Signs(
        spo2=shown,
        breaths=_rounded(breaths, BREATHS_RANGE),
        pulse=_rounded(body.pulse + PULSE_PER_POINT * missing, PULSE_RANGE),
        looks=helped if body.helped else spontaneous,
    )


def _rounded(value: float, limits: tuple[int, int]) -> int:
    return min(max(math.floor(value + 0.5), limits[0]), limits[1])


def worse_of(person: Person, scenario: Scenario, minute: float) -> int:
    """Return how many times the need of a patient has grown by a moment: a ladder with a larger prescribed flow."""
    flows = [scenario.ladders[stay.ladder].rungs[0].flow_lpm for stay in person.stays if stay.start <= minute]
    return sum(after > before for before, after in itertools.pairwise(flows))


def history_at(person: Person, scenario: Scenario, services: Iterable[Service], minute: float) -> tuple[Stretch, ...]:
    """Return what a patient has had from arrival to a moment, for :func:`signs_at`.

    Parameters
    ----------
    services
        Of anybody, such as those of :class:`mci.replay.standing.Standing`; only those of this patient count.
    """
    mine = [each for each in services if each.patient == person.key and each.start < minute]
    moments = {person.arrive, minute, *(stay.start for stay in person.stays)}
    moments |= {end for each in mine for end in (each.start, each.end)}
    points = sorted(point for point in moments if person.arrive <= point <= minute)
    found = []
    for start, end in itertools.pairwise(points):
        credit = max((each.credit for each in mine if each.start <= start < each.end), default=0.0)
        found.append(Stretch(end - start, credit, worse_of(person, scenario, start)))
    return tuple(found)


def need_of(mechanism: str, category: str, ladder: str) -> Need | None:
    """Return the need of a mechanism that a category and a ladder stand for, if there is one."""
    found = load_mechanisms().get(mechanism)
    if found is None:
        return None
    alike = [need for need in found.needs if ladder in (need.ladder, need.child_ladder)]
    return next((need for need in alike if need.category == category), alike[0] if alike else None)


def child_of(need: Need | None, ladder: Ladder) -> bool:
    """Tell whether a ladder is one for children, by the mechanism or by its devices."""
    if need is not None and need.ladder != need.child_ladder:
        return ladder.key == need.child_ladder
    return ladder.rungs[0].device.key.startswith("child ")


def seed_of_patient(seed: int, key: str) -> np.random.Generator:
    """Return the random numbers of one patient, the same whoever else there is."""
    return seed_of(seed, _FIRST_PATIENT + zlib.crc32(key.encode()))


def find_bodies(scenario: Scenario, seed: int) -> Mapping[str, Body]:
    """Return what the rule needs to know of every patient, by name, drawn from the ranges of how they were hurt."""
    hurt = {patients.label: patients.mechanism for patients in scenario.patients}
    return {person.key: _body(person, scenario, hurt, seed) for person in name_people(scenario)}


def _body(person: Person, scenario: Scenario, hurt: Mapping[str, str], seed: int) -> Body:
    first = person.stays[0]
    need = need_of(hurt.get(first.label, ""), first.category, first.ladder)
    ladder = scenario.ladders[first.ladder]
    spans = _spans(need.picture_of(child=child_of(need, ladder))) if need else UNKNOWN
    rng = seed_of_patient(seed, person.key)
    spo2, breaths, pulse, high = (float(rng.integers(low, top + 1)) for low, top in (*spans, HIGH))
    spo2 = max(spo2, FLOOR)
    helped = ladder.rungs[0].device.rule is DrawRule.VENTILATOR
    return Body(spo2, breaths, pulse, min(100.0, max(high, spo2 + 1)), helped)


def _spans(picture: Picture) -> Sequence[tuple[int, int]]:
    def ends(span: Span) -> tuple[int, int]:
        return span.low, span.high

    return ends(picture.spo2), ends(picture.breaths), ends(picture.pulse)
