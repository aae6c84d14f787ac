"""Difficulty is what usual practice loses, in bands; the search is bounded, and harder levels are never easier."""

from __future__ import annotations

import dataclasses
import functools
import itertools
import types
import unittest.mock

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from played import played_drill
from small_exercise import COURT, EXERCISE, read_court, read_text

from mci.demand.groups import count_demand
from mci.dispatch.plan import judge_usual
from mci.drills import find_drill as search
from mci.drills.difficulty import BANDS, distance, level_of, measure, most_lost, said
from mci.drills.draw_casualties import Drawn, draw_casualties
from mci.drills.draw_injects import draw_injects
from mci.drills.find_drill import Found, Trial, _Search, find_drill, merge_injects
from mci.drills.result import Level
from mci.scenario.model import Arrival, Patients, Scenario, Spell
from mci.settings import Settings

SEED = 3
_ONE = Patients("P01", 1, Arrival.together(0.0), 30.0, 60.0, (Spell(0.0, "court", "delayed", "low need"),))


@given(st.floats(0, 0.999))
def test_bands_part_what_can_be_lost(lost: float) -> None:
    """Bands follow one another without a gap; a share has the level of its band, at a distance of 0 from it alone."""
    edges = [edge for level in Level for edge in BANDS[level]]
    assert edges == sorted(edges)
    assert edges[1:-1:2] == edges[2::2]
    level = level_of(lost)
    assert (level is None) == (lost < edges[0])
    assert [each for each in Level if distance(lost, each) == 0] == ([level] if level else [])


def test_it_is_what_usual_practice_loses() -> None:
    """The share of the best orders' weighted coverage, by the better way; never more than is missing of the need."""
    actual = played_drill().actual
    measured = measure(actual, Settings())
    told = said(measured, None, 1)
    usual = judge_usual(actual, count_demand(actual))
    assert told.usual == max(judged.verdict.weighted for judged in usual)
    assert told.lost == pytest.approx(1 - told.usual / told.best)
    assert told.usual <= told.best <= told.bound + 1e-6
    assert told.lost <= most_lost(actual, usual) + 1e-9


@pytest.fixture(autouse=True)
def few_draws(monkeypatch: pytest.MonkeyPatch) -> None:
    """Look at few draws: the laws are the same."""
    monkeypatch.setattr(search, "LOOKED_AT", 8)
    monkeypatch.setattr(search, "MEASURED", 3)


@functools.cache
def _found(level: Level | None) -> Found:
    return find_drill(read_court(), SEED, level, Settings())


def test_it_rises_with_the_level() -> None:
    """For one scenario and seed a harder level is at least as hard as measured, and harder where both are reached."""
    for below, above in itertools.pairwise(Level):
        easy, hard = _found(below).difficulty, _found(above).difficulty
        assert easy.lost <= hard.lost
        if easy.level is below and hard.level is above:
            assert easy.lost < hard.lost
    assert _found(Level.EASY).difficulty.lost < _found(Level.HARD).difficulty.lost


def test_a_level_that_is_reached_needs_no_word() -> None:
    """Inside the band nothing is noted, outside it is; what was asked and how many draws were looked at is told."""
    for level in Level:
        found = _found(level)
        assert (found.notes == ()) == (found.difficulty.level is level)
        assert (found.difficulty.asked, found.difficulty.tried) == (level, 8)
    assert _found(Level.HARD).difficulty.level is Level.HARD
    assert _found(None).difficulty.tried == 1
    assert _found(None).difficulty.asked is None


def _plenty() -> Scenario:
    text = COURT.replace("count: 5, pressure: 1500 psi", "count: 60, pressure: 2000 psi")
    text = text.replace("L/min, count: 4", "L/min, count: 40").replace("people: 2", "people: 20")
    for device in ("non-rebreather, count: 3", "rebreather, count: 1", "mask, count: 3", "rebreather, count: 2",
                   "mask, count: 2"):  # fmt: skip
        text = text.replace(device, device[:-1] + "90")
    return read_text(text + EXERCISE).scenario()


def test_what_cannot_be_reached_is_said() -> None:
    """Where there is plenty no draw is hard: the nearest is kept, and what it reaches is noted beside the band."""
    found = find_drill(_plenty(), SEED, Level.HARD, Settings())
    assert found.difficulty.level is not Level.HARD
    (note,) = found.notes
    assert note.startswith("No hard drill was found in 8 draws")
    assert f"usual practice loses {100 * found.difficulty.lost:.1f} % of what the best orders reach" in note
    assert "hard is 15 % or more" in note
    assert "more casualties or fewer supplies" in note


OWN = """\
  injects:
    - {inject: power fails, at: T+20, area: court, for: 10 min}
    - {inject: patient worsens, at: T+15, patient: old woman, ladder: moderate need}
"""


def test_own_injects_are_kept() -> None:
    """A designer's injects are all there, unchanged; others beside them only for a level, and then that is said."""
    scenario = read_text(COURT + EXERCISE + OWN).scenario()
    assert scenario.exercise is not None
    alone = find_drill(scenario, SEED, None, Settings())
    assert alone.trial.injects == scenario.exercise.injects
    assert alone.notes == ("All injects are the scenario's own; none were drawn.",)
    found = find_drill(scenario, SEED, Level.HARD, Settings())
    assert set(scenario.exercise.injects) <= set(found.trial.injects)
    added = len(found.trial.injects) - 2
    assert any(f"{added} more were drawn" in note for note in found.notes) == (added > 0)


def test_own_injects_come_first() -> None:
    """Of drawn injects those about the same thing as a designer's are left out, and a second wave beside one."""
    scenario = read_text(COURT + EXERCISE + OWN).scenario()
    assert scenario.exercise is not None
    own = scenario.exercise.injects
    briefed = dataclasses.replace(scenario, patients=draw_casualties(scenario, SEED))
    for number in range(20):
        drawn = draw_injects(briefed, SEED, 12, number)
        merged = merge_injects(own, drawn)
        assert set(own) <= set(merged) <= {*own, *drawn}
        about = [inject.thing or (inject.kind, inject.area) for inject in merged]
        assert len(set(about)) == len(about)
        assert [inject.at for inject in merged] == sorted(inject.at for inject in merged)
        wave = tuple(each for each in drawn if each.patients)
        assert merge_injects(wave, draw_injects(briefed, SEED, 12, number + 1)).count(wave[0]) == 1
        assert sum(bool(each.patients) for each in merge_injects(wave, draw_injects(briefed, SEED, 12, 99))) == 1


@settings(max_examples=300)
@given(st.lists(st.tuples(st.sampled_from([0, 0.01, 0.03, 0.06, 0.1, 0.14, 0.2, 0.5]), st.floats(0, 1)), min_size=1))
def test_whatever_is_drawn_harder_is_not_easier(draws: list[tuple[float, float]]) -> None:
    """For any draws, measured as they may be: what is kept rises with the level, and is bounded by what was drawn."""
    pool = [
        Trial(Drawn((_ONE,)), None, (), lost, most=lost + (1 - lost) * more)  # type: ignore[arg-type]
        for lost, more in draws
    ]
    kept = []
    for level in Level:
        made = _Search(dataclasses.replace(read_court(), exercise=None), SEED, Settings(), str)
        made.pools[True] = [dataclasses.replace(trial) for trial in pool]
        with unittest.mock.patch.object(search, "measure", lambda lost, _: types.SimpleNamespace(lost=lost)):
            kept.append(made.of(level).lost)
        assert kept[-1] in [lost for lost, _ in draws]
    assert kept == sorted(kept)
