"""Casualties are drawn by the mix, each a single patient; the same seed always draws the same people."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest
from small_exercise import read_court

from mci.catalogue.mechanisms import load_mechanisms
from mci.demand.arrivals import cohorts
from mci.drills.draw_casualties import STAY_VARIES, draw, draw_casualties, free_names
from mci.errors import UsageError
from mci.scenario.exercise import Exercise
from mci.scenario.model import Pattern

SEEDS = range(40)


def test_a_seed_is_a_draw() -> None:
    """The same seed draws the same people, other seeds and other draws of a seed others."""
    court = read_court()
    assert draw(court, 3) == draw(court, 3)
    assert len({draw_casualties(court, seed) for seed in SEEDS}) == len(SEEDS)
    assert draw(court, 3, 0) != draw(court, 3, 1)


@pytest.mark.parametrize("seed", SEEDS)
def test_everybody_hurt_is_a_single_patient_or_well(seed: int) -> None:
    """Whoever is hurt needs oxygen and is a patient of a name of their own, or is counted among the well."""
    court = read_court()
    drawn = draw(court, seed)
    hurt = sum(group.count for group in court.exercise.casualties if court.exercise)  # type: ignore[union-attr]
    assert all(patients.count == 1 for patients in drawn.patients)
    assert len({patients.label.casefold() for patients in drawn.patients}) == len(drawn.patients)
    assert len(drawn.patients) - 4 + sum(drawn.well.values()) == hurt  # the planner lists four others


@pytest.mark.parametrize("seed", SEEDS)
def test_names_follow_arrival(seed: int) -> None:
    """Patients come sorted by arrival; those without a name of their own are numbered in that order."""
    patients = draw_casualties(read_court(), seed)
    moments = [each.arrival.at for each in patients]
    assert moments == sorted(moments)
    numbered = [each.label for each in patients if each.label != "old woman"]
    assert numbered == [f"P{number:02d}" for number in range(1, len(numbered) + 1)]


@pytest.mark.parametrize("seed", SEEDS)
def test_casualties_are_as_their_group_says(seed: int) -> None:
    """Whole-minute arrivals in the time of the group, a need of its mechanism, a stay that varies by up to a fifth."""
    court = read_court()
    groups = {group.mechanism: group for group in court.exercise.casualties}  # type: ignore[union-attr]
    for patient in draw_casualties(court, seed):
        if not patient.mechanism:
            continue
        group = groups[patient.mechanism]
        assert group.arrival.at <= patient.arrival.at <= group.arrival.at + group.arrival.over
        assert patient.arrival.at == int(patient.arrival.at)
        assert abs(patient.stay - group.stay) <= STAY_VARIES * group.stay + 0.5
        assert patient.stay == int(patient.stay)
        spell = patient.course[0]
        needs = load_mechanisms()[group.mechanism].needs
        ladders = {(need.category, need.ladder_of(child=child)) for need in needs for child in (False, True)}
        assert (spell.category, spell.ladder) in ladders
        assert spell.area == group.area


def test_shares_are_those_of_the_mix() -> None:
    """Over many draws categories, those who need none and children come as often as the mix and the group say."""
    court = read_court()
    smoke = replace(court.exercise.casualties[1], children=0.2)  # type: ignore[union-attr]
    many = replace(court, patients=(), exercise=Exercise(casualties=(replace(smoke, count=4000),)))
    drawn = draw(many, 1)
    mechanism = load_mechanisms()["smoke"]
    assert drawn.well["smoke"] / 4000 == pytest.approx(mechanism.no_oxygen, abs=0.025)
    ladders = Counter(each.course[0].ladder for each in drawn.patients)
    for need in mechanism.needs:
        same = sum(each.share for each in mechanism.needs if each.ladder == need.ladder)
        assert ladders[need.ladder] / 4000 == pytest.approx(same * (1 - smoke.children), abs=0.025)


def test_arrivals_follow_the_pattern() -> None:
    """Over many draws as many have arrived by any moment as in a batch of the same pattern, but for chance."""
    court = read_court()
    for place, group in enumerate(court.exercise.casualties):  # type: ignore[union-attr]
        many = replace(group, count=4000)
        alone = replace(court, patients=(), exercise=Exercise(casualties=(many,)))
        came = [each.arrival.at for each in draw_casualties(alone, place)]
        moments, counts = cohorts(replace(group.arrival, step=1.0), 4000)
        for minute in range(int(group.arrival.at), int(group.arrival.at + group.arrival.over)):
            expected = counts[moments <= minute].sum() / 4000
            assert sum(at <= minute for at in came) / len(came) == pytest.approx(expected, abs=0.04)


def test_ordinary_patients_stay_as_written() -> None:
    """A planner's own patient keeps her name; a batch comes at its own moments, one by one."""
    court = read_court()
    patients = draw_casualties(court, 3)
    woman = next(each for each in patients if each.label == "old woman")
    assert woman == next(each for each in court.patients if each.label == "old woman")
    helpers = next(each for each in court.patients if each.label == "helpers")
    single = [each for each in patients if each.course == helpers.course and each.stay == helpers.stay]
    moments, counts = cohorts(helpers.arrival, helpers.count)
    assert [each.arrival.at for each in single] == [m for m, n in zip(moments, counts, strict=True) for _ in range(n)]
    assert all(each.arrival.pattern is Pattern.TOGETHER for each in single)


def test_somebody_always_needs_oxygen() -> None:
    """With one or two hurt no draw is empty; where nobody can come in time, that is said."""
    court = read_court()
    one = replace(court.exercise.casualties[0], count=1)  # type: ignore[union-attr]
    alone = replace(court, patients=(), exercise=Exercise(casualties=(one,)))
    assert all(len(draw_casualties(alone, seed)) == 1 for seed in SEEDS)
    late = replace(one, arrival=replace(one.arrival, at=court.horizon))
    with pytest.raises(UsageError, match="nobody in Fire at the market needs oxygen"):
        draw(replace(alone, exercise=Exercise(casualties=(late,))), 3)


def test_names_never_clash() -> None:
    """A name that the planner uses is passed over, in whatever capitals; digits are as many as are needed."""
    assert free_names({"p02"}, 3, total=4) == ["P01", "P03", "P04"]
    assert free_names(set(), 1, total=120) == ["P001"]
