"""One tidy table: a name, headers with units, and rows of plain cells."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

__all__ = ["Cell", "Table", "plain"]

Cell = str | int | float | None

_DECIMALS = 6


@dataclass(frozen=True, slots=True)
class Table:
    """A table as it is written to files."""

    name: str
    headers: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]


def plain(value: Any) -> Cell:
    """Turn one value of a data frame into a plain cell; no number is ``None``, no limit is ``inf``."""
    if value is None or isinstance(value, str):
        return value
    number = round(float(value), _DECIMALS)
    if math.isnan(number):
        return None
    if math.isinf(number):
        return "inf" if number > 0 else "-inf"
    return int(number) if number.is_integer() else number
