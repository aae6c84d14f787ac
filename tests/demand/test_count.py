"""Patients counted into care groups and periods are the patients of the incident, one by one."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from incidents import cylinders, ladder, patients, scenario

from mci.demand.groups import count_demand
from mci.demand.stays import find_stays
from mci.errors import InputError, UsageError
from mci.scenario.model import Patients, Scenario, Spell

LADDERS = ("high", "low")
AREAS = ("a", "b")
CATEGORIES = ("immediate", "delayed")


@st.composite
def batches(draw: st.DrawFn) -> Patients:
    """Draw a batch that may move or change, perhaps several times."""
    changes = sorted(draw(st.lists(st.integers(1, 50), max_size=3, unique=True)))
    batch = patients(
        draw(st.integers(1, 4)),
        draw(st.sampled_from(LADDERS)),
        area=draw(st.sampled_from(AREAS)),
        category=draw(st.sampled_from(CATEGORIES)),
        arrive=draw(st.sampled_from([0, 3, 10, 70])),
        over=draw(st.sampled_from([0, 30])),
        stay=draw(st.sampled_from([float("inf"), 7, 25])),
        then=tuple(
            Spell(
                float(after),
                draw(st.sampled_from(AREAS)),
                draw(st.sampled_from(CATEGORIES)),
                draw(st.sampled_from(LADDERS)),
            )
            for after in changes
        ),
    )
    return dataclasses.replace(batch, leave=draw(st.sampled_from([float("inf"), 40.0])))


@st.composite
def incidents(draw: st.DrawFn) -> Scenario:
    """Draw patients; supplies do not matter here but for the moments that they add."""
    return scenario(
        horizon=60,
        ladders=[ladder("high", ("mask", 15, 1)), ladder("low", ("cannula", 4, 1))],
        patients=[patients(1, "low"), *draw(st.lists(batches(), max_size=4))],  # somebody is always there
        lots=[cylinders(1, 100, arrive=draw(st.sampled_from([0, 20])))],
        areas=AREAS,
    )


@settings(deadline=None)
@given(incidents(), st.sampled_from([float("inf"), 7.0]))
def test_present_is_the_number_of_stays_that_cover_the_period(incident: Scenario, longest: float) -> None:
    """Counted by brute force, stay by stay, at the middle of every period."""
    demand = count_demand(incident, longest)
    middles = (demand.grid.starts + demand.grid.ends) / 2
    expected = np.zeros_like(demand.present)
    for stay in find_stays(incident):
        for number, group in enumerate(demand.groups):
            if (group.area, group.category, group.ladder) == (stay.area, stay.category, stay.ladder):
                expected[number] += stay.count * ((stay.start < middles) & (middles < stay.end))
    assert demand.present.tolist() == expected.tolist()


@settings(deadline=None)
@given(incidents())
def test_a_patient_is_in_one_place_at_a_time(incident: Scenario) -> None:
    """Whoever has come and not left is in exactly one care group."""
    demand = count_demand(incident)
    middles = (demand.grid.starts + demand.grid.ends) / 2
    there = np.zeros(demand.grid.periods)
    for batch in incident.patients:
        alone = dataclasses.replace(batch, course=batch.course[:1])  # never moves, so never two stays
        for stay in find_stays(dataclasses.replace(incident, patients=(alone,))):
            there += stay.count * ((stay.start < middles) & (middles < stay.end))
    assert demand.present.sum(axis=0).tolist() == there.tolist()


@settings(deadline=None)
@given(incidents())
def test_stays_of_a_course_follow_each_other(incident: Scenario) -> None:
    """Each stay of a course begins where the one before ended, within the horizon, and lasts some time."""
    before = None
    for stay in find_stays(incident):
        assert 0 <= stay.start < stay.end <= incident.horizon
        if stay.continues:
            assert before is not None
            assert (stay.start, stay.count, stay.label) == (before.end, before.count, before.label)
        before = stay


@settings(deadline=None)
@given(incidents())
def test_stayers_and_transferred_are_among_those_present(incident: Scenario) -> None:
    """Who stayed was there before and is there now; who came from another group adds to them."""
    demand = count_demand(incident)
    assert (demand.stayers >= 0).all()
    assert (demand.transferred >= 0).all()
    assert (demand.stayers + demand.transferred <= demand.present).all()
    assert (demand.stayers[:, 1:] <= demand.present[:, :-1]).all()
    assert (demand.stayers[:, 0] == 0).all()


@settings(deadline=None)
@given(incidents())
def test_people_are_counted_once(incident: Scenario) -> None:
    """``all`` counts each patient who is there at all once, however often they move."""
    seen = sum(stay.count for stay in find_stays(incident) if not stay.continues)
    demand = count_demand(incident)
    assert demand.patients["all"] == seen
    assert sum(n for category, n in demand.patients.items() if category != "all") >= seen


def test_one_who_moves_by_hand() -> None:
    """Arrives at T+10 in a, is in b from T+25, leaves at T+40: 15 min in each."""
    move = dataclasses.replace(patients(1, "one", arrive=10, stay=30, then=(Spell(15, "b", "delayed", "one"),)))
    incident = scenario(
        horizon=60, ladders=[ladder("one", ("mask", 10, 1))], patients=[move], lots=[], areas=("a", "b")
    )
    demand = count_demand(incident)
    assert demand.grid.points.tolist() == [0, 10, 25, 40, 60]
    assert [(group.area, group.category) for group in demand.groups] == [("a", "immediate"), ("b", "delayed")]
    assert demand.present.tolist() == [[0, 1, 0, 0], [0, 0, 1, 0]]
    assert demand.transferred.tolist() == [[0, 0, 0, 0], [0, 0, 1, 0]]
    assert demand.patients == {"immediate": 1, "delayed": 1, "all": 1}


def test_who_keeps_the_category_is_one_patient_of_it() -> None:
    """Moved at T+10, Delayed from T+20, Immediate again from T+30: one patient of each category, one in all."""
    course = (
        Spell(10, "b", "immediate", "one"),
        Spell(20, "b", "delayed", "one"),
        Spell(25, "a", "delayed", "one"),
    )
    made = [patients(1, "one", then=course), patients(2, "one", arrive=5)]
    incident = scenario(horizon=60, ladders=[ladder("one", ("mask", 10, 1))], patients=made, lots=[], areas=("a", "b"))
    assert count_demand(incident).patients == {"immediate": 3, "delayed": 1, "all": 3}


def test_a_batch_of_one_category_keeps_the_trade_order_of_groups() -> None:
    """Groups are sorted by area as listed, then triage order, then ladder."""
    one = ladder("one", ("mask", 10, 1))
    made = [patients(1, "one", area=area, category=category) for area in "ab" for category in ("minimal", "immediate")]
    incident = scenario(horizon=60, ladders=[one], patients=made, lots=[], areas=("b", "a"))
    assert [(group.area, group.category) for group in count_demand(incident).groups] == [
        ("b", "immediate"),
        ("b", "minimal"),
        ("a", "immediate"),
        ("a", "minimal"),
    ]


def test_nobody_there_is_refused_in_words() -> None:
    """Whoever leaves before arriving is never there; an incident with nobody is a mistake of the input."""
    gone = dataclasses.replace(patients(3, "one", arrive=30), leave=20.0)
    incident = scenario(horizon=60, ladders=[ladder("one", ("mask", 10, 1))], patients=[gone], lots=[])
    assert find_stays(incident) == ()
    with pytest.raises(InputError, match="no patient arrives"):
        count_demand(incident)


def test_steps_that_memory_cannot_hold_are_refused_before_the_work() -> None:
    """A longest step of a millisecond makes millions of periods: refused in words; 14 days of minutes are fine."""
    one = {"ladders": [ladder("low", ("cannula", 4, 1))], "patients": [patients(1, "low")]}
    incident = scenario(horizon=14 * 1440, lots=[cylinders(1, 100)], areas=AREAS, **one)
    with pytest.raises(UsageError, match="give 61 s or more"):
        count_demand(incident, 1 / 60_000)
    assert count_demand(incident, 61 / 60).grid.periods <= 20_000
