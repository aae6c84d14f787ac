"""Tables of studies for files: headers with units, numbers to their last digit, and what stands behind a figure.

Unlike the tables of a plan these are not rounded: cases are compared with each other, and a difference may be small.
"""

from __future__ import annotations

import base64
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from mci.cells import safe_text
from mci.report.data_files import csv_text
from mci.report.table import Table
from mci.surge.measures import MEASURES

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    import pandas as pd

    from mci.report.table import Cell
    from mci.scenario.numbers import Number
    from mci.surge.measures import Measure

__all__ = ["Behind", "behind", "exact_table", "measure_header", "rows_table", "study_headers"]


@dataclass(frozen=True, slots=True)
class Behind:
    """The numbers behind a figure: as words for a table, and as CSV in the address of a link."""

    name: str
    headers: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    link: str


def _exact(value: Any) -> Cell:
    """Turn one value of a data frame into a cell without rounding; no number is ``None``."""
    if value is None or isinstance(value, str):
        return None if value is None else str(value)
    number = float(value)
    if math.isnan(number):
        return None
    if math.isinf(number):
        return "inf" if number > 0 else "-inf"
    return int(number) if number.is_integer() and abs(number) < 1e15 else number


def _number_header(number: Number) -> str:
    """Name the column of a number that varies, with its unit."""
    unit = number.unit or {"share": "share"}.get(str(number.kind), "")
    return safe_text(f"{number.path} [{unit}]" if unit else number.path)


def measure_header(measure: Measure) -> str:
    """Name the column of a measure so that it ends in its unit."""
    if measure.unit == "share":
        return measure.name if measure.name.endswith("_share") else f"{measure.name}_share"
    if measure.unit.endswith("patient-min"):
        return f"{measure.name.removesuffix('_min')}_patient_min"
    return measure.name


def exact_table(name: str, frame: pd.DataFrame, headers: dict[str, str]) -> Table:
    """Write columns of a frame, each under its header."""
    columns = [[_exact(value) for value in frame[column].tolist()] for column in headers]
    return Table(name, tuple(headers.values()), tuple(zip(*columns, strict=True)))


def rows_table(name: str, headers: Sequence[str], rows: Iterable[Iterable[Any]]) -> Table:
    """Write rows under headers."""
    return Table(name, tuple(headers), tuple(tuple(_exact(cell) for cell in row) for row in rows))


def study_headers(numbers: Sequence[Number], *more: str) -> dict[str, str]:
    """Return column and header of everything in a table of cases or samples."""
    return {
        "case": "case",
        "role": "role",
        **{number.path: _number_header(number) for number in numbers},
        **{measure.name: measure_header(measure) for measure in MEASURES},
        **{name: name for name in more},
    }


def behind(table: Table) -> Behind:
    """Put a table behind a figure; its link carries the file, so that the page needs no other."""
    text = base64.b64encode(csv_text(table).encode("utf-8")).decode("ascii")
    rows = tuple(tuple(_shown(cell) for cell in row) for row in table.rows)
    return Behind(table.name, table.headers, rows, f"data:text/csv;charset=utf-8;base64,{text}")


def _shown(cell: Cell) -> str:
    if cell is None:
        return ""
    return f"{cell:.6g}" if isinstance(cell, float) else str(cell)
