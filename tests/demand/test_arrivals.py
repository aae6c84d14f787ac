"""Arrival patterns bring every patient, none before the first moment and none after the last."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from mci.demand.arrivals import EARLY_MEAN_SHARE, WAVE_SHARES, cohorts, moment_of
from mci.scenario.model import Arrival, Pattern

SPREAD = (Pattern.EVEN, Pattern.EARLY, Pattern.WAVES)
ARRIVALS = st.builds(
    Arrival,
    pattern=st.sampled_from(Pattern),
    at=st.floats(0, 100),
    over=st.floats(1, 300),
    step=st.floats(0.5, 30),
)


@given(ARRIVALS, st.integers(1, 500))
def test_all_arrive_in_their_time(arrival: Arrival, count: int) -> None:
    """Cohorts sum to the batch, come in order, never before ``at`` and never after ``at + over``."""
    moments, counts = cohorts(arrival, count)
    assert counts.sum() == count
    assert counts.min() > 0
    assert (np.diff(moments) > 0).all()
    assert moments[0] >= arrival.at
    assert moments[-1] <= arrival.at + arrival.over


@given(ARRIVALS, st.integers(1, 500))
def test_arrivals_are_at_steps(arrival: Arrival, count: int) -> None:
    """Every cohort comes a whole number of steps after the first moment."""
    steps = (cohorts(arrival, count)[0] - arrival.at) / arrival.step
    assert steps == pytest.approx(np.round(steps), abs=1e-6)


@given(st.sampled_from(SPREAD), st.integers(1, 200), st.integers(1, 12))
def test_patients_come_where_the_share_passes_their_turn(pattern: Pattern, count: int, steps: int) -> None:
    """Patient ``i`` of ``N`` comes in the step in which the pattern's share reaches ``(i + 1/2) / N``."""
    arrival = Arrival(pattern, 0.0, 10.0 * steps, 10.0)

    def share(minute: float) -> float:
        part = minute / arrival.over
        if pattern is Pattern.EVEN:
            return part
        if pattern is Pattern.EARLY:
            return (1 - np.exp(-part / EARLY_MEAN_SHARE)) / (1 - np.exp(-1 / EARLY_MEAN_SHARE))
        first, second = WAVE_SHARES
        return first * min(3 * part, 1) + second * max(3 * part - 2, 0)

    arrived = np.concatenate([np.full(n, m) for m, n in zip(*cohorts(arrival, count), strict=True)])
    for number, moment in enumerate(arrived):
        turn = (number + 0.5) / count
        assert share(moment) <= turn + 1e-9
        assert share(min(moment + arrival.step, arrival.over)) >= turn - 1e-9


def test_together_is_at_once() -> None:
    """All at once at the first moment."""
    moments, counts = cohorts(Arrival(Pattern.TOGETHER, 12, 0, 1), 7)
    assert (moments.tolist(), counts.tolist()) == ([12], [7])


def test_early_brings_about_two_thirds_in_the_first_third() -> None:
    """1 - exp(-1) of 1 - exp(-3): 665 of 1,000 patients within the first 30 of 90 min."""
    moments, counts = cohorts(Arrival(Pattern.EARLY, 0, 90, 1), 1000)
    assert counts[moments < 30].sum() == 665


def test_two_waves_leave_the_middle_third_empty() -> None:
    """Ten patients over 90 min: six in the first third, four in the last."""
    moments, counts = cohorts(Arrival(Pattern.WAVES, 0, 90, 5), 10)
    assert counts[moments < 30].sum() == 6
    assert counts[(moments >= 30) & (moments < 60)].sum() == 0
    assert counts[moments >= 60].sum() == 4


@given(st.sampled_from(SPREAD), st.floats(0.001, 0.999))
def test_a_share_has_its_moment(pattern: Pattern, share: float) -> None:
    """The moment of a share lies in the step in which a large batch reaches it; together all come at once."""
    arrival = Arrival(pattern, 5.0, 60.0, 1.0)
    moment = moment_of(arrival, share)
    assert 5.0 <= moment <= 65.0
    moments, counts = cohorts(arrival, 100_000)
    before, after = counts[moments + 1 <= moment].sum(), counts[moments <= moment + 1e-9].sum()
    assert before / 100_000 <= share + 1e-4
    assert after / 100_000 >= share - 1e-4
    assert moment_of(Arrival.together(7.0), share) == 7.0
