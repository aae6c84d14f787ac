"""The first sentences of a risk study, as so many of so many incidents.

They speak of the policy that comes nearest to what a crew can do: orders planned again and again where that was asked
for, else orders with everything known beforehand, else the best possible.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mci.report.page import KeyFigure
from mci.report.risk_series import driver_panels, without_measure
from mci.report.series import records
from mci.report.study_words import amount, categories_in, category_title, fraction, planned, plural, policies_in
from mci.report.words import NOISE, share
from mci.surge.measures import POLICIES
from mci.surge.statistics import one_in
from mci.surge.whatif_result import GOAL_SHARE

if TYPE_CHECKING:
    import pandas as pd

    from mci.report.series import Record
    from mci.surge.risk_result import Risk
    from mci.surge.statistics import OneIn

__all__ = ["RARE", "amount_of_one_in", "by_measure", "keyed", "risk_headline", "risk_key_figures", "told_policy"]

#: The headline tells the worst one of so many incidents.
RARE = 20
_NEAREST = ("rolling", "orders", "best")
_ENOUGH = 5 * RARE  # samples from which a policy can be told by


def told_policy(found: Risk) -> str:
    """Return the policy of which the headline speaks; empty where nothing has a result.

    One that too few samples have says nothing of rare incidents.
    """
    there = policies_in(found.table)
    enough = [p for p in there if p == "best" or found.table[f"{p}_share"].notna().sum() >= _ENOUGH]
    return next((policy for policy in _NEAREST if policy in enough), "")


def keyed(found: Risk) -> pd.DataFrame:
    """Return the samples as the statistics want them."""
    return found.table.rename(columns={"case": "key"})


def by_measure(found: Risk) -> dict[str, Record]:
    """Return what samples in which all policies have a result say of each measure."""
    return {row["measure"]: row for row in records(found.compared)}


def amount_of_one_in(found: Risk, policy: str, category: str, incidents: int = RARE) -> OneIn:
    """Return patient-minutes without oxygen that one of so many incidents reaches or passes."""
    return one_in(keyed(found), without_measure(policy, category), incidents, larger_is_worse=True)


def risk_headline(found: Risk) -> tuple[str, ...]:
    """Return the sentences of the headline; the first stands alone."""
    policy = told_policy(found)
    if not policy:
        return ("No sample has a result.",)
    category = next(iter(categories_in(found.table)), "all")
    said = [_rare(found, policy, category), _covered(found, policy, category), _means(found), _unknown(found),
            _driver(found), _failed(found)]  # fmt: skip
    return tuple(sentence for sentence in said if sentence)


def _who(category: str) -> str:
    return "" if category == "all" else f"{category_title(category)} "


def _rare(found: Risk, policy: str, category: str) -> str:
    """Say how bad one of 20 incidents is."""
    rare, words = amount_of_one_in(found, policy, category), POLICIES[policy]
    if math.isnan(rare.amount):
        return f"There are too few samples to say how bad 1 of {RARE} incidents is ({words})."
    if rare.amount <= NOISE:
        return f"In fewer than 1 of {RARE} incidents is any {_who(category)}patient without oxygen ({words})."
    interval = "" if math.isnan(rare.low + rare.high) else f"; 95 % interval {amount(rare.low)} to {amount(rare.high)}"
    return (
        f"In 1 of {RARE} incidents at least {amount(rare.amount)} {_who(category)}patient-minutes are without oxygen "
        f"({words}{interval})."
    )


def _covered(found: Risk, policy: str, category: str) -> str:
    """Say in how many incidents the need of all of a category is met in full."""
    covered = planned(found.table)[f"{policy}_{category}"].dropna()
    if covered.empty:
        return ""
    told = _full(covered)
    usual = planned(found.table)[f"usual_{category}"].dropna()
    beside = f" (in usual practice: in {_full(usual)})" if len(usual) else ""
    need = f"the need of all {_who(category)}patients"
    if told == "none":
        return f"In no incident is {need} met in full{beside}."
    return f"In {told} incidents {need} is met in full{beside}."


def _full(shares: pd.Series) -> str:
    """Say in how many incidents coverage is at the goal."""
    return fraction(int((shares >= GOAL_SHARE).sum()), len(shares))


def _means(found: Risk) -> str:
    """Say what each policy reaches on average."""
    rows = by_measure(found)
    means = {policy: float(rows[f"{policy}_share"]["mean"]) for policy in policies_in(found.table)}
    told = "; ".join(f"{POLICIES[policy]} {share(mean)}" for policy, mean in means.items())
    return f"Weighted coverage on average: {told}."


def _unknown(found: Risk) -> str:
    """Say what not knowing the future costs, sample by sample."""
    table = planned(found.table).dropna(subset=["orders_share", "rolling_share"])
    if found.rolling_every is None or table.empty:
        return ""
    cost = float((table["orders_share"] - table["rolling_share"]).mean())
    again = f"planning again every {amount(found.rolling_every)} min"
    if abs(cost) < 5e-4:
        return f"Not knowing the future costs nothing on average, {again}."
    less = "less" if cost > 0 else "more"
    return f"Not knowing the future, {again}, meets {share(abs(cost))} {less} of the weighted need on average."


def _driver(found: Risk) -> str:
    panels = driver_panels(found)
    if not panels:
        return ""
    bar = panels[0].bars[0]
    return f"What drives it most ({panels[0].title}): {bar.input}, with {100 * bar.total:.0f} % of the variance in all."


def _failed(found: Risk) -> str:
    if not found.failed:
        return ""
    return f"{plural(found.failed, 'sample')} of {len(found.table)} without a result; they count nowhere."


def risk_key_figures(found: Risk) -> tuple[KeyFigure, ...]:
    """Choose the six numbers that a reader should take away."""
    policy, rows = told_policy(found), by_measure(found)
    category = next(iter(categories_in(found.table)), "all")
    counted = KeyFigure(f"{len(found.table):,}".replace(",", " "), "incidents drawn", short=False)
    failed = KeyFigure(str(found.failed), "of them without a result", short=found.failed > 0)
    if not policy:
        return counted, failed
    mean, usual = rows[f"{policy}_share"], rows.get("usual_share")
    rare = amount_of_one_in(found, policy, category)
    low = one_in(keyed(found), f"{policy}_share", RARE, larger_is_worse=False).amount
    words = POLICIES[policy]
    return (
        counted,
        KeyFigure(share(mean["mean"]), f"weighted coverage on average: {words}", short=False),
        KeyFigure("none" if usual is None or math.isnan(usual["mean"]) else share(usual["mean"]),
                  "weighted coverage on average: usual practice", short=False),
        KeyFigure("too few" if math.isnan(low) else share(low),
                  f"weighted coverage or less in 1 of {RARE} incidents: {words}", short=not low >= GOAL_SHARE),
        KeyFigure("too few" if math.isnan(rare.amount) else amount(rare.amount),
                  f"{_who(category)}patient-minutes or more without oxygen in 1 of {RARE} incidents",
                  short=rare.amount > NOISE),
        failed,
    )  # fmt: skip
