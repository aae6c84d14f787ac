"""Points in the unit cube: the same however many there are, even, and independent where they should be."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from scipy.stats import qmc

from mci.surge.cube import REPLICATES, evenness, random_points, replicated_points, sobol_points

WAYS = {"plain": random_points, "sobol": replicated_points}


@pytest.mark.parametrize("way", WAYS)
def test_points_do_not_depend_on_how_many(way: str) -> None:
    """The first 10 of 1,000 points are the 10 points, and so are any other first ones."""
    many = WAYS[way](1000, 4, 7)
    for count in (1, 2, 10, 16, 17, 100, 999):
        np.testing.assert_array_equal(WAYS[way](count, 4, 7), many[:count])


@pytest.mark.parametrize("way", WAYS)
def test_points_follow_the_seed(way: str) -> None:
    """Another seed gives other points, the same seed the same, all off the faces of the cube."""
    points = WAYS[way](64, 3, 1)
    assert points.shape == (64, 3)
    assert ((points > 0) & (points < 1)).all()
    np.testing.assert_array_equal(points, WAYS[way](64, 3, 1))
    assert not np.isin(points, WAYS[way](64, 3, 2)).any()


def test_random_points_are_uniform() -> None:
    """Random coordinates are uniform by the test of Kolmogorov and Smirnov."""
    assert stats.kstest(random_points(2000, 2, 5).ravel(), "uniform").pvalue > 0.01


def test_sobol_points_fall_one_into_every_interval() -> None:
    """Of 2^k points of a sequence, one lies in each of 2^k equal intervals, in every coordinate."""
    cells = np.sort(np.floor(sobol_points(64, 5, 3) * 64), axis=0)
    np.testing.assert_array_equal(cells, np.tile(np.arange(64.0)[:, None], 5))


def test_replicates_are_whole_sequences_interleaved() -> None:
    """Sample i is point i // R of replicate i % R, and each replicate is more even than random points."""
    points = replicated_points(REPLICATES * 32, 3, 11)
    for replicate in range(REPLICATES):
        own = points[replicate::REPLICATES]
        np.testing.assert_array_equal(own, sobol_points(32, 3, 11, replicate))
        assert qmc.discrepancy(own) < qmc.discrepancy(random_points(32, 3, replicate))


def test_evenness_is_said() -> None:
    """An even number of samples is told where there is one nearby."""
    assert evenness(REPLICATES) == evenness(2048) == ""
    assert evenness(2000) == "2,000 samples; Sobol' samples are most even for 2,048 or 1,024"
    assert evenness(3) == "3 samples; Sobol' samples are most even for 16"
