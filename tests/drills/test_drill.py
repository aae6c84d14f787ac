"""A whole drill: the same seed makes the same bytes, the key can be carried out, and the exercise reads back."""

from __future__ import annotations

import dataclasses
import enum
import functools
import json
import tempfile
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from small_exercise import COURT, EXERCISE, read_text

from mci.demand.people import name_people
from mci.drills.drill import FILE, KEY, MOST_CASUALTIES, run_drill, with_better_key
from mci.drills.drill_notes import drill_notes
from mci.drills.find_drill import find_drill
from mci.drills.happen import happened
from mci.drills.measure import reached
from mci.drills.result import Drill
from mci.errors import InputError, UsageError
from mci.plan.marks import find_marks
from mci.plan.orders import Action
from mci.replay.judge import replay
from mci.scenario.model import Scenario
from mci.scenario.read import read_scenario
from mci.settings import Settings


def _plain(value: Any) -> Any:
    """Return anything of a drill as plain data, but for what may differ between two equal runs."""
    if isinstance(value, pd.DataFrame):
        return value.to_dict("list")
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        names = [each.name for each in dataclasses.fields(value)]
        return {name: _plain(getattr(value, name)) for name in names if name != "timings"}
    if isinstance(value, enum.Enum):
        return value.value
    if isinstance(value, dict) or hasattr(value, "items"):
        return [[_plain(key), _plain(each)] for key, each in value.items()]
    if isinstance(value, frozenset | set):
        return sorted(str(each) for each in value)
    if isinstance(value, tuple | list):
        return [_plain(each) for each in value]
    if isinstance(value, np.generic):
        return value.item()
    return value


def _bytes(drill: Drill) -> str:
    return json.dumps(_plain(drill), default=str)


def _run(seed: int, again: float | None = None) -> Drill:
    return run_drill(read_text(COURT + EXERCISE), seed, None, Settings(), again_every=again)


@functools.cache
def _drill() -> Drill:
    return _run(3, again=15.0)


def test_the_same_seed_is_the_same_drill() -> None:
    """Everything of a drill is the same to the last byte, except how long it took; another seed is another drill."""
    assert _bytes(_run(3, again=15.0)) == _bytes(_drill())
    other = _run(4)
    assert other.exercise_text != _drill().exercise_text
    assert other.briefed.patients != _drill().briefed.patients


def test_the_key_can_be_carried_out() -> None:
    """The best orders are VALID on what happens, no worse than usual practice, and not above the bound."""
    drill = _drill()
    verdict = replay(drill.actual, drill.best.plan.orders)
    assert verdict.validity
    assert verdict.weighted == drill.best.verdict.weighted == drill.difficulty.best
    assert drill.difficulty.usual <= verdict.weighted <= drill.difficulty.bound + 1e-6
    assert drill.best.name == KEY
    assert drill.again is not None
    assert drill.again.verdict.validity
    assert drill.again.verdict.weighted <= drill.difficulty.bound + 1e-6


def _read_back(drill: Drill, folder: Path) -> Scenario:
    for name, text in {**drill.exercise_tables, FILE: drill.exercise_text}.items():
        (folder / name).write_text(text, encoding="utf-8")
    return read_scenario(folder / FILE)


def test_the_exercise_reads_back() -> None:
    """The exercise file is the incident as briefed, with what players are not told, and happens as it did."""
    drill = _drill()
    with tempfile.TemporaryDirectory() as folder:
        again = _read_back(drill, Path(folder))
    for name in (
        "patients",
        "lots",
        "regulators",
        "devices",
        "staff",
        "power",
        "horizon",
        "areas",
        "ladders",
        "weights",
        "stocking",
        "uncertainty",
        "network",
        "reserve",
    ):
        assert getattr(again, name) == getattr(drill.briefed, name), name
    assert again.exercise is not None
    assert drill.briefed.exercise is not None
    assert dataclasses.replace(again.exercise, difficulty=drill.briefed.exercise.difficulty) == drill.briefed.exercise
    actual = happened(again, again.exercise.injects)
    assert replay(actual, drill.best.plan.orders).weighted == drill.best.verdict.weighted
    assert again.exercise.difficulty == pytest.approx(drill.difficulty.lost, abs=0.0006)


