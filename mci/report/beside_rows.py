"""Rows of cases side by side: values in words, each with how it differs from the first case.

A difference is that of the numbers as they are shown, so that a reader who subtracts gets the same.
"""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING

from mci.report.beside_page import Cell, Row
from mci.report.words import NOISE, count, moment, share
from mci.units import format_moment

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from mci.report.page import Split
    from mci.report.words import PatientTime

__all__ = ["DIFFERS", "NOTHING", "count_row", "lines_row", "moment_row", "share_row", "time_row"]

#: Sign of a difference that is no number.
DIFFERS = "≠"
#: What is said where a case has nothing to say.
NOTHING = "–"


def share_row(
    label: str,
    values: Sequence[float | None],
    *,
    write: Callable[[float], str] = share,
    category: str = "",
    splits: Sequence[Split | None] = (),
) -> Row:
    """Compare shares from 0 to 1, in percent; ``write`` says how they are rounded."""

    def points(first: float, here: float) -> str:
        shown, before = (float(write(value).removesuffix(" %")) for value in (here, first))
        return _signed(shown - before, 1, "points")

    cells = _cells(values, _said(values, write), points)
    if splits:
        cells = tuple(dataclasses.replace(cell, split=split) for cell, split in zip(cells, splits, strict=True))
    return Row(label, cells, category)


def time_row(label: str, values: Sequence[float | None], unit: PatientTime) -> Row:
    """Compare patient time [patient-min], written in a unit that all cases share."""

    def tenths(value: float) -> float:
        return round(value / unit.minutes_each, 1)

    cells = _cells(values, _said(values, unit.write), lambda first, here: _signed(tenths(here) - tenths(first), 1))
    return Row(f"{label}, {unit.unit}", cells)


def moment_row(label: str, values: Sequence[float | None], start: Sequence[int | None], never: Sequence[str]) -> Row:
    """Compare moments [min]; ``start`` is each case's clock time of T+0, ``never`` what is said where there is none."""

    def whole(minutes: float) -> int:
        return int(format_moment(minutes).removeprefix("T+"))

    texts = [
        word if value is None else moment(value, clock) for value, clock, word in zip(values, start, never, strict=True)
    ]
    return Row(label, _cells(values, texts, lambda first, here: _signed(whole(here) - whole(first), 0, "min")))


def count_row(label: str, values: Sequence[float | None]) -> Row:
    """Compare numbers of things."""

    def whole(number: float) -> int:
        return math.ceil(number - NOISE)

    return Row(label, _cells(values, _said(values, count), lambda first, here: _signed(whole(here) - whole(first), 0)))


def lines_row(label: str, lines: Sequence[Sequence[str]], *, long: bool = True) -> Row:
    """Compare what is said in words."""
    said = [tuple(each) or (NOTHING,) for each in lines]
    return Row(label, tuple(Cell(each, DIFFERS if each != said[0] else "") for each in said), long=long)


def _said(values: Sequence[float | None], write: Callable[[float], str]) -> list[str]:
    return [NOTHING if value is None else write(value) for value in values]


def _cells(
    values: Sequence[float | None], texts: Sequence[str], change: Callable[[float, float], str]
) -> tuple[Cell, ...]:
    """Say each value and its change; where texts differ and the numbers shown do not, only that they differ."""
    first = values[0]

    def told(value: float | None, text: str) -> str:
        if text == texts[0]:
            return ""
        return (first is not None and value is not None and change(first, value)) or DIFFERS

    return tuple(Cell((text,), told(value, text)) for value, text in zip(values, texts, strict=True))


def _signed(number: float, decimals: int, unit: str = "") -> str:
    """Write a change with its sign; empty where it is none."""
    if abs(number) <= NOISE:
        return ""
    return f"{number:+.{decimals}f} {unit}".replace("-", "−").rstrip()
