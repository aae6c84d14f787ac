"""Intervals: formulas that are known, what they contain in repeated studies, honesty for few samples."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from mci.surge.cube import REPLICATES, random_points, replicated_points
from mci.surge.intervals import amount_of, mean_of, share_bands

STUDIES = 200
#: Of 200 studies at 95 %, between these contain the truth in 999 of 1,000 cases.
MOST_OFF = int(stats.binom(STUDIES, 0.05).ppf(0.9995))
FEWEST_OFF = int(stats.binom(STUDIES, 0.05).ppf(0.0005))


@given(st.lists(st.floats(-1e3, 1e3), min_size=2, max_size=40))
def test_random_samples_get_students_interval(values: list[float]) -> None:
    """Groups of one give the usual interval of Student's t."""
    array = np.asarray(values)
    found = mean_of(array, range(len(values)))
    low, high = stats.t.interval(0.95, len(values) - 1, loc=array.mean(), scale=max(stats.sem(array), 1e-300))
    assert (found.low, found.high) == (pytest.approx(low, abs=1e-6), pytest.approx(high, abs=1e-6))


@given(st.integers(2, 6), st.integers(1, 8), st.integers(0, 99))
def test_equal_groups_get_the_interval_of_their_means(groups: int, size: int, seed: int) -> None:
    """Groups of equal size give Student's interval of the group means."""
    values = np.random.default_rng(seed).random((size, groups))
    found = mean_of(values.ravel(), list(range(groups)) * size)
    means = mean_of(values.mean(axis=0), range(groups))
    np.testing.assert_allclose([found.low, found.value, found.high], [means.low, means.value, means.high])


def _harm(points: np.ndarray) -> np.ndarray:
    """Return a shortage: nothing below a threshold, growing above it; its mean is known (see below)."""
    return np.maximum(points.sum(axis=1) - 1, 0)


#: E max(u + v - 1, 0) for independent uniform u and v is the integral of s^2 / 2 over 0..1.
TRUE_MEAN = 1 / 6


@pytest.mark.parametrize("samples", [64, 250])
def test_plain_intervals_contain_the_mean(samples: int) -> None:
    """About 95 of 100 plain studies contain the true mean."""
    off = 0
    for seed in range(STUDIES):
        found = mean_of(_harm(np.random.default_rng(seed).random((samples, 2))), range(samples))
        off += not found.low <= TRUE_MEAN <= found.high
    assert FEWEST_OFF <= off <= MOST_OFF


@pytest.mark.parametrize("samples", [64, 250])
def test_sobol_intervals_contain_the_mean(samples: int) -> None:
    """About 95 of 100 Sobol' studies contain the true mean, and their intervals are less than half as wide."""
    off, widths = 0, []
    for seed in range(STUDIES):
        values = _harm(replicated_points(samples, 2, seed))
        found = mean_of(values, np.arange(samples) % REPLICATES)
        off += not found.low <= TRUE_MEAN <= found.high
        widths.append(found.high - found.low)
    plain = mean_of(_harm(random_points(samples, 2, 1)), range(samples))
    assert FEWEST_OFF <= off <= MOST_OFF
    assert np.mean(widths) < (plain.high - plain.low) / 2


def test_share_bands_are_those_of_scipy() -> None:
    """Bands of shares are the exact binomial ones, ends included."""
    hits = np.arange(21)
    low, high = share_bands(hits, 20)
    expected = [stats.binomtest(int(each), 20).proportion_ci(0.95, "exact") for each in hits]
    np.testing.assert_allclose(low, [each.low for each in expected], atol=1e-12)
    np.testing.assert_allclose(high, [each.high for each in expected], atol=1e-12)


@pytest.mark.parametrize("way", ["plain", "sobol"])
def test_amounts_contain_the_true_one(way: str) -> None:
    """At least about 95 of 100 studies contain the true amount of 1 in 20."""
    off = 0
    for seed in range(STUDIES):
        shares = np.random.default_rng(seed).random(200) if way == "plain" else replicated_points(200, 1, seed)[:, 0]
        found = amount_of(stats.expon.ppf(shares), 1 / 20)
        off += not found.low <= math.log(20) <= found.high
        assert found.low <= found.value <= found.high
    assert off <= MOST_OFF


def test_amount_by_hand() -> None:
    """Of 1 to 100, one in twenty is 96 or more; one in four is 76 or more."""
    values = np.arange(1.0, 101.0)
    assert amount_of(values, 1 / 20).value == 96
    assert amount_of(values, 1 / 4).value == 76
    first, last = stats.binom(100, 1 / 4).ppf([0.025, 0.975])
    assert (amount_of(values, 1 / 4).low, amount_of(values, 1 / 4).high) == (100 - last, 101 - first)


def test_few_samples_say_little() -> None:
    """Where samples are too few, estimates and intervals are NaN, without a warning."""
    nothing, one = mean_of(np.empty(0), []), mean_of(np.ones(1), [0])
    assert np.isnan([nothing.value, nothing.low, nothing.high, one.low, one.high]).all()
    assert one.value == 1
    assert math.isnan(amount_of(np.ones(19), 1 / 20).value)
    few = amount_of(np.arange(20.0), 1 / 20)
    assert few.value == 19
    assert few.low == 16  # at most 3 of 20 lie beyond
    assert math.isnan(few.high)
    low, high = share_bands(np.asarray([0]), 0)
    assert (low[0], high[0]) == (0, 1)
