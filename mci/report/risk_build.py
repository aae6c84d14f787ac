"""From a risk study to its page in words."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mci.report.law_words import correlation_words, laws_by_path
from mci.report.risk_behind import behind_risk_figures
from mci.report.risk_headline import amount_of_one_in, by_measure, risk_headline, risk_key_figures
from mci.report.risk_page import ChanceRow, InputRow, PolicyRow, RiskBody, SummaryRow
from mci.report.risk_series import driver_panels
from mci.report.series import records
from mci.report.study_page import study_page
from mci.report.study_words import (
    BY_NAME,
    amount,
    categories_in,
    category_title,
    measure_words,
    number_words,
    plural,
    policies_in,
)
from mci.report.words import share
from mci.surge.measures import POLICIES

if TYPE_CHECKING:
    from collections.abc import Callable

    from mci.report.series import Record
    from mci.report.study_page import StudyPage
    from mci.surge.measures import Measure
    from mci.surge.risk_result import Risk

__all__ = ["build_risk_page"]

_ONE_IN = (2, 5, 10, 20, 100)
_STANDING = (
    "Best possible: everything known beforehand, patients and cylinders divisible; no plan can beat it. Orders are "
    "carried out and judged, and so is usual practice. What an incident brings was drawn from what is written as "
    "uncertain; whatever is not written is as in the scenario."
)


def build_risk_page(found: Risk) -> StudyPage[RiskBody]:
    """Put a risk study into words."""
    return study_page(
        "Surge risk",
        found.scenario,
        found.provenance,
        found.table,
        headline=risk_headline(found),
        standing=_STANDING,
        key_figures=risk_key_figures(found),
        body=_body(found),
        behind=behind_risk_figures(found),
        notes=found.notes,
        more=(("Samples", f"{len(found.table)}, {_way(found)}"), ("Seed", str(found.seed))),
    )


def _way(found: Risk) -> str:
    return {"sobol": "scrambled Sobol' points", "plain": "plain random points"}[found.way]


def _body(found: Risk) -> RiskBody:
    policies = policies_in(found.table)
    return RiskBody(
        inputs=_inputs(found),
        correlations=correlation_words(found.uncertainty),
        policies=tuple(policies.items()),
        compared=_compared(found, tuple(policies)),
        rolling=_rolling(found),
        one_in=_ONE_IN,
        chances=_chances(found, tuple(policies)),
        drivers=tuple(
            (panel.title, _driver_words(panel.bars[0].input, panel.bars[0].total)) for panel in driver_panels(found)
        ),
        settled=f"{plural(len(found.table), 'sample')}, {_way(found)}, seed {found.seed}.",
        summary=_summary(found),
    )


def _driver_words(name: str, total: float) -> str:
    return f"{name}: {100 * total:.0f} % of the variance in all"


def _rolling(found: Risk) -> str:
    if found.rolling_every is None:
        return "Orders that are planned again and again, not knowing the future, were not asked for."
    return (
        f"Planned again and again: every {amount(found.rolling_every)} min a crew plans anew on what has happened and "
        "on the expected rest, not knowing the future."
    )


def _inputs(found: Risk) -> tuple[InputRow, ...]:
    laws = laws_by_path(found.uncertainty, {n.path: n for n in found.numbers}, found.scenario)
    return tuple(
        InputRow(
            path=number.path,
            what=number.what,
            written=number.text or number_words(number, number.value, found.scenario),
            law=laws.get(number.path, ""),
        )
        for number in found.numbers
    )


def _compared(found: Risk, policies: tuple[str, ...]) -> tuple[PolicyRow, ...]:
    rows = by_measure(found)

    def mean(policy: str, category: str) -> tuple[str, str]:
        row = rows.get(f"{policy}_{category}")
        if row is None or math.isnan(row["mean"]):
            return "–", ""
        return share(row["mean"]), _interval(row, share)

    return tuple(
        PolicyRow(category, category_title(category), tuple(mean(policy, category) for policy in policies))
        for category in ("share", *categories_in(found.table))
    )


def _interval(row: Record, words: Callable[[float], str]) -> str:
    return "" if math.isnan(row["mean_low"]) else f"{words(row['mean_low'])} to {words(row['mean_high'])}"


def _chances(found: Risk, policies: tuple[str, ...]) -> tuple[ChanceRow, ...]:
    def worst(policy: str, category: str, incidents: int) -> str:
        value = amount_of_one_in(found, policy, category, incidents).amount
        return "too few" if math.isnan(value) else amount(value)

    return tuple(
        ChanceRow(
            category, category_title(category), POLICIES[policy], tuple(worst(policy, category, n) for n in _ONE_IN)
        )
        for category in categories_in(found.table)
        for policy in policies
    )


def _summary(found: Risk) -> tuple[SummaryRow, ...]:
    made = []
    for row in records(found.summary):
        measure = BY_NAME[row["measure"]]
        if not row["samples"]:
            continue

        def words(value: float, measure: Measure = measure) -> str:
            return measure_words(measure, value, found.scenario) if not math.isnan(value) else "–"

        made.append(
            SummaryRow(
                title=measure.title,
                unit={"share": "", "min": ""}.get(measure.unit, measure.unit),
                mean=words(row["mean"]),
                interval=_interval(row, words),
                q05=words(row["q05"]),
                q50=words(row["q50"]),
                q95=words(row["q95"]),
                absent=str(row["absent"]) if row["absent"] else "",
            )
        )
    return tuple(made)
