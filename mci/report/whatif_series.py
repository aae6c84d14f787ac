"""What the figures of a what-if study show: lines over one number, maps over two, swings."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from mci.report.series import records
from mci.report.study_words import categories_in, category_title, number_words, only, planned, policies_in, short_words
from mci.report.words import NOISE, share
from mci.scenario.numbers import NumberKind
from mci.surge.cases import Role

if TYPE_CHECKING:
    import pandas as pd

    from mci.scenario.numbers import Number
    from mci.surge.whatif_result import WhatIf

__all__ = ["Curve", "HeatMap", "LinePanel", "Steps", "SwingBar", "heat_maps", "line_panels", "swing_bars"]

_MOST_IN_MAP = (16, 18)  # columns and rows in which a number can still be read
_LEAST_POINTS = _LEAST_SWINGS = 2


@dataclass(frozen=True, slots=True)
class Steps:
    """A scale from left to right: where its marks are and what they say; words stand side by side from 0."""

    label: str
    places: tuple[float, ...]
    words: tuple[str, ...]
    between: bool  # whether there is anything between the marks


@dataclass(frozen=True, slots=True)
class Curve:
    """Coverage by one policy, at places from left to right; ``told`` says each point in words."""

    policy: str
    places: tuple[float, ...]
    shares: tuple[float, ...]
    told: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LinePanel:
    """How coverage of one category moves with one number, all others as written.

    ``written`` is where the number is as written, ``kept_to`` up to where all is covered at best; both may be missing.
    """

    title: str
    category: str
    scale: Steps
    curves: tuple[Curve, ...]
    written: float | None
    kept_to: float | None
    kept_words: str


@dataclass(frozen=True, slots=True)
class HeatMap:
    """Coverage at best by two numbers: rows from below, NaN where there is no result; ``written`` is column and row."""

    measure: str
    title: str
    across: Steps
    up: Steps
    shares: tuple[tuple[float, ...], ...]
    written: tuple[int, int] | None


@dataclass(frozen=True, slots=True)
class SwingBar:
    """How far one number moves weighted coverage at best, from one end of its range to the other."""

    path: str
    low: str
    high: str
    at_low: float
    at_high: float
    as_written: float


def _place(value: float | str, words: tuple[str, ...]) -> float:
    return float(words.index(value)) if isinstance(value, str) else float(value)


def _scale(found: WhatIf, number: Number, values: tuple[float | str, ...]) -> Steps:
    """Return the scale of a number over the values that occur; unlimited has no place on it."""
    label = f"{number.path}: {number.what}" if number.what else number.path
    texts = tuple(str(value) for value in values if isinstance(value, str))
    kept = tuple(value for value in values if isinstance(value, str) or math.isfinite(value))
    return Steps(
        label,
        tuple(_place(value, texts) for value in kept),
        tuple(short_words(number, value, found.scenario) for value in kept),
        between=number.kind is not NumberKind.WORD,
    )


def _as_written(found: WhatIf) -> pd.Series | None:
    rows = found.table[found.table["role"] == Role.AS_WRITTEN]
    return rows.iloc[0] if len(rows) else None


def _alone(found: WhatIf, number: Number) -> pd.DataFrame:
    """Return the cases in which all other numbers are as written, each value of this one once, in order."""
    table, written = planned(found.table), _as_written(found)
    for other in found.numbers:
        if other.path != number.path and written is not None:
            same = table[other.path] == written[other.path]
            table = table[same | (table[other.path].isna() & (written[other.path] != written[other.path]))]
    table = table[table[number.path].notna()].drop_duplicates(number.path)
    if number.kind is NumberKind.WORD:
        return table
    table = table[np.isfinite(table[number.path].astype(float))]
    return table.sort_values(number.path, key=lambda column: column.astype(float))


def line_panels(found: WhatIf) -> tuple[LinePanel, ...]:
    """Return a panel per category where one number varies, else a panel of weighted coverage per number."""
    everyone = len(found.numbers) > 1
    made = []
    for number in found.numbers:
        rows = _alone(found, number)
        if len(rows) < _LEAST_POINTS:
            continue
        categories = ("share",) if everyone else (*categories_in(rows), "share")
        made += [_panel(found, number, rows, category, everyone=everyone) for category in categories]
    return tuple(panel for panel in made if panel.curves)


def _panel(found: WhatIf, number: Number, rows: pd.DataFrame, category: str, *, everyone: bool) -> LinePanel:
    scale = _scale(found, number, only(rows[rows["role"] != Role.BETWEEN], number.path))
    curves = []
    for policy in policies_in(rows):
        there = rows[rows[f"{policy}_{category}"].notna()]
        shares = tuple(float(value) for value in there[f"{policy}_{category}"])
        values = there[number.path].tolist()
        told = tuple(
            f"{number_words(number, v, found.scenario)}: {share(s)}" for v, s in zip(values, shares, strict=True)
        )
        if shares:
            curves.append(Curve(policy, tuple(_place(v, scale.words) for v in values), shares, told))
    written = _as_written(found)
    at = None if written is None else written[number.path]
    known = at is not None and (at in scale.words if isinstance(at, str) else math.isfinite(at))
    kept = _kept(found, number, category)
    return LinePanel(
        title=number.path if everyone else category_title(category),
        category=category,
        scale=scale,
        curves=tuple(curves),
        written=_place(at, scale.words) if known and at is not None else None,
        kept_to=kept,
        kept_words="" if kept is None else short_words(number, kept, found.scenario),
    )


def _kept(found: WhatIf, number: Number, category: str) -> float | None:
    """Return the last value at which the category is kept at the goal, where coverage breaks within the range."""
    breaks = found.breaks
    mine = breaks[(breaks["number"] == number.path) & (breaks["category"] == category)]
    mine = mine[mine["kept_to"].notna() & mine["lost_at"].notna()]
    return float(mine.iloc[0]["kept_to"]) if len(mine) else None


def heat_maps(found: WhatIf) -> tuple[HeatMap, ...]:
    """Return maps of weighted coverage, then of each category that varies, where two numbers form a whole grid."""
    if len(found.numbers) != 2:
        return ()
    asked = found.table[found.table["role"] == Role.CASE]
    across, up = found.numbers
    columns, rows = only(asked, across.path), only(asked, up.path)
    fits = 2 <= len(columns) <= _MOST_IN_MAP[0] and 2 <= len(rows) <= _MOST_IN_MAP[1]
    cells = {(row[across.path], row[up.path]): row for row in records(asked)}
    if not fits or any(pair not in cells for pair in itertools.product(columns, rows)):
        return ()
    written = _as_written(found)
    at = None if written is None else (written[across.path], written[up.path])
    maps = []
    for category in ("share", *categories_in(asked)):
        name = f"best_{category}"
        shares = tuple(tuple(float(cells[column, row][name]) for column in columns) for row in rows)
        known = [value for line in shares for value in line if not math.isnan(value)]
        if known and (category == "share" or max(known) - min(known) > NOISE):
            place = (columns.index(at[0]), rows.index(at[1])) if at and at[0] in columns and at[1] in rows else None
            steps = (_scale(found, across, columns), _scale(found, up, rows))
            maps.append(HeatMap(name, category_title(category), *steps, shares, place))
    return tuple(maps)


def swing_bars(found: WhatIf) -> tuple[SwingBar, ...]:
    """Return the swings that have a result at both ends, largest first; none where there is nothing to compare."""
    numbers = {number.path: number for number in found.numbers}
    whole = found.swings.dropna(subset=["at_low", "at_high", "as_written"])
    if len(whole) < _LEAST_SWINGS:
        return ()
    return tuple(
        SwingBar(
            path=row["number"],
            low=short_words(numbers[row["number"]], row["low"], found.scenario),
            high=short_words(numbers[row["number"]], row["high"], found.scenario),
            at_low=float(row["at_low"]),
            at_high=float(row["at_high"]),
            as_written=float(row["as_written"]),
        )
        for row in records(whole)
    )
