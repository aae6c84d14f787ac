"""Default objectives are specific, reached by the key, and more than usual practice does where that can be."""

from __future__ import annotations

import functools
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from played import played_drill
from small_exercise import read_court

from mci.drills.debriefed import Status
from mci.drills.difficulty import Measured, measure
from mci.drills.draw_casualties import draw_casualties
from mci.drills.draw_injects import draw_injects
from mci.drills.happen import happened
from mci.drills.measure import reached
from mci.drills.objectives import asked_share, default_objectives, missed_by
from mci.replay.judge import replay
from mci.replay.judged import Judged
from mci.scenario.exercise import InjectKind, Measure
from mci.scenario.model import Scenario
from mci.scenario.objective_words import make_objective
from mci.settings import Settings

SEEDS = range(4)


@functools.cache
def _made(seed: int) -> tuple[Scenario, Measured]:
    court = read_court()
    briefed = replace(court, patients=draw_casualties(court, seed))
    actual = happened(briefed, draw_injects(briefed, seed, 6))
    return actual, measure(actual, Settings())


@pytest.mark.parametrize("seed", SEEDS)
def test_the_key_reaches_all(seed: int) -> None:
    """Every default objective is met by the best orders, as the debrief measures it; keys count from 1."""
    actual, made = _made(seed)
    objectives = default_objectives(actual, made.best, made.usual)
    found = reached(actual, made.best.verdict, made.best.plan.orders, objectives)
    assert [each.status for each in found] == [Status.MET] * len(objectives)
    assert [each.key for each in objectives] == [f"O{number}" for number in range(1, len(objectives) + 1)]
    assert len({each.text for each in objectives}) == len(objectives) >= 3


@pytest.mark.parametrize("seed", SEEDS)
def test_coverage_asks_for_more_than_usual_practice(seed: int) -> None:
    """Between usual practice and the key; above usual practice wherever the key is by a hundredth or two."""
    actual, made = _made(seed)
    objectives = default_objectives(actual, made.best, made.usual)
    asked = {each.category for each in objectives if each.measure is Measure.COVERAGE}
    table = made.best.verdict.coverage.set_index("category")["coverage"].drop("all")
    assert asked == set(table[table >= 0.02].index)
    for objective in objectives:
        if objective.measure is not Measure.COVERAGE:
            continue
        key, *usual = (
            float(judged.verdict.coverage.set_index("category")["coverage"][objective.category])
            for judged in (made.best, *made.usual)
        )
        assert objective.share <= key
        if key > max(usual) + 0.02:
            assert objective.share > max(usual)


@given(st.floats(0, 1), st.floats(0, 1))
def test_a_share_lies_between(key: float, usual: float) -> None:
    """At most halfway, less than a step below it, in hundredths; above usual practice if a hundredth is between."""
    asked = asked_share(key, usual)
    half = (key + min(key, usual)) / 2
    assert half - 0.05 - 1e-9 < asked <= half + 1e-9
    assert asked * 100 == pytest.approx(round(asked * 100))
    if key >= usual + 0.02:
        assert asked > usual
    elif key < usual:
        assert asked > key - 0.01 - 1e-9


def test_they_fit_the_drill() -> None:
    """Stepping up is asked only where somebody worsens; nothing is asked of a category that nobody has."""
    for seed in SEEDS:
        actual, made = _made(seed)
        worse = any(len({spell.ladder for spell in each.course}) > 1 for each in actual.patients)
        found = default_objectives(actual, made.best, made.usual)
        assert worse or Measure.STEPPED_UP not in {each.measure for each in found}
        categories = {spell.category for each in actual.patients for spell in each.course}
        assert {each.category for each in found} - {""} <= categories
    drawn = {inject.kind for seed in SEEDS for inject in draw_injects(_made(seed)[0], seed, 6)}
    assert InjectKind.PATIENT_WORSENS in drawn


def test_what_orders_miss() -> None:
    """Doing nothing misses what asks for oxygen, and not what nobody can break so."""
    drill = played_drill()
    idle = Judged(replace(drill.best.plan, orders=()), replay(drill.actual, ()))
    soon = make_objective(1, Measure.ON_OXYGEN, category="immediate", minutes=5, share=0.9)
    empty = make_objective(2, Measure.EMPTY, minutes=2)
    assert missed_by(drill.actual, idle, [soon, empty]) == (soon,)
