"""Numbers in the tables of a plan: ten digits when written, a decimal comma allowed when read."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from mci.scenario.table import Table

__all__ = ["has_decimal_comma", "parse_number", "write_number"]


def write_number(value: float | None) -> str:
    """Return a number with ten digits, empty text for none."""
    return "" if value is None else f"{value:.10g}"


def parse_number(text: str, *, comma: bool) -> float:
    """Return a number, ``nan`` where the text is none."""
    try:
        return float(text.replace(",", ".") if comma else text)
    except ValueError:
        return math.nan


def has_decimal_comma(table: Table) -> bool:
    """Tell whether a comma in a cell can only be a decimal one: where something else parts the cells."""
    head = table.content.splitlines()[0]
    return head.count(b",") < max(head.count(b";"), head.count(b"\t"))
