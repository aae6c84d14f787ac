"""Laws of uncertain numbers: below which value a share of all lies, and the mean."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from mci.scenario.uncertain import Empirical, Fixed, Law, Lognormal, OneOf, Poisson, Triangular, Uniform

__all__ = ["mean", "quantile"]

Floats = npt.NDArray[np.float64]


def quantile(law: Law, shares: Floats) -> Floats:
    """Return the values below which these shares of all values lie (inverse distribution function).

    Parameters
    ----------
    law
        The distribution.
    shares
        Shares above 0 and below 1, any shape.

    Returns
    -------
    numpy.ndarray
        Values in the unit of the number, same shape; of :class:`OneOf` the number of the option, from 0.
    """
    from scipy import special, stats  # heavy, and only needed where something is drawn

    values: Floats
    match law:
        case Fixed(value):
            values = np.full_like(shares, value)
        case Uniform(low, high):
            values = low + (high - low) * shares
        case Triangular(low, mode, high) if high > low:
            values = stats.triang.ppf(shares, (mode - low) / (high - low), loc=low, scale=high - low)
        case Triangular(low):
            values = np.full_like(shares, low)
        case Lognormal(median, spread):
            values = median * spread ** special.ndtri(shares)
        case Poisson(mean):
            values = stats.poisson.ppf(shares, mean)
        case Empirical(observed):
            values = np.sort(np.asarray(observed, dtype=float))[_which(np.ones(len(observed)), shares)]
        case OneOf(_, chances):
            values = _which(np.asarray(chances), shares).astype(float)
    return values


def _which(chances: Floats, shares: Floats) -> npt.NDArray[np.intp]:
    """Return which of several values each share of all falls on; one without a chance is never chosen."""
    steps = np.cumsum(chances)
    chosen: npt.NDArray[np.intp] = np.searchsorted(steps / steps[-1], shares, side="right")
    return chosen


def mean(law: Law) -> float:
    """Return the mean in the unit of the number, before any rounding; NaN of :class:`OneOf`, which may be words.

    A lognormal law with median m and spread s has the mean m exp(ln(s)^2 / 2).
    """
    match law:
        case Fixed(value):
            return value
        case Uniform(low, high):
            return (low + high) / 2
        case Triangular(low, mode, high):
            return (low + mode + high) / 3
        case Lognormal(median, spread):
            return median * math.exp(math.log(spread) ** 2 / 2)
        case Poisson(expected):
            return expected
        case Empirical(observed):
            return math.fsum(observed) / len(observed)
        case OneOf():
            return math.nan
