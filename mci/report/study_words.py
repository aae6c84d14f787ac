"""Studies in words: values of numbers as a planner writes them, measures, shares as so many of so many.

This module knows nothing of pages, figures or files.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mci.report.words import NOISE, TIED, category_word, moment, share
from mci.scenario.model import CATEGORIES
from mci.scenario.numbers import NumberKind
from mci.surge.cases import PLANNED
from mci.surge.measures import MEASURES, POLICIES
from mci.units import KPA_PER_PSI, format_moment

if TYPE_CHECKING:
    import pandas as pd

    from mci.scenario.model import Scenario
    from mci.scenario.numbers import Number
    from mci.surge.measures import Measure

__all__ = [
    "BY_NAME",
    "amount",
    "categories_in",
    "fraction",
    "measure_words",
    "number_words",
    "only",
    "planned",
    "plural",
]
__all__ += ["category_title", "policies_in", "short_words"]

#: Measures by name.
BY_NAME = {measure.name: measure for measure in MEASURES}

_BAR_PER_PSI = KPA_PER_PSI / 100
_ROUND = (10, 20, 100, 1000)  # of so many incidents, the least that tells it
_NEAR = 0.021  # how far, as a share of itself, what is told may be from what was found


def number_words(number: Number, value: float | str, scenario: Scenario) -> str:
    """Write the value of a number as a planner would, rounded to what matters; clock times beside moments."""
    if isinstance(value, str):
        return value
    if number.kind is NumberKind.MOMENT and math.isfinite(value):
        return moment(value, scenario.start)
    return short_words(number, value, scenario)


def short_words(number: Number, value: float | str, scenario: Scenario) -> str:
    """Write the value of a number for an axis, without a clock time."""
    if isinstance(value, str):
        return value
    if math.isnan(value):
        return number.text
    if math.isinf(value):
        return "unlimited"
    if number.kind is NumberKind.MOMENT:
        return format_moment(value)
    if number.kind is NumberKind.SHARE:
        return f"{100 * value:.4g} %"
    if number.kind is NumberKind.PRESSURE and scenario.pressures_in_bar:
        return f"{amount(value * _BAR_PER_PSI)} bar"
    unit = {"C": "°C"}.get(number.unit, number.unit)
    return f"{amount(value)} {unit}".rstrip()


def amount(value: float) -> str:
    """Write a plain amount: whole from 100 on, three figures below, groups of three."""
    if not math.isfinite(value):
        return "none" if math.isnan(value) else "unlimited" if value > 0 else "−unlimited"
    rounded = round(value) if abs(value) >= 100 else float(f"{value:.3g}")
    return f"{rounded:,.10g}".replace(",", " ").replace("-", "−")


def measure_words(measure: Measure, value: float | str, scenario: Scenario) -> str:
    """Write the value of a measure in its unit; a moment that never comes is ``never``, nothing else is ``–``."""
    if isinstance(value, str):
        return value or "–"
    if math.isnan(value):
        return "never" if measure.unit == "min" else "–"
    if measure.unit == "share":
        return share(value)
    if measure.unit == "min":
        return moment(value, scenario.start)
    return amount(value)


def planned(table: pd.DataFrame) -> pd.DataFrame:
    """Return the rows that have a result."""
    return table[table["status"] == PLANNED]


def policies_in(table: pd.DataFrame) -> dict[str, str]:
    """Return the policies that were asked for, with their words."""
    return {policy: words for policy, words in POLICIES.items() if table[f"{policy}_share"].notna().any()}


def categories_in(table: pd.DataFrame) -> tuple[str, ...]:
    """Return the triage categories that occur in any row."""
    return tuple(c for c in CATEGORIES if any(table[f"{policy}_{c}"].notna().any() for policy in POLICIES))


def only(table: pd.DataFrame, column: str) -> tuple[float | str, ...]:
    """Return the values that occur in a column, words in the order in which they come, numbers increasing."""
    values = [value for value in table[column].unique().tolist() if isinstance(value, str) or not math.isnan(value)]
    return tuple(values if any(isinstance(value, str) for value in values) else sorted(values))


def fraction(hits: int, of: int) -> str:
    """Say so many of so many: ``3 of 10``, ``1 of 20``, ``17 of 100``; ``none`` and ``all`` only where that is so.

    Of 100 and fewer exactly as counted; else the least of 10, 20, 100 and 1000 that tells the share within a fiftieth.
    """
    if hits <= 0 or hits >= of:
        return "none" if hits <= 0 else "all"
    part = hits / of
    for base in _ROUND if of > _ROUND[-2] else ():
        whole = round(part * base)
        if 0 < whole < base and abs(whole / base - part) <= _NEAR * min(part, 1 - part) + NOISE:
            return f"{whole}{TIED}of{TIED}{base}"
    if of <= _ROUND[-2]:
        return f"{hits}{TIED}of{TIED}{of}"
    if part < 1 / _ROUND[-1]:
        return f"fewer than 1{TIED}of{TIED}{_ROUND[-1]}"
    return f"{min(round(part * _ROUND[-1]), _ROUND[-1] - 1)}{TIED}of{TIED}{_ROUND[-1]}"


def plural(number: int, word: str) -> str:
    """Count things: ``1 case``, ``24 cases``."""
    return f"{number:,} {word}{'' if number == 1 else 's'}".replace(",", " ")


def category_title(category: str) -> str:
    """Name a category, or all of them together by their weights."""
    return {"share": "All, by weight", "all": "All"}.get(category) or category_word(category)
