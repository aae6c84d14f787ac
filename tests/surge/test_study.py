"""What all cases of a study share gives the answers that each would get by itself, whatever was asked before."""

from __future__ import annotations

import functools
import pickle
import random
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

import mci
from mci.demand.groups import count_demand
from mci.errors import NoPlanError, UsageError
from mci.lp.allocate import allocate
from mci.lp.outcome import Outcome
from mci.lp.worth import best_of_one_more
from mci.settings import Settings
from mci.surge.late import last_safe_arrival
from mci.surge.study import FRAME_CASES, MOST_NEW, Study, refuse_idle, spread

if TYPE_CHECKING:
    from mci.surge.study import Values

FOLDER = Path(mci.__file__).parents[1] / "scenarios"
FERRY, HOSPITAL = (mci.read_draft(FOLDER / f"{name}.yaml") for name in ("ferry-fire", "hospital-main-failure"))
TRUCK = "deliveries.county oxygen truck"
SETTINGS = Settings(max_period=30.0)
#: Counts, times, contents, stocks, people, weights, credits, flows and words.
CHOICES = {
    "patients.immediate.count": ("5", "10", "23"),
    "patients.lounge.count": ("7", "14", "30"),
    "patients.lounge.arrive.over": ("45 min", "75 min", "2 h"),
    "patients.lounge.arrive.pattern": ("evenly", "early", "waves"),
    "patients.lounge.stay": ("60 min", "100 min", "141.5 min"),
    "patients.cook.leave": ("T+100", "T+180"),
    f"{TRUCK}.delay": ("0 min", "37 min", "5 h"),
    f"{TRUCK}.brings.US M60 aluminium.count": ("2", "8"),
    "supplies.share": ("50 %", "100 %"),
    "supplies.pressure": ("70 %", "100 %"),
    "regulators.share": ("60 %", "100 %"),
    "devices.share": ("40 %", "100 %"),
    "staff.quay.people": ("1", "2", "unlimited"),
    "weights.delayed": ("0.5", "0.7"),
    "ladders.smoke exposure.rungs.2.credit": ("0.75", "0.6"),
    "ladders.smoke exposure.rungs.1.flow": ("12 L/min", "11 L/min"),
}


@functools.cache
def _walk() -> tuple[Values, ...]:
    """Return variants of the ferry, each a few numbers from the one before."""
    random_numbers = random.Random(11)  # noqa: S311
    values: dict[str, str] = {}
    walk: list[Values] = [values]
    for _ in range(8):
        moved = random_numbers.sample(sorted(CHOICES), 4)
        other = {path: [text for text in CHOICES[path] if text != values.get(path)] for path in moved}
        values = values | {path: random_numbers.choice(texts) for path, texts in other.items()}
        walk.append(values)
    assert len({value for each in walk for value in each.items()}) > 16
    return tuple(walk)


@functools.cache
def _study() -> Study:
    """Return a study whose programmes know some of the walk only."""
    return Study(FERRY, SETTINGS, _walk()[:5])


@functools.cache
def _first_outcomes() -> tuple[Outcome, ...]:
    return tuple(_study().answer(FERRY.scenario(values)).outcome for values in _walk())


def _equal(one: Outcome, other: Outcome) -> bool:
    tables = all(getattr(one, name).equals(getattr(other, name)) for name in ("service", "draw", "need"))
    return tables and (one.bound, one.achieved, one.status) == (other.bound, other.achieved, other.status)


def test_hot_answers_along_a_walk_are_cold_answers() -> None:
    """Wherever a walk through many numbers leads, the bound is that of a programme of its own, to 1e-7."""
    bounds = set()
    for values, hot in zip(_walk(), _first_outcomes(), strict=True):
        scenario = FERRY.scenario(values)
        cold = allocate(scenario, count_demand(scenario, SETTINGS.max_period), SETTINGS).outcome
        assert hot.bound == pytest.approx(cold.bound, rel=1e-7)
        assert hot.achieved == pytest.approx(cold.achieved, rel=1e-7)
        bounds.add(round(cold.bound))
    assert len(bounds) > 6


