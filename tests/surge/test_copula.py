"""Correlated coordinates: the rank correlation asked for, and nothing else changed."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from mci.errors import InputError
from mci.scenario.uncertain import Correlation
from mci.surge.copula import correlate
from mci.surge.cube import sobol_points

COLUMNS = {"a": 0, "b": 2, "c": 1}
POINTS = sobol_points(4096, 4, 5)


@given(st.floats(-1, 1))
@settings(max_examples=25, deadline=None)
def test_rank_correlation_is_as_asked(rank: float) -> None:
    """Spearman's correlation of the samples is the one asked for, and each coordinate stays uniform."""
    points = correlate(POINTS, COLUMNS, [Correlation("a", "b", rank)])
    assert stats.spearmanr(points[:, 0], points[:, 2]).statistic == pytest.approx(rank, abs=0.01)
    np.testing.assert_array_equal(points[:, [1, 3]], POINTS[:, [1, 3]])
    assert stats.kstest(points[:, 0], "uniform").statistic < 0.01


def test_three_go_together() -> None:
    """Several pairs hold at the same time, and pairs that are not named are independent."""
    points = correlate(POINTS, COLUMNS, [Correlation("a", "b", 0.6), Correlation("b", "c", -0.5)])
    ranks = stats.spearmanr(points[:, [0, 2, 1]]).statistic
    np.testing.assert_allclose(ranks, [[1, 0.6, 0], [0.6, 1, -0.5], [0, -0.5, 1]], atol=0.015)


def test_nothing_correlated_changes_nothing() -> None:
    """Without correlations the points stay as they are."""
    assert correlate(POINTS, COLUMNS, ()) is POINTS
    np.testing.assert_allclose(correlate(POINTS, COLUMNS, [Correlation("a", "b", 0)]), POINTS, atol=1e-12)


def test_contradictions_are_refused() -> None:
    """A with B, B with C, and A against C cannot be."""
    pairs = [Correlation("a", "b", 0.9), Correlation("b", "c", 0.9), Correlation("a", "c", -0.9)]
    with pytest.raises(InputError, match="contradict each other: a, b, c"):
        correlate(POINTS, COLUMNS, pairs)