def test_parts_belong_together() -> None:
    """Cards, events and objectives are those of the same incident; every table names the same plans."""
    drill = _drill()
    assert {card.key for card in drill.casualties} == {person.key for person in name_people(drill.actual)}
    assert drill.briefed.exercise is not None
    told = list(dict.fromkeys(event.inject for event in drill.events if event.inject is not None))
    assert sorted(told, key=lambda each: each.at) == list(drill.briefed.exercise.injects)
    plans = [KEY, "planned again every 15 min", *(judged.name for judged in drill.usual)]
    assert list(drill.over_time["plan"].unique()) == plans
    assert {key for event in drill.events for key in event.objectives} <= {each.key for each in drill.objectives}
    assert drill.provenance.settings["seed"] == drill.seed == 3
    found = reached(drill.actual, drill.best.verdict, drill.best.plan.orders, drill.objectives)
    assert all(each.status.value == "met" for each in found)


def test_decisions_are_worth_what_replay_says() -> None:
    """Each decision of the drill is worth what a replay of the key without its rows loses; things by their marks."""
    drill = _drill()
    orders = drill.best.plan.orders
    marks = find_marks(drill.briefed)
    assert 0 < len(drill.decisions) <= 8
    for decision in drill.decisions:
        left = [order for row, order in enumerate(orders, start=1) if row not in decision.rows]
        assert decision.worth == pytest.approx(
            drill.best.verdict.weighted - replay(drill.actual, left).weighted, abs=1e-9
        )
        first = orders[decision.rows[0] - 1]
        if first.action in (Action.CHANGE, Action.CONNECT):
            assert marks.of(first.supply) in decision.what


def test_notes_tell_what_a_designer_should_know() -> None:
    """Who has no card and why, that the key knows everything, and objectives that nobody can reach."""
    notes = " ".join(_drill().notes)
    assert "of the hurt need no oxygen and have no card" in notes
    assert "made with everything known beforehand" in notes
    hard = "  objectives: [{objective: without oxygen at most, minutes: 0 min}]\n"
    scenario = read_text(COURT.replace("count: 4, area", "count: 1, area") + EXERCISE + hard).scenario()
    assert scenario.exercise is not None
    found = find_drill(scenario, 3, None, Settings())
    told = " ".join(drill_notes(found, found.measured, scenario.exercise.objectives, scenario))
    assert "Even the answer key does not reach O1" in told


def test_a_drawn_exercise_can_be_drilled_again() -> None:
    """From the exercise file the same people with the same names come, and its injects and objectives are kept."""
    drill = _drill()
    again = run_drill(read_text(drill.exercise_text), 9, None, Settings())
    assert again.briefed.patients == drill.briefed.patients
    assert again.objectives == drill.objectives
    assert again.briefed.exercise is not None
    assert drill.briefed.exercise is not None
    assert again.briefed.exercise.injects == drill.briefed.exercise.injects
    assert again.best.plan.orders == drill.best.plan.orders


def test_it_says_what_it_does_and_refuses_mistakes() -> None:
    """Progress is told in words; a scenario with mistakes is refused with them."""
    said: list[str] = []
    run_drill(read_text(COURT + EXERCISE), 3, None, Settings(), say=said.append)
    assert said
    with pytest.raises(InputError, match="mechanism"):
        run_drill(read_text(COURT + EXERCISE.replace("crowd crush", "landslide")), 3)


def test_the_better_orders_are_the_key() -> None:
    """Where the crew that plans again does better its orders are the key, difficulty goes by them, and that is said."""
    found = find_drill(read_text(COURT + EXERCISE).scenario(), 3, None, Settings())
    worse, better = found.measured.usual[0], found.measured.best
    poor = dataclasses.replace(found, measured=dataclasses.replace(found.measured, best=worse))
    measured, difficulty = with_better_key(poor, better)
    assert measured.best is better
    assert difficulty.lost == found.difficulty.lost
    told = " ".join(drill_notes(poor, measured, (), found.trial.briefed))
    assert "did better than the orders made at once" in told
    assert with_better_key(found, worse) == (found.measured, found.difficulty)
    assert with_better_key(found, None) == (found.measured, found.difficulty)


def test_a_region_is_no_drill() -> None:
    """More casualties than anybody cuts cards for are refused at once, with both numbers."""
    text = COURT.replace("count: 3, category: minimal", f"count: {MOST_CASUALTIES}, category: minimal", 1)
    with pytest.raises(
        UsageError, match=f"has {MOST_CASUALTIES + 1:,} patients, and a drill at most {MOST_CASUALTIES}"
    ):
        run_drill(read_text(text), 1)
