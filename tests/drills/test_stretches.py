"""Stretches follow one another from 0 to the horizon, none has a gain, and they get finer where much is lost."""

from __future__ import annotations

import dataclasses
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_logs import change, connect, disconnect, incident, one_regulator, patient, with_cylinders

from mci.drills import stretches as module
from mci.drills.stretches import Stretch, decision_moments, find_stretches, join, level
from mci.replay.judge import replay
from mci.scenario.exercise import Exercise, Inject, InjectKind
from mci.settings import Settings

VALUES = st.lists(st.floats(0, 100), min_size=2, max_size=12)


def _of(values: list[float]) -> list[Stretch]:
    return [Stretch(n, n + 1, values[n], values[n + 1]) for n in range(len(values) - 1)]


@given(VALUES)
def test_joined_stretches_have_no_gain_and_the_same_sum(values: list[float]) -> None:
    """Whatever rises is joined; only a whole that rises is left as one stretch with a gain."""
    made = join(_of(values))
    assert (made[0].start, made[-1].end) == (0, len(values) - 1)
    assert all(a.end == b.start and a.possible_end == b.possible_start for a, b in pairwise(made))
    assert all(each.lost >= 0 for each in made) or (len(made) == 1 and values[-1] > values[0])
    assert sum(each.lost for each in made) == pytest.approx(values[0] - values[-1])


@given(st.lists(st.integers(0, 9), min_size=2, max_size=12), st.randoms())
def test_what_falls_but_for_rounding_is_not_joined(steps: list[int], random: object) -> None:
    """A series that falls, with noise, stays as fine as it is, and its ends as they are."""
    values = [100.0]
    for step in steps:
        values.append(values[-1] - step)
    noisy = [values[0], *(value + random.uniform(-4e-8, 4e-8) for value in values[1:-1]), values[-1]]  # type: ignore[attr-defined]
    made = level(noisy, 1e-6)
    assert (made[0], made[-1]) == (values[0], values[-1])
    assert made == pytest.approx(values, abs=2e-6)
    assert len(join(_of(made))) == len(steps)


def test_moments_of_decisions() -> None:
    """Orders, arrivals, injects, and where a cylinder ran empty; 0 and the horizon; none twice."""
    made = incident(
        patient("P1"), patient("P2", arrive=7), lots=with_cylinders(1, 100), regulators=one_regulator(), horizon=30
    )
    made = dataclasses.replace(made, exercise=Exercise(injects=(Inject(InjectKind.POWER_FAILS, 25, "a"),)))
    orders = (change(2, "lot"), connect(2.000001, "P1", supply="lot", tool="a-reg"))
    found = decision_moments(made, replay(made, orders), orders)
    assert found == pytest.approx((0, 2, 7, 12, 25, 30))


def test_large_losses_end_between_neighbouring_moments(monkeypatch: pytest.MonkeyPatch) -> None:
    """Forty moments, and all is lost from 17 on: the stretch before is long, the one with the loss is not."""
    people = [patient(f"Q{n}", arrive=n + 40.0) for n in range(38)]
    made = incident(patient("P1"), *people, horizon=80)
    orders = (connect(0, "P1"), disconnect(17, "P1"))
    asked: list[float] = []

    def possible(_scenario: object, standing: object, _settings: object) -> float:
        asked.append(standing.minute)  # type: ignore[attr-defined]
        return 100.0 if standing.minute < 47 else 60.0  # type: ignore[attr-defined]

    monkeypatch.setattr(module, "best_from", possible)
    verdict = dataclasses.replace(replay(made, orders), weighted=60.0)
    found = find_stretches(made, orders, verdict, 100.0, Settings())
    (lossy,) = [each for each in found if each.lost > 0]
    assert (lossy.start, lossy.end) == (46, 47)
    assert len(asked) == len(set(asked)) <= module.MOST_SOLVES


def test_no_more_is_asked_than_is_allowed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where every stretch has a loss, the number of solves is bounded."""
    people = [patient(f"Q{n}", arrive=n + 1.0) for n in range(90)]
    made = incident(*people, horizon=100)
    asked: list[float] = []

    def possible(_scenario: object, standing: object, _settings: object) -> float:
        asked.append(standing.minute)  # type: ignore[attr-defined]
        return 1000.0 - 10 * standing.minute  # type: ignore[attr-defined]

    monkeypatch.setattr(module, "best_from", possible)
    verdict = dataclasses.replace(replay(made, ()), weighted=0.0)
    found = find_stretches(made, (), verdict, 1000.0, Settings())
    assert len(asked) == module.MOST_SOLVES
    assert sum(each.lost for each in found) == pytest.approx(1000)
