"""Casualty cards: what was found, what is prescribed, and the signs that a controller reveals; all exercise data."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

from mci.catalogue.mechanisms import load_mechanisms
from mci.demand.people import name_people
from mci.drills.result import Casualty, Stage
from mci.drills.signs import Stretch, child_of, find_bodies, need_of, seed_of_patient, signs_at, worse_of
from mci.plan.credit import reached_rung
from mci.units import format_moment

if TYPE_CHECKING:
    from collections.abc import Iterator

    import numpy as np

    from mci.catalogue.model import Ladder
    from mci.demand.people import Person
    from mci.demand.stays import Stay
    from mci.drills.signs import Body
    from mci.scenario.model import Scenario

__all__ = ["make_cards"]

#: Ages from, to [years].  Assumption, exercise data.
ADULTS, CHILDREN = (18, 85), (3, 14)
#: What is found where a scenario does not say how somebody was hurt.  Assumption, exercise data.
FOUND = {
    "immediate": ("Breathes fast and hard, cannot finish a sentence.", "Grey and sweating, hardly answers."),
    "delayed": ("Short of breath at rest, speaks in short sentences.", "Coughs, breathes fast, follows what is said."),
    "minimal": ("Walks, a little short of breath.", "Anxious, coughs now and then."),
    "expectant": ("Hardly breathes, does not answer.", "Gasps, no answer to voice."),
}
#: When signs are told: minutes without oxygen, at target, and on a lower step.
WITHOUT, AT_TARGET, BELOW = (5, 10, 20), (5, 10), 10
#: Minutes after a change of need, and before it at target, for which signs are told.
CHANGED, BEFORE = 5, 10.0


def make_cards(briefed: Scenario, actual: Scenario, seed: int) -> tuple[Casualty, ...]:
    """Return a card for everybody, in the order of arrival.

    Parameters
    ----------
    briefed, actual
        Who is in the second only is unannounced.
    seed
        Of the drill; a card does not depend on who else there is.
    """
    bodies = find_bodies(actual, seed)
    known = {person.key for person in name_people(briefed)}
    hurt = {patients.label: patients.mechanism for patients in actual.patients}
    people = sorted(name_people(actual), key=lambda person: person.arrive)
    return tuple(
        _card(
            actual, person, bodies[person.key], hurt.get(person.stays[0].label, ""), seed, new=person.key not in known
        )
        for person in people
    )


def _card(scenario: Scenario, person: Person, body: Body, mechanism: str, seed: int, *, new: bool) -> Casualty:
    first = person.stays[0]
    rng = seed_of_patient(seed, f"card of {person.key}")
    need = need_of(mechanism, first.category, first.ladder)
    child = child_of(need, scenario.ladders[first.ladder])
    findings = need.picture_of(child=child).findings if need else FOUND[first.category]
    known = load_mechanisms().get(mechanism)
    return Casualty(
        key=person.key,
        age=_age(rng, child=child),
        found=findings[int(rng.integers(len(findings)))],
        mechanism=known.title if known else "",
        area=first.area,
        arrive=person.arrive,
        leave=person.leave,
        needs=tuple(_needs(scenario, person)),
        stages=tuple(_stages(scenario, person, body)),
        unannounced=new,
    )


def _age(rng: np.random.Generator, *, child: bool) -> str:
    low, high = CHILDREN if child else ADULTS
    return f"{int(rng.integers(low, high + 1))} years"


def _changes(person: Person) -> Iterator[Stay]:
    """Yield the stays with which the need begins or changes; moves to another area do not count."""
    before: Stay | None = None
    for stay in person.stays:
        if before is None or (stay.category, stay.ladder) != (before.category, before.ladder):
            yield stay
        before = stay


def _needs(scenario: Scenario, person: Person) -> Iterator[tuple[float, str, str, str]]:
    for stay in _changes(person):
        ladder = scenario.ladders[stay.ladder]
        yield stay.start, stay.category, ladder.title, f"{ladder.rungs[0].device.title}, {ladder.rungs[0].setting}"


def _stages(scenario: Scenario, person: Person, body: Body) -> Iterator[Stage]:
    ladder = scenario.ladders[person.stays[0].ladder]
    yield Stage("on arrival, on air", signs_at(body, ()))
    for minutes in WITHOUT:
        yield Stage(f"after {minutes} min without oxygen", signs_at(body, [Stretch(minutes, 0.0)]))
    for minutes in AT_TARGET:
        yield Stage(f"after {minutes} min at target", signs_at(body, [Stretch(minutes, ladder.rungs[0].credit)]))
    if len(ladder.rungs) > 1:
        rung = ladder.rungs[len(ladder.rungs) // 2]
        when = f"after {BELOW} min below target ({rung.device.title}, {rung.setting})"
        yield Stage(when, signs_at(body, [Stretch(BELOW, rung.credit)]))
    changes = list(_changes(person))
    for before, stay in itertools.pairwise(changes):
        yield from _changed(scenario, person, body, before, stay)


def _changed(scenario: Scenario, person: Person, body: Body, before: Stay, stay: Stay) -> Iterator[Stage]:
    """Tell the signs after a change of need: on what was given before, and at the new target."""
    old, new = scenario.ladders[before.ladder], scenario.ladders[stay.ladder]
    was, now = (worse_of(person, scenario, each.start) for each in (before, stay))
    until = [Stretch(BEFORE, old.rungs[0].credit, was)]
    as_before = Stretch(CHANGED, _credit(old, new), now)
    at_target = Stretch(CHANGED, new.rungs[0].credit, now)
    when = f"{CHANGED} min after the change at {format_moment(stay.start)}"
    yield Stage(f"{when}, oxygen as before", signs_at(body, [*until, as_before]))
    yield Stage(f"{when}, without oxygen", signs_at(body, [*until, Stretch(CHANGED, 0.0, now)]))
    yield Stage(f"{when}, at the new target", signs_at(body, [*until, at_target]))


def _credit(old: Ladder, new: Ladder) -> float:
    """Return what the old target is worth on the new ladder."""
    top = old.rungs[0]
    reached = reached_rung(new, top.device.key, top.flow_lpm)
    return reached.credit if reached is not None else 0.0
