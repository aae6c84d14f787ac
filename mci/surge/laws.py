"""Laws of uncertain numbers: where a share of the values lies below, the mean, and the law in words."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from mci.scenario.numbers import NumberKind
from mci.scenario.uncertain import Empirical, Fixed, Law, Lognormal, OneOf, Poisson, Triangular, Uniform

if TYPE_CHECKING:
    from mci.scenario.numbers import Number

__all__ = ["in_words", "mean", "quantile"]

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


def in_words(law: Law, number: Number) -> str:
    """Say a law, as in ``triangular, 0 to 90 min, most likely 15 min``.

    Parameters
    ----------
    law
        The distribution.
    number
        What it is the distribution of: gives the unit.
    """
    match law:
        case Fixed(value):
            return f"always {_value(value, number)}"
        case Uniform(low, high):
            return f"uniform, {_range(low, high, number)}"
        case Triangular(low, mode, high):
            return f"triangular, {_range(low, high, number)}, most likely {_value(mode, number)}"
        case Lognormal(median, spread):
            return f"lognormal, median {_value(median, number)}, two thirds within a factor {spread:.10g}"
        case Poisson(expected):
            return f"Poisson, mean {_value(expected, number)}"
        case Empirical(observed, source):
            values = "1 value" if len(observed) == 1 else f"{len(observed)} values"
            return f"as observed, {values}, {_range(min(observed), max(observed), number)} ({source})"
        case OneOf(options, chances):
            each = (f"{option} ({100 * chance:.3g} %)" for option, chance in zip(options, chances, strict=True))
            return " or ".join(each)


def _value(value: float, number: Number) -> str:
    if number.kind is NumberKind.MOMENT:
        return f"T+{value:.10g}"
    return f"{value:.10g} {number.unit}".rstrip()


def _range(low: float, high: float, number: Number) -> str:
    first = _value(low, number) if number.kind is NumberKind.MOMENT else f"{low:.10g}"
    return f"{first} to {_value(high, number)}"
