"""The page of a risk study in words: what it says of incidents is what the samples say."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from made_surge import ARRIVALS, DELAY, PATTERN, STOCK, incident, made_risk

from mci.report.law_words import correlation_words, law_words, laws_by_path
from mci.report.risk_build import build_risk_page
from mci.report.risk_headline import told_policy
from mci.report.risk_series import chance_panels, dots, driver_panels, histograms, settlings
from mci.report.study_words import amount
from mci.report.words import share
from mci.scenario.numbers import Number
from mci.scenario.uncertain import (
    Correlation,
    Empirical,
    Fixed,
    Law,
    Lognormal,
    Mix,
    OneOf,
    Poisson,
    Triangular,
    Uncertainty,
    Uniform,
)
from mci.surge.risk_result import Risk


def worst(found: Risk, measure: str, incidents: int) -> float:
    """Return the amount that one of so many incidents reaches, counted by hand."""
    values = np.sort(found.table.loc[found.table["status"] == "planned", measure].astype(float))[::-1]
    return float(values[math.ceil(len(values) / incidents) - 1])


def test_the_headline_is_counted_in_incidents() -> None:
    """One of 20 reaches the amount; as many as are said have all Immediate patients covered."""
    found = made_risk()
    headline = build_risk_page(found).headline
    rare = worst(found, "rolling_without_immediate_min", 20)
    assert headline[0].startswith(f"In 1 of 20 incidents at least {amount(rare)} Immediate patient-minutes are without")
    assert "orders, planned again and again" in headline[0]
    there = found.table[found.table["status"] == "planned"]
    covered = float((there["rolling_immediate"] >= 1 - 1e-6).mean())
    assert f"In {round(100 * covered)}\u00a0of\u00a0100 incidents the need of all Immediate" in headline[1]
    assert f"best possible {share(there['best_share'].mean())}" in headline[2]
    lost = float((there["orders_share"] - there["rolling_share"]).mean())
    assert f"meets {share(lost)} less of the weighted need" in headline[3]


def test_without_harm_in_1_of_20_no_amount_is_told() -> None:
    """An amount of nothing is no amount."""
    found = made_risk(128)
    calm = dataclasses.replace(found, table=found.table.assign(rolling_without_immediate_min=0.0))
    assert build_risk_page(calm).headline[0].startswith("In fewer than 1 of 20 incidents is any Immediate patient")


def test_too_few_samples_are_said_to_be_too_few() -> None:
    """Six samples say nothing about one incident in 20."""
    page = build_risk_page(made_risk(6, rolling=False, drivers=False, failing=False))
    assert "too few samples" in page.headline[0]
    assert {row.amounts[3] for row in page.body.chances} == {"too few"}
    assert "were not asked for" in page.body.rolling


def test_the_policy_that_is_told_is_the_one_nearest_to_a_crew() -> None:
    """Planned again and again where enough samples have it, else orders, else the best possible."""
    found = made_risk(128)
    assert told_policy(found) == "rolling"
    without = found.table.assign(rolling_share=math.nan)
    assert told_policy(dataclasses.replace(found, table=without)) == "orders"
    assert told_policy(dataclasses.replace(found, table=without.assign(orders_share=math.nan))) == "best"
    few = found.table["rolling_share"].where(found.table.index < 99)
    assert told_policy(dataclasses.replace(found, table=found.table.assign(rolling_share=few))) == "orders"


def test_nothing_with_a_result_is_said_so() -> None:
    """A study in which everything failed has a page."""
    found = made_risk(16, rolling=False, drivers=False)
    blank = {name: math.nan for name in found.table.columns if name.startswith(("best_", "usual_", "orders_"))}
    table = found.table.assign(status="no plan", **blank)
    none = found.summary.assign(samples=0, mean=math.nan)
    page = build_risk_page(
        dataclasses.replace(found, table=table, summary=none, compared=none, exceedance=found.exceedance.iloc[:0],
                            convergence=found.convergence.iloc[:0], failed=16)
    )  # fmt: skip
    assert page.headline == ("No sample has a result.",)
    assert page.failed[0].count == "16 cases"


@pytest.mark.parametrize("incidents", [2, 5, 10, 20, 100])
def test_chances_are_those_of_the_samples(incidents: int) -> None:
    """Each cell is the amount that one of so many incidents reaches or passes."""
    found = made_risk()
    body = build_risk_page(found).body
    place = body.one_in.index(incidents)
    row = next(row for row in body.chances if row.category == "delayed" and row.policy == "usual practice")
    assert row.amounts[place] == amount(worst(found, "usual_without_delayed_min", incidents))


def test_dots_are_the_means_of_the_summary() -> None:
    """Four policies in each category, weighted first, with interval and quantiles."""
    found = made_risk()
    rows = found.summary.set_index("measure")
    made = dots(found)
    assert [dot.category for dot in made[::4]] == ["share", "immediate", "delayed", "minimal"]
    for dot in made:
        row = rows.loc[f"{dot.policy}_{dot.category}"]
        assert (dot.mean, dot.low, dot.high, dot.q05, dot.q95) == tuple(
            row[["mean", "mean_low", "mean_high", "q05", "q95"]]
        )


def test_curves_are_thinned_but_keep_their_ends_and_every_point_is_of_the_table() -> None:
    """A drawn curve is a part of the curve that is written."""
    found = made_risk()
    for panel in chance_panels(found):
        for curve in panel.curves:
            rows = found.exceedance[found.exceedance["measure"] == f"{curve.policy}_without_{panel.category}_min"]
            pairs = set(zip(rows["amount"], rows["share"], strict=True))
            assert set(zip(curve.amounts, curve.shares, strict=True)) <= pairs
            assert (curve.amounts[0], curve.amounts[-1]) == (rows["amount"].min(), rows["amount"].max())


def test_settling_ends_at_the_mean_of_all() -> None:
    """The last point of each line is the mean of the summary."""
    found = made_risk()
    rows = found.summary.set_index("measure")
    for line in settlings(found):
        assert line.mean[-1] == pytest.approx(rows.loc[line.measure, "mean"])
        assert line.drawn[-1] == len(found.table)


def test_drivers_come_by_their_total() -> None:
    """The largest total index first; a measure without any is not drawn."""
    (weighted, _) = driver_panels(made_risk())
    totals = [bar.total for bar in weighted.bars]
    assert totals == sorted(totals, reverse=True)
    found = made_risk()
    still = found.drivers.assign(first=0.0, total=0.0)
    assert driver_panels(dataclasses.replace(found, drivers=still)) == ()


def test_bars_of_inputs_hold_all_samples() -> None:
    """Shares sum to one; bars of steps are counted exactly; words stand in the order in which they are written."""
    found = made_risk()
    made = {histogram.path: histogram for histogram in histograms(found)}
    assert all(sum(histogram.shares) == pytest.approx(1.0) for histogram in made.values())
    stock = made[STOCK.path]
    assert list(stock.shares) == [float((found.table[STOCK.path] == value).mean()) for value in (0.7, 0.8, 0.9, 1.0)]
    assert made[PATTERN.path].words == ("early", "evenly", "late")
    assert made[DELAY.path].law == "triangular: 0 min to 90 min, most likely 20 min"


def test_a_number_that_never_varies_has_one_bar() -> None:
    """No bar of no width."""
    found = made_risk(16, failing=False)
    fixed = dataclasses.replace(found, table=found.table.assign(**{DELAY.path: 5.0}))
    assert histograms(fixed)[0].shares == (1.0,)


@pytest.mark.parametrize(
    ("law", "number", "words"),
    [
        (Fixed(30.0), DELAY, "always 30 min"),
        (Uniform(5.0, 40.0), ARRIVALS, "uniform: 5 to 40, all alike"),
        (Lognormal(30.0, 1.5), DELAY, "lognormal: half of all below 30 min, two thirds within a factor 1.5 of it"),
        (Poisson(18.0), ARRIVALS, "Poisson: a count of independent events, 18 on average"),
        (Triangular(0.5, 0.9, 1.0), STOCK, "triangular: 50 % to 100 %, most likely 90 %"),
        (
            Empirical((1.0, 2.0), "a.csv, column b"),
            ARRIVALS,
            "as observed: 2 values from a.csv, column b, each as likely",
        ),
        (OneOf(("early", "late"), (0.7, 0.3)), PATTERN, "one of early 70 %, late 30 %"),
    ],
)
def test_laws_are_said_in_the_unit_of_the_number(law: Law, number: Number, words: str) -> None:
    """Every kind of distribution has its words."""
    assert law_words(law, number, incident()) == words


def test_parts_of_a_mix_and_correlations_are_said() -> None:
    """Each part with its mean share of the total; who goes together and who against each other."""
    other = dataclasses.replace(ARRIVALS, path="patients.delayed.count")
    uncertainty = Uncertainty(
        mixes=(Mix((ARRIVALS.path, other.path), (2.0, 6.0), Poisson(40.0)),),
        correlations=(Correlation(DELAY.path, STOCK.path, -0.5),),
    )
    told = laws_by_path(uncertainty, {ARRIVALS.path: ARRIVALS, other.path: other}, incident())
    assert told[ARRIVALS.path].startswith("25 % on average of a total that is Poisson")
    assert told[other.path].startswith("75 % on average")
    assert correlation_words(uncertainty) == (
        f"{DELAY.path} and {STOCK.path} go against each other: rank correlation −0.5.",
    )


def test_every_measure_with_samples_is_in_the_last_table() -> None:
    """Categories that do not occur are left out; mean and quantiles are those of the summary."""
    found = made_risk()
    rows = build_risk_page(found).body.summary
    there = found.summary[found.summary["samples"] > 0]
    assert len(rows) == len(there)
    coverage = next(row for row in rows if row.title == "weighted coverage, best possible")
    wanted = there.set_index("measure").loc["best_share"]
    assert (coverage.mean, coverage.q05, coverage.q95) == tuple(share(wanted[name]) for name in ("mean", "q05", "q95"))
