"""Intervals of 95 % for means, shares and amounts that were estimated from samples."""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = ["LEVEL", "Estimate", "amount_of", "mean_of", "share_bands"]

Floats = npt.NDArray[np.float64]

#: Confidence of every interval: 95 of 100 studies like this one contain the true value.
LEVEL = 0.95
_TAIL = (1 - LEVEL) / 2


@dataclass(frozen=True, slots=True)
class Estimate:
    """An estimate with its interval; NaN where too few samples say nothing."""

    value: float
    low: float
    high: float


def mean_of(values: Floats, groups: Sequence[Hashable] | npt.NDArray[np.intp]) -> Estimate:
    """Estimate a mean from groups of samples that are independent of each other and alike, with Student's t.

    With s_g the sum of group g, n_g its size, R groups and n samples, the mean is m = sum s_g / n and its
    variance R / (R - 1) sum (s_g - n_g m)^2 / n^2: for groups of one that is the usual one of a random sample, for
    groups of equal size that of the mean of their means.  Source: W. G. Cochran, Sampling Techniques (1977),
    section 6.4 (ratio estimates); A. B. Owen, Error estimation for quasi-Monte Carlo, arXiv 2501.00150 (2025).

    Parameters
    ----------
    values
        Shape ``(samples,)``, none NaN.
    groups
        Group of each sample: a replicate of Sobol' samples; its own for random samples.
    """
    from scipy import special  # heavy, and only needed where risk is told

    if not len(values):
        return Estimate(math.nan, math.nan, math.nan)
    mean = float(values.mean())
    _, which = np.unique(np.asarray(groups), return_inverse=True)
    off = np.bincount(which, weights=values - mean)
    count = len(off)
    if count < 2:
        return Estimate(mean, math.nan, math.nan)
    error = math.sqrt(count / (count - 1) * float(off @ off)) / len(values)
    half = float(special.stdtrit(count - 1, 1 - _TAIL)) * error
    return Estimate(mean, mean - half, mean + half)


def share_bands(hits: npt.NDArray[np.intp], samples: int) -> tuple[Floats, Floats]:
    """Return lower and upper ends of the interval of each share ``hits / samples``, each for itself.

    Exact for random samples, wider than needed for Sobol' samples.  Source: C. J. Clopper and E. S. Pearson, The use
    of confidence or fiducial limits, Biometrika 26 (1934) 404-413.
    """
    from scipy import special  # heavy, and only needed where risk is told

    low = special.betaincinv(np.maximum(hits, 1), samples - hits + 1, _TAIL)
    high = special.betaincinv(hits + 1, np.maximum(samples - hits, 1), 1 - _TAIL)
    return np.where(hits == 0, 0.0, low), np.where(hits == samples, 1.0, high)


def amount_of(values: Floats, share: float) -> Estimate:
    """Estimate the amount that is reached or exceeded in this share of all samples, by order statistics.

    The number of samples beyond the true amount is binomial, whatever the distribution.  Where an end of the interval
    would lie beyond the samples it is NaN, and all of it is where fewer than ``1 / share`` were drawn.  Source: H. A.
    David and H. N. Nagaraja, Order Statistics (2003), section 7.1.

    Parameters
    ----------
    values
        Shape ``(samples,)``, none NaN; may be infinite.
    share
        Above 0, below 1.
    """
    from scipy import stats  # heavy, and only needed where risk is told

    samples = len(values)
    if samples * share < 1 - 1e-9:
        return Estimate(math.nan, math.nan, math.nan)
    downward = np.sort(values)[::-1]
    beyond = stats.binom(samples, share)
    nth, first, last = math.ceil(samples * share - 1e-9), int(beyond.ppf(_TAIL)), int(beyond.ppf(1 - _TAIL)) + 1
    return Estimate(
        value=float(downward[nth - 1]),
        low=float(downward[last - 1]) if last <= samples else math.nan,
        high=float(downward[first - 1]) if first >= 1 else math.nan,
    )
