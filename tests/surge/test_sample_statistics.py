"""What is said about samples: known distributions, failed samples, moments that never come, few samples."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_numbers import table
from scipy import stats

from mci.surge.cube import replicated_points
from mci.surge.statistics import convergence, exceedance, one_in, summary

EXPONENTIAL = stats.expon.ppf(replicated_points(2048, 1, 3)[:, 0])


def test_summary_of_a_known_distribution() -> None:
    """Mean, deviation and quantiles of exponential samples are 1, 1 and -ln(1 - q)."""
    row = summary(table(EXPONENTIAL), ["harm"], "sobol").iloc[0]
    assert row["mean_low"] <= 1 <= row["mean_high"]
    assert row["mean_high"] - row["mean_low"] < 0.02
    assert row["sd"] == pytest.approx(1, abs=0.03)
    for percent in (5, 25, 50, 75, 95):
        assert row[f"q{percent:02d}"] == pytest.approx(-math.log(1 - percent / 100), abs=0.02)


def test_order_of_rows_does_not_matter() -> None:
    """Rows come in the order in which cases were finished; what is said is the same."""
    ordered = table(EXPONENTIAL[:100])
    shuffled = ordered.sample(frac=1, random_state=1)
    pd.testing.assert_frame_equal(summary(ordered, ["harm"], "sobol"), summary(shuffled, ["harm"], "sobol"))
    pd.testing.assert_frame_equal(convergence(ordered, "harm", "sobol"), convergence(shuffled, "harm", "sobol"))


def test_failed_and_absent_are_counted_and_left_out() -> None:
    """A failed sample and one without the measure count for nothing, and are told."""
    samples = table([1, 2, math.nan, 400, 3])
    samples.loc[3, "status"] = "no plan"
    row = summary(samples, ["harm"], "plain").iloc[0]
    assert (row["samples"], row["failed"], row["absent"]) == (3, 1, 1)
    assert (row["mean"], row["sd"], row["q50"]) == (2, 1, 2)
    found = one_in(samples, "harm", 3, larger_is_worse=True)
    assert (found.amount, found.samples, found.failed, found.absent) == (3, 3, 1, 1)
    assert exceedance(samples, "harm", larger_is_worse=True)["amount"].tolist() == [1, 2, 3]


@pytest.mark.parametrize("count", [0, 1, 2])
@pytest.mark.parametrize("way", ["plain", "sobol"])
def test_few_samples_say_little(count: int, way: str) -> None:
    """None, one and two samples give NaN where nothing can be said, without a warning."""
    samples = table(list(range(count)))
    row = summary(samples, ["harm"], way).iloc[0]
    assert math.isnan(row["mean"]) == (count < 1)
    assert math.isnan(row["mean_low"]) == math.isnan(row["sd"]) == (count < 2)
    assert len(convergence(samples, "harm", way)) == min(count, 1)
    assert len(exceedance(samples, "harm", larger_is_worse=True)) == count
    assert math.isnan(one_in(samples, "harm", larger_is_worse=True).amount)


def test_all_failed_says_nothing() -> None:
    """A study without any result gives NaN, not an error."""
    samples = table([1.0, 2.0], status="no plan")
    row = summary(samples, ["harm"], "sobol").iloc[0]
    assert (row["samples"], row["failed"]) == (0, 2)
    assert math.isnan(row["mean"])
    assert convergence(samples, "harm", "sobol")["mean"].isna().all()
    assert exceedance(samples, "harm", larger_is_worse=False).empty


def test_convergence_ends_with_the_summary() -> None:
    """The last point is the mean of all samples, each point that of the first ones, and intervals become narrow."""
    curve = convergence(table(EXPONENTIAL), "harm", "sobol")
    row = summary(table(EXPONENTIAL), ["harm"], "sobol").iloc[0]
    last = curve.iloc[-1]
    assert (last["drawn"], last["mean"], last["low"], last["high"]) == (
        2048,
        row["mean"],
        row["mean_low"],
        row["mean_high"],
    )
    assert curve["drawn"].is_monotonic_increasing
    for each in curve.itertuples():
        assert each.mean == pytest.approx(EXPONENTIAL[: each.drawn].mean())
    width = curve["high"] - curve["low"]
    assert width.iloc[-1] < width.iloc[0] / 10


def test_convergence_counts_what_was_drawn() -> None:
    """The first 8 samples are those numbered 1 to 8, failed ones included."""
    samples = table(range(1, 17))
    samples.loc[[0, 1], "status"] = "no plan"
    curve = convergence(samples, "harm", "plain").set_index("drawn")
    assert curve.loc[8, "mean"] == np.mean([3, 4, 5, 6, 7, 8])


def test_exceedance_of_a_known_distribution() -> None:
    """The share of exponential samples of at least x is exp(-x), and the band of nearly every amount contains it."""
    curve = exceedance(table(EXPONENTIAL), "harm", larger_is_worse=True)
    truth = np.exp(-curve["amount"])
    assert np.abs(curve["share"] - truth).max() < 0.005
    assert ((curve["low"] <= truth) & (truth <= curve["high"])).mean() > 0.95


@given(st.lists(st.integers(0, 5), min_size=1, max_size=30))
def test_exceedance_counts(values: list[int]) -> None:
    """Shares count the samples that are at least as bad, either way round, within their band."""
    more = exceedance(table(values), "harm", larger_is_worse=True)
    less = exceedance(table(values), "harm", larger_is_worse=False)
    for each in more.itertuples():
        assert each.share == sum(value >= each.amount for value in values) / len(values)
    for each in less.itertuples():
        assert each.share == sum(value <= each.amount for value in values) / len(values)
        assert each.low <= each.share <= each.high


def test_a_moment_that_never_comes_is_not_as_bad() -> None:
    """Where oxygen never runs short, the first shortage is later than any moment."""
    samples = table([0.0] * 4, first_short_min=[30.0, math.nan, 90.0, math.nan])
    curve = exceedance(samples, "first_short_min", larger_is_worse=False)
    assert curve["amount"].tolist() == [30, 90]
    assert curve["share"].tolist() == [0.25, 0.5]
    assert one_in(samples, "first_short_min", 2, larger_is_worse=False).amount == 90
    everyone = table([0.0] * 40, first_short_min=math.nan)
    assert one_in(everyone, "first_short_min", larger_is_worse=False).amount == math.inf


def test_one_in_twenty_both_ways() -> None:
    """One in twenty has at least -ln(1/20) of harm; of its negative, at most the negative of that."""
    more = one_in(table(EXPONENTIAL), "harm", larger_is_worse=True)
    less = one_in(table(-EXPONENTIAL), "harm", larger_is_worse=False)
    assert more.amount == pytest.approx(math.log(20), abs=0.05)
    assert more.low < more.amount < more.high
    assert (less.amount, less.low, less.high) == (-more.amount, -more.high, -more.low)


@given(st.lists(st.integers(0, 30), min_size=20, max_size=60), st.integers(2, 20))
def test_one_in_agrees_with_exceedance(values: list[int], incidents: int) -> None:
    """The amount of one in n is the largest that at least 1 of n samples reach."""
    curve = exceedance(table(values), "harm", larger_is_worse=True)
    reached = curve.loc[curve["share"] >= 1 / incidents - 1e-12, "amount"]
    assert one_in(table(values), "harm", incidents, larger_is_worse=True).amount == reached.max()


def test_intervals_of_shares_stay_within_what_a_share_can_be() -> None:
    """An interval of coverage ends at 0 % and at 100 %, one of minutes at 0 only."""
    values = [1.0, 1.0, 1.0, 0.6, 1.0, 0.0]
    names = ["best_share", "best_without_min"]
    both = table(values, best_share=values, best_without_min=values)
    share, minutes = summary(both, names, "plain").itertuples()
    assert share.mean == minutes.mean
    assert share.mean_high == 1.0 < minutes.mean_high
    assert share.mean_low == minutes.mean_low > 0
    most = [convergence(both, name, "plain")["high"].max() for name in names]
    assert most[0] <= 1.0 < most[1]
    rare = [0.0, 0.0, 0.0, 0.0, 0.0, 9.0]
    assert summary(table(rare, best_without_min=rare), ["best_without_min"], "plain")["mean_low"].tolist() == [0.0]
