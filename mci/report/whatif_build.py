"""From a what-if study to its page in words."""

from __future__ import annotations

import math
import string
from typing import TYPE_CHECKING

from mci.report.series import records
from mci.report.study_page import study_page
from mci.report.study_tables import behind, rows_table
from mci.report.study_words import (
    BY_NAME,
    categories_in,
    category_title,
    measure_words,
    number_words,
    only,
    policies_in,
)
from mci.report.whatif_headline import (
    asked_cases,
    break_sentence,
    sorted_breaks,
    whatif_headline,
    whatif_key_figures,
)
from mci.report.whatif_page import BreakRow, CaseRow, VariedRow, WhatIfBody
from mci.report.whatif_series import heat_maps, line_panels, swing_bars
from mci.scenario.numbers import NumberKind
from mci.surge.cases import PLANNED, Role
from mci.surge.measures import POLICIES

if TYPE_CHECKING:
    from mci.report.series import Record
    from mci.report.study_page import StudyPage
    from mci.report.study_tables import Behind
    from mci.report.table import Table
    from mci.report.whatif_series import HeatMap, LinePanel
    from mci.scenario.numbers import Number
    from mci.surge.whatif_result import WhatIf

__all__ = ["MOST_CASES", "build_whatif_page"]

#: Cases that are shown on the page; the others are in the file.
MOST_CASES = 200
_MOST_VALUES = 8
_MOST_PATHS = 2  # at the head of columns
_LONGEST_NAME = 14
_CHANGED = "Other than as written"
_STANDING = (
    "At best: everything known beforehand, patients and cylinders divisible; no plan can beat it. Usual practice is "
    "carried out and judged like any plan."
)


def build_whatif_page(found: WhatIf) -> StudyPage[WhatIfBody]:
    """Put a what-if study into words."""
    breaks = _breaks(found)
    return study_page(
        "Surge what-if",
        found.scenario,
        found.provenance,
        found.table,
        headline=whatif_headline(found, breaks),
        standing=_STANDING,
        key_figures=whatif_key_figures(found),
        body=_body(found, breaks),
        behind=_behind(found),
        notes=found.notes,
        more=(("Cases", found.how), ("Varied", ", ".join(number.path for number in found.numbers) or "nothing")),
    )


