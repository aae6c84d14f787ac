"""Mixes: shares that follow a Dirichlet distribution, counts that sum to the total."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from mci.surge.cube import sobol_points
from mci.surge.mixes import dirichlet, hand_out


@pytest.mark.parametrize("weights", [(6, 3, 1), (0.5, 0.5), (40, 30, 20, 10), (0.05, 0.02, 0.01), (0.003, 0.001)])
def test_shares_have_the_moments_of_dirichlet(weights: tuple[float, ...]) -> None:
    """Means are w_i / W, variances m_i (1 - m_i) / (W + 1), covariances -m_i m_j / (W + 1)."""
    shares = dirichlet(sobol_points(2**14, len(weights), 3), weights)
    total = sum(weights)
    means = np.asarray(weights) / total
    expected = (np.diag(means) - np.outer(means, means)) / (total + 1)
    np.testing.assert_allclose(shares.sum(axis=1), 1, rtol=1e-12)
    np.testing.assert_allclose(shares.mean(axis=0), means, atol=0.002)
    np.testing.assert_allclose(np.cov(shares.T), expected, atol=0.003)


mixes = st.integers(2, 6).flatmap(
    lambda parts: st.tuples(
        st.lists(st.floats(0.0, 1.0), min_size=parts, max_size=parts).filter(any),
        st.lists(st.integers(0, 1), min_size=parts, max_size=parts),
        st.integers(0, 200),
    )
)


@given(mixes)
def test_counts_sum_to_the_total(mix: tuple[list[float], list[int], int]) -> None:
    """Whole counts, none below the least, sum to the total; without a least, each is within 1 of its share."""
    parts, least, more = mix
    shares = np.asarray([parts]) / sum(parts)
    totals = np.asarray([float(sum(least) + more)])
    counts, raised = hand_out(totals, shares, np.asarray(least, dtype=float))
    assert counts.sum() == totals[0]
    assert (counts == np.round(counts)).all()
    assert (counts >= least).all()
    wanted = totals * shares
    assert raised or (np.abs(counts - wanted) < 1 + 1e-9).all()


def test_largest_remainder_by_hand() -> None:
    """Of 10 by 0.46, 0.36 and 0.18 the first two get one more; a count of 0 is taken off the largest."""
    shares = np.asarray([[0.46, 0.36, 0.18], [0.9, 0.09, 0.01]])
    counts, raised = hand_out(np.asarray([10.0, 10.0]), shares, np.ones(3))
    np.testing.assert_array_equal(counts, [[5, 3, 2], [8, 1, 1]])
    assert raised == 1
