"""Signs follow one rule: within bounds, continuous in time, and more oxygen never means a lower saturation."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from played import played_drill
from small_exercise import read_court

from mci.catalogue.mechanisms import load_mechanisms
from mci.demand.people import name_people
from mci.drills.draw_casualties import draw_casualties
from mci.drills.signs import (
    FLOOR,
    RISES,
    Body,
    Stretch,
    find_bodies,
    history_at,
    need_of,
    saturation_after,
    signs_at,
    worse_of,
)

BODIES = st.builds(Body, spo2=st.floats(FLOOR, 94), breaths=st.floats(8, 60), pulse=st.floats(40, 200),
                   high=st.floats(95, 100), helped=st.booleans())  # fmt: skip
STRETCHES = st.builds(Stretch, minutes=st.floats(0, 60), credit=st.floats(0, 1), worse=st.integers(0, 3))
HISTORIES = st.lists(STRETCHES, max_size=6)


@given(BODIES, HISTORIES)
def test_saturation_has_bounds(body: Body, history: list[Stretch]) -> None:
    """Never above 100 %, never below the floor; what is shown is the same, rounded."""
    saturation = saturation_after(body, history)
    assert FLOOR <= saturation <= 100
    assert abs(signs_at(body, history).spo2 - saturation) <= 0.5


@given(BODIES, HISTORIES, st.lists(st.floats(0, 1), min_size=6, max_size=6))
def test_more_oxygen_is_never_worse(body: Body, history: list[Stretch], more: list[float]) -> None:
    """With at least as much credit in every stretch saturation is at least as high; breaths and pulse at most."""
    better = [
        replace(stretch, credit=stretch.credit + (1 - stretch.credit) * add)
        for stretch, add in zip(history, more, strict=False)
    ]
    assert saturation_after(body, better) >= saturation_after(body, history) - 1e-9
    poor, good = signs_at(body, history), signs_at(body, better)
    assert good.breaths <= poor.breaths
    assert good.pulse <= poor.pulse


@given(BODIES, HISTORIES, STRETCHES, st.floats(0, 1))
def test_it_is_continuous(body: Body, history: list[Stretch], last: Stretch, part: float) -> None:
    """A stretch in two is the same as at once, and in little time little changes."""
    pieces = [replace(last, minutes=last.minutes * share) for share in (part, 1 - part)]
    assert saturation_after(body, [*history, *pieces]) == pytest.approx(saturation_after(body, [*history, last]))
    soon = replace(last, minutes=0.01)
    change = abs(saturation_after(body, [*history, soon]) - saturation_after(body, history))
    assert change <= 0.01 / RISES * 40 + 1e-9


@given(BODIES, HISTORIES, st.floats(0.1, 30), st.floats(0, 1))
def test_who_got_worse_is_never_better(body: Body, history: list[Stretch], minutes: float, credit: float) -> None:
    """With the same share of the need met, saturation is no higher after the need has grown once more."""
    now, then = (saturation_after(body, [*history, Stretch(minutes, credit, worse)]) for worse in (0, 1))
    assert then <= now + 1e-9


def test_the_rule_by_hand() -> None:
    """On air for one time constant: 63 % of the way down; at target for three of them: 95 % of the way up."""
    body = Body(88, 24, 110, 96)
    assert saturation_after(body, [Stretch(15, 0)]) == pytest.approx(78 + 10 * 0.3679, abs=0.01)
    assert saturation_after(body, [Stretch(6, 1)]) == pytest.approx(96 - 8 * 0.0498, abs=0.01)
    assert signs_at(body, []).looks == "single words only, anxious, pale"
    assert signs_at(replace(body, helped=True), [Stretch(60, 0)]).breaths == 24


def test_start_values_come_from_how_they_were_hurt() -> None:
    """On arrival signs lie in the ranges of the need; a body depends on seed and name, not on who else there is."""
    court = read_court()
    briefed = replace(court, patients=draw_casualties(court, 3))
    bodies = find_bodies(briefed, 3)
    hurt = {each.label: each.mechanism for each in briefed.patients}
    for person in name_people(briefed):
        first, body = person.stays[0], bodies[person.key]
        need = need_of(hurt[person.key], first.category, first.ladder)
        if need is None:
            continue
        picture = need.picture_of(child=first.ladder == need.child_ladder)
        assert max(FLOOR, picture.spo2.low) <= body.spo2 <= picture.spo2.high
        assert picture.breaths.low <= body.breaths <= picture.breaths.high
        assert picture.pulse.low <= body.pulse <= picture.pulse.high
        assert body.spo2 < body.high <= 100
    fewer = find_bodies(replace(briefed, patients=briefed.patients[2:]), 3)
    assert all(bodies[key] == body for key, body in fewer.items())
    assert find_bodies(briefed, 4) != bodies


def test_every_need_of_the_catalogue_is_found() -> None:
    """Category and ladder lead back to the need, for adults and children, so a card has its own pictures."""
    for key, mechanism in load_mechanisms().items():
        for need in mechanism.needs:
            found = need_of(key, need.category, need.ladder)
            assert found is not None
            assert found.category == need.category
            assert need.ladder == found.ladder


def test_history_comes_from_services() -> None:
    """What a patient had adds up to the time since arrival, with the credits of the replay; a change of need counts."""
    drill = played_drill()
    services = drill.best.verdict.services
    for person in name_people(drill.actual):
        for minute in (person.arrive, person.arrive + 7.5, person.leave):
            history = history_at(person, drill.actual, services, minute)
            assert sum(each.minutes for each in history) == pytest.approx(minute - person.arrive)
            credit = sum(
                each.credit * (min(each.end, minute) - each.start)
                for each in services
                if each.patient == person.key and each.start < minute
            )
            assert sum(each.minutes * each.credit for each in history) == pytest.approx(credit)
        assert worse_of(person, drill.actual, person.leave) >= worse_of(person, drill.actual, person.arrive) == 0
