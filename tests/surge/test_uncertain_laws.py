"""Laws of uncertain numbers against scipy's distributions, closed forms, and each other."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from mci.scenario.uncertain import Empirical, Fixed, Law, Lognormal, OneOf, Poisson, Triangular, Uniform
from mci.surge.laws import mean, quantile

SHARES = np.linspace(0.001, 0.999, 999)
FINE = (np.arange(200_000) + 0.5) / 200_000


@pytest.mark.parametrize(
    ("law", "frozen"),
    [
        (Uniform(3, 8), stats.uniform(3, 5)),
        (Triangular(0, 15, 90), stats.triang(1 / 6, 0, 90)),
        (Triangular(10, 10, 40), stats.triang(0, 10, 30)),
        (Triangular(10, 40, 40), stats.triang(1, 10, 30)),
        (Lognormal(1850, 1.4), stats.lognorm(math.log(1.4), scale=1850)),
        (Poisson(4.5), stats.poisson(4.5)),
    ],
)
def test_quantile_is_that_of_scipy(law: Law, frozen: object) -> None:
    """Quantiles are those of the distribution in scipy, and so is the mean."""
    np.testing.assert_allclose(quantile(law, SHARES), frozen.ppf(SHARES), rtol=1e-12)
    assert mean(law) == pytest.approx(frozen.mean(), rel=1e-12)


@given(st.floats(-50, 50), st.floats(0, 100), st.floats(0, 1), st.floats(0.001, 0.999))
def test_triangular_closed_form(low: float, width: float, part: float, share: float) -> None:
    """The triangular distribution function of a quantile is the share, by its two parabolas."""
    high, mode = low + width, min(low + part * width, low + width)
    value = float(quantile(Triangular(low, mode, high), np.asarray([share]))[0])
    assert low - 1e-9 <= value <= high + 1e-9
    if 1e-3 < part < 1 - 1e-3 and width > 1e-3:
        rising = (value - low) ** 2 / (width * (mode - low))
        falling = 1 - (high - value) ** 2 / (width * (high - mode))
        assert (rising if value <= mode else falling) == pytest.approx(share, abs=1e-6)


def test_lognormal_median_and_spread() -> None:
    """Half of the values lie below the median, and 68.27 % within a factor of the spread."""
    normal = stats.norm.cdf([0, -1, 1])
    np.testing.assert_allclose(quantile(Lognormal(60, 1.5), normal), [60, 40, 90], rtol=1e-12)


@pytest.mark.parametrize("law", [Triangular(7, 7, 7), Lognormal(7, 1), Uniform(7, 7), Fixed(7), Empirical((7,), "f")])
def test_laws_without_width(law: Law) -> None:
    """A law without width gives its only value."""
    assert set(quantile(law, SHARES)) == {7.0}
    assert mean(law) == 7


def test_poisson_of_nothing() -> None:
    """No events are expected, so none come."""
    assert set(quantile(Poisson(0), SHARES)) == {0.0}


@given(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=12))
def test_empirical_gives_each_value_equally_often(values: list[float]) -> None:
    """Each observed value has the same share of all values."""
    shares = (np.arange(10 * len(values)) + 0.5) / (10 * len(values))
    drawn = quantile(Empirical(tuple(values), "f"), shares)
    assert sorted(drawn) == sorted(10 * values)
    assert mean(Empirical(tuple(values), "f")) == pytest.approx(float(np.mean(values)), abs=1e-6)


def test_one_of_gives_options_by_their_chance() -> None:
    """Each option has its share, and one without a chance never comes, at the end and in the middle."""
    law = OneOf(("a", "b", "c", "d"), (0.25, 0.0, 0.75, 0.0))
    drawn, counts = np.unique(quantile(law, FINE), return_counts=True)
    assert dict(zip(drawn, counts / len(FINE), strict=True)) == {0.0: 0.25, 2.0: 0.75}
    assert quantile(law, np.asarray([1 - 2**-50])) == [2.0]
    assert math.isnan(mean(law))


LAWS = (
    Fixed(3),
    Uniform(1, 4),
    Triangular(0, 15, 90),
    Lognormal(30, 1.6),
    Poisson(6),
    Empirical((4, 8, 8, 1), "f"),
    OneOf(("a", "b"), (0.4, 0.6)),
)


@pytest.mark.parametrize("law", LAWS, ids=lambda law: type(law).__name__)
def test_quantiles_never_fall(law: Law) -> None:
    """A larger share lies below a larger value."""
    assert (np.diff(quantile(law, FINE)) >= 0).all()


@pytest.mark.parametrize("law", LAWS[:-1], ids=lambda law: type(law).__name__)
def test_mean_is_the_integral_of_quantiles(law: Law) -> None:
    """The mean is the mean of the quantiles of all shares."""
    assert quantile(law, FINE).mean() == pytest.approx(mean(law), rel=1e-4)