def test_answers_do_not_depend_on_what_was_asked_before() -> None:
    """In another order, with other questions in between, every answer is the same to the last bit."""
    study, first = _study(), _first_outcomes()
    for place in (7, 2, 0, 8, 4, 4):
        scenario = FERRY.scenario(_walk()[place])
        answer = study.answer(scenario)
        assert _equal(answer.outcome, first[place])
        best_of_one_more(answer)
        last_safe_arrival(scenario, answer.parts, study.as_good)


def test_a_study_that_was_sent_gives_the_same_answers() -> None:
    """A study that went to another process, answers the same to the last bit, and so what follows from it."""
    asked = _study()
    asked.answer(FERRY.scenario())
    sent = pickle.loads(pickle.dumps(asked))  # noqa: S301
    assert sent == asked
    assert len(pickle.dumps(asked)) == len(pickle.dumps(Study(FERRY, SETTINGS, _walk()[:5])))
    scenario = FERRY.scenario(_walk()[3])
    told = []
    for study in (sent, asked):
        answer = study.answer(scenario)
        assert _equal(answer.outcome, _first_outcomes()[3])
        told.append((best_of_one_more(answer).to_dict(), str(last_safe_arrival(scenario, answer.parts, study.as_good))))
    assert told[0] == told[1]


def test_a_study_without_common_programmes_gives_the_same_bounds() -> None:
    """Where nothing is known of the variants, or none of those known can be planned, each gets its own programme."""
    reserve = "reserve.icu"
    assert reserve in HOSPITAL.numbers
    impossible: Values = {reserve: "900000 L"}
    with pytest.raises(NoPlanError):
        Study(HOSPITAL, SETTINGS, ({},)).answer(HOSPITAL.scenario(impossible))
    known: list[tuple[Values, ...]] = [(), (impossible,), ({}, impossible, {reserve: "0 L"})]
    studies = [Study(HOSPITAL, SETTINGS, frames) for frames in known]
    for values in ({}, {reserve: "2000 L"}):
        scenario = HOSPITAL.scenario(values)
        cold = allocate(scenario, count_demand(scenario, SETTINGS.max_period), SETTINGS).outcome
        for study in studies:
            assert study.answer(scenario).outcome.bound == pytest.approx(cold.bound, rel=1e-7)


def test_spread_keeps_the_first_and_few() -> None:
    """At most so many variants are kept, the first among them, and all where there are few."""
    for size in (*range(6), 95, 96, 97, 191, 192, 193, 1000):
        values = [{"n": str(n)} for n in range(size)]
        kept = spread(values)
        assert len(kept) == min(size, MOST_NEW)
        assert size == 0 or kept[0] == values[0]
        assert len(spread(values * 9)) <= max(FRAME_CASES, len(kept))
        assert len(spread(values * 9)) >= min(9 * size, FRAME_CASES // 2)


def test_numbers_that_change_nothing_are_refused() -> None:
    """A number of the network is of no use where no trips are planned; it is named."""
    paths = ["patients.count", "network.roads.bridge.drive"]
    with pytest.raises(UsageError, match=r"network\.roads\.bridge\.drive changes nothing"):
        refuse_idle(paths, trips=False)
    refuse_idle(paths, trips=True)
    refuse_idle(paths[:1], trips=False)


def test_frames_are_made_of_every_value_that_occurs() -> None:
    """Of a grid, however its sides divide, every value of every number is in some chosen variant."""
    grid = [{"a": str(a), "b": str(b)} for a in range(24) for b in range(21)]
    chosen = spread(grid)
    assert len(chosen) <= FRAME_CASES
    assert {pair for each in chosen for pair in each.items()} == {pair for each in grid for pair in each.items()}
    assert spread(grid) == chosen
    assert len(spread([{"a": str(n)} for n in range(1000)])) == MOST_NEW
    assert spread([{}]) == ({},)