def _body(found: WhatIf, breaks: tuple[BreakRow, ...]) -> WhatIfBody:
    policies = policies_in(found.table)
    lettered = len(found.numbers) > _MOST_PATHS
    varied = tuple(
        _varied(found, n, string.ascii_uppercase[p % 26] * (1 + p // 26) if lettered else "")
        for p, n in enumerate(found.numbers)
    )
    left = len(asked_cases(found)) - MOST_CASES
    return WhatIfBody(
        varied=varied,
        breaks=breaks,
        cases=_cases(found, varied),
        numbers=(_CHANGED,) if lettered else tuple(row.path for row in varied),
        categories=(("share", "Weighted"), *((c, category_title(c)) for c in categories_in(found.table))),
        others=tuple(words for policy, words in policies.items() if policy != "best"),
        policies=tuple(policies.items()),
        maps=tuple(data.title for data in heat_maps(found)),
        left=f"{left} more cases are in cases.csv." if left > 0 else "",
        line_note="" if len(found.numbers) == 1 else "Each panel moves one number, all others as written.",
        goal=f"{100 * found.breaks['goal'].iloc[0]:.4g} %" if len(found.breaks) else "",
        marks_break=any(panel.kept_to is not None for panel in line_panels(found)),
    )


def _varied(found: WhatIf, number: Number, letter: str) -> VariedRow:
    scenario = found.scenario
    written = number.text if number.text else number_words(number, number.value, scenario)
    values = [number_words(number, value, scenario) for value in only(asked_cases(found), number.path)]
    shown = ", ".join(values)
    if len(values) > _MOST_VALUES:
        shown = f"{len(values)} values from {values[0]} to {values[-1]}"
    return VariedRow(letter, number.path, number.what, written, shown)


def _breaks(found: WhatIf) -> tuple[BreakRow, ...]:
    numbers = {number.path: number for number in found.numbers}

    def words(row: Record, column: str) -> str:
        value = float(row[column])
        return "" if math.isnan(value) else number_words(numbers[row["number"]], value, found.scenario)

    return tuple(
        BreakRow(
            path=row["number"],
            category=row["category"],
            word=category_title(row["category"]),
            kept_to=words(row, "kept_to"),
            lost_at=words(row, "lost_at"),
            binds=row["binds"],
            sentence=break_sentence(found, row),
        )
        for row in sorted_breaks(found)
    )


def _cases(found: WhatIf, varied: tuple[VariedRow, ...]) -> tuple[CaseRow, ...]:
    """Put the first cases into rows, by their names where these are short, else by numbers."""
    asked = asked_cases(found)
    names = [str(name) for name in asked["case"]]
    if any(len(name) > _LONGEST_NAME for name in names):
        names = [str(place) for place in range(1, len(names) + 1)]
    rows = zip(names, records(asked.head(MOST_CASES)), strict=False)
    return tuple(_case(found, row, name, _values(found, row, varied)) for name, row in rows)


def _values(found: WhatIf, row: Record, varied: tuple[VariedRow, ...]) -> tuple[str, ...]:
    """Say the value of every number; where they go by letters, only of those that are other than as written."""
    values = tuple(number_words(number, row[number.path], found.scenario) for number in found.numbers)
    if len(values) <= _MOST_PATHS:
        return values
    written = (number_words(n, n.text if n.kind is NumberKind.WORD else n.value, found.scenario) for n in found.numbers)
    told = [f"{v.letter} = {value}" for v, value, at in zip(varied, values, written, strict=True) if value != at]
    return (", ".join(told) or "nothing",)


def _case(found: WhatIf, row: Record, name: str, values: tuple[str, ...]) -> CaseRow:
    scenario, failed = found.scenario, "" if row["status"] == PLANNED else str(row["status"])
    others = (policy for policy in policies_in(found.table) if policy != "best")

    def said(measure: str) -> str:
        return "–" if failed else measure_words(BY_NAME[measure], row[measure], scenario)

    return CaseRow(
        name=name,
        written=row["role"] == Role.AS_WRITTEN,
        values=values,
        best=tuple(said(f"best_{category}") for category in ("share", *categories_in(found.table))),
        others=tuple(said(f"{policy}_share") for policy in others),
        first_short=said("first_short_min"),
        binds=said("binding"),
        one_more=said("one_more"),
        gain="" if said("one_more") == "–" else said("one_more_gain"),
        last_safe=_last_safe(row, said("last_safe_min")),
        failed=failed,
    )


def _last_safe(row: Record, moment: str) -> str:
    """Say which delivery must come by when, at best; nothing where none must."""
    which = row["last_safe_delivery"]
    return f"{which} by {moment}" if isinstance(which, str) and which else ""


def _behind(found: WhatIf) -> dict[str, tuple[Behind, ...]]:
    """Return the numbers behind each figure."""
    panels, maps, bars = line_panels(found), heat_maps(found), swing_bars(found)
    swings = rows_table(
        "swings",
        ("number", "low", "high", "at_low_best_share", "at_high_best_share", "as_written_best_share"),
        ((bar.path, bar.low, bar.high, bar.at_low, bar.at_high, bar.as_written) for bar in bars),
    )
    return {
        "lines": (behind(_line_table(panels)),) if panels else (),
        "map": (behind(_map_table(maps)),) if maps else (),
        "swings": (behind(swings),) if bars else (),
    }


def _line_table(panels: tuple[LinePanel, ...]) -> Table:
    rows = (
        (panel.scale.label, category_title(panel.category), POLICIES[curve.policy], told.rpartition(": ")[0], value)
        for panel in panels
        for curve in panel.curves
        for told, value in zip(curve.told, curve.shares, strict=True)
    )
    return rows_table("lines", ("number", "category", "policy", "value", "coverage_share"), rows)


def _map_table(maps: tuple[HeatMap, ...]) -> Table:
    rows = (
        (data.title, across, up, value)
        for data in maps
        for up, line in zip(data.up.words, data.shares, strict=True)
        for across, value in zip(data.across.words, line, strict=True)
    )
    return rows_table("map", ("category", maps[0].across.label, maps[0].up.label, "best_coverage_share"), rows)
