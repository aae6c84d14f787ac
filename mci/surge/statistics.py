"""What samples say: means with intervals, convergence, how often it is at least as bad, the amount of 1 in 20.

A table of samples has one row a sample: ``key`` (its number, from 1), ``status`` and measures
(:mod:`mci.surge.measures`), in any order.  Samples without a result are counted and left out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from mci.surge.cases import PLANNED
from mci.surge.cube import REPLICATES, Way
from mci.surge.intervals import Estimate, amount_of, mean_of, share_bands
from mci.surge.measures import MEASURES

__all__ = ["OneIn", "convergence", "exceedance", "one_in", "summary"]

Floats = npt.NDArray[np.float64]

_QUANTILES = {"q05": 0.05, "q25": 0.25, "q50": 0.5, "q75": 0.75, "q95": 0.95}
_CURVE_POINTS = 40
_FIRST_COUNT = 8
#: Moments may never come; as far as harm goes, never is later than any of them.
_MOMENTS = frozenset(measure.name for measure in MEASURES if measure.unit == "min")
_SHARES = frozenset(measure.name for measure in MEASURES if measure.unit == "share")


@dataclass(frozen=True, slots=True)
class OneIn:
    """The amount that is reached or exceeded (where less is worse: or undercut) in one of so many incidents.

    Parameters
    ----------
    amount, low, high
        In the unit of the measure, with its interval; NaN where there are too few samples; infinite where it is a
        moment that never comes.
    samples, failed, absent
        How many samples count, had no result, had a result without this measure.
    """

    amount: float
    low: float
    high: float
    samples: int
    failed: int
    absent: int


@dataclass(frozen=True, slots=True)
class _Column:
    """One measure of the samples that have it: values, and numbers of the samples from 0, increasing."""

    values: Floats
    numbers: npt.NDArray[np.intp]
    drawn: npt.NDArray[np.intp]
    failed: int
    absent: int

    def mean(self, way: Way, first: int | None = None) -> Estimate:
        """Estimate the mean over all samples, or the first ones that were drawn."""
        count = len(self.values) if first is None else int(np.searchsorted(self.numbers, self.drawn[first - 1] + 1))
        numbers = self.numbers[:count]
        return mean_of(self.values[:count], numbers % REPLICATES if way == "sobol" else numbers)


def _column(table: pd.DataFrame, measure: str, *, never: bool = False) -> _Column:
    """Pick a measure; with ``never``, a moment that does not come is infinite instead of absent."""
    numbers = np.asarray(table["key"].astype(int), dtype=np.intp) - 1
    order = np.argsort(numbers, kind="stable")
    values = pd.to_numeric(table[measure], errors="coerce").to_numpy(dtype=float)[order]
    planned = (table["status"] == PLANNED).to_numpy()[order]
    if never and measure in _MOMENTS:
        values = np.where(np.isnan(values), math.inf, values)
    there = planned & ~np.isnan(values)
    return _Column(
        values=values[there],
        numbers=numbers[order][there],
        drawn=numbers[order],
        failed=int(np.count_nonzero(~planned)),
        absent=int(np.count_nonzero(planned & ~there)),
    )


def _possible(measure: str, mean: Estimate) -> Estimate:
    """Keep an interval within what can be: a measure is never below 0, a share never above 1."""
    most = 1.0 if measure in _SHARES else math.inf
    low, high = (end if math.isnan(end) else min(max(end, 0.0), most) for end in (mean.low, mean.high))
    return Estimate(mean.value, low, high)


def summary(table: pd.DataFrame, measures: Sequence[str], way: Way) -> pd.DataFrame:
    """Summarise measures over the samples.

    Parameters
    ----------
    table
        Samples.
    measures
        Names of numeric columns.
    way
        How the samples were drawn.

    Returns
    -------
    pandas.DataFrame
        One row a measure: ``measure, samples`` (that count), ``failed`` (no result), ``absent`` (a result without this
        measure: a category that does not occur, a moment that never comes), ``mean, mean_low, mean_high`` (95 %),
        ``sd, q05, q25, q50, q75, q95``.  NaN where there are too few samples.
    """
    rows = []
    for measure in measures:
        column = _column(table, measure)
        mean, values = _possible(measure, column.mean(way)), column.values
        rows.append(
            {
                "measure": measure,
                "samples": len(values),
                "failed": column.failed,
                "absent": column.absent,
                "mean": mean.value,
                "mean_low": mean.low,
                "mean_high": mean.high,
                "sd": float(values.std(ddof=1)) if len(values) > 1 else math.nan,
                **{name: float(np.quantile(values, q)) if len(values) else math.nan for name, q in _QUANTILES.items()},
            }
        )
    return pd.DataFrame(rows)


def convergence(table: pd.DataFrame, measure: str, way: Way) -> pd.DataFrame:
    """Say how the mean settled as samples were added.

    Returns
    -------
    pandas.DataFrame
        One row for each of some 40 numbers of samples, evenly spaced on a logarithmic axis and all of them last:
        ``drawn`` (first samples taken, failed ones included), ``mean, low, high`` (95 %).
    """
    column = _column(table, measure)
    most = len(column.drawn)
    if not most:
        return pd.DataFrame(columns=["drawn", "mean", "low", "high"], dtype=float)
    counts = np.unique(np.round(np.geomspace(min(_FIRST_COUNT, most), most, _CURVE_POINTS)).astype(int))
    means = [_possible(measure, column.mean(way, int(count))) for count in counts]
    return pd.DataFrame(
        {
            "drawn": counts,
            "mean": [each.value for each in means],
            "low": [each.low for each in means],
            "high": [each.high for each in means],
        }
    )


def exceedance(table: pd.DataFrame, measure: str, *, larger_is_worse: bool) -> pd.DataFrame:
    """Return the share of samples that are at least as bad as each amount that occurs.

    Parameters
    ----------
    table
        Samples.
    measure
        Name of a numeric column.
    larger_is_worse
        Whether at least as bad means this much or more, as for patient-minutes without oxygen; else this much or less,
        as for coverage and for the moment of the first shortage.

    Returns
    -------
    pandas.DataFrame
        ``amount`` (finite, increasing), ``share, low, high`` (95 % for each amount by itself; for Sobol' samples wider
        than needed).  A moment that never comes counts as a sample that is not as bad.
    """
    values = _column(table, measure, never=True).values
    amounts = np.unique(values[np.isfinite(values)])
    inward = np.sort(values)
    hits = (
        len(values) - np.searchsorted(inward, amounts, side="left")
        if larger_is_worse
        else np.searchsorted(inward, amounts, side="right")
    )
    low, high = share_bands(hits, len(values))
    return pd.DataFrame({"amount": amounts, "share": hits / max(len(values), 1), "low": low, "high": high})


def one_in(table: pd.DataFrame, measure: str, incidents: int = 20, *, larger_is_worse: bool) -> OneIn:
    """Return the amount that is reached or exceeded in one of so many incidents.

    Parameters
    ----------
    table
        Samples.
    measure
        Name of a numeric column.
    incidents
        2 or more.
    larger_is_worse
        As for :func:`exceedance`; if not, the amount is reached or undercut.
    """
    column = _column(table, measure, never=True)
    found = amount_of(column.values if larger_is_worse else -column.values, 1 / incidents)
    if not larger_is_worse:
        found = Estimate(-found.value, -found.high, -found.low)
    return OneIn(
        amount=found.value,
        low=found.low,
        high=found.high,
        samples=len(column.values),
        failed=column.failed,
        absent=column.absent,
    )
