"""Orders as a table, written and read: one row each, units in the headers."""

from __future__ import annotations

import csv
import io
import math
from typing import TYPE_CHECKING

from mci.cells import safe_text
from mci.errors import InputError, Mistake
from mci.plan.numbers import has_decimal_comma, parse_number, write_number
from mci.plan.open_table import open_table
from mci.plan.orders import Action, Order, sort_orders
from mci.units import format_clock

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

__all__ = ["HEADERS", "orders_text", "read_orders", "read_orders_with_lines"]

HEADERS = (
    "time_min",
    "clock",
    "area",
    "action",
    "patient",
    "device",
    "flow_L_per_min",
    "supply",
    "regulator",
    "gauge_psi",
    "begin_min",
    "by",
    "reason",
)
_NUMBERS = {
    "time_min": "minutes after T+0",
    "flow_L_per_min": "litres a minute",
    "gauge_psi": "psi",
    "begin_min": "minutes after T+0",
}


def _row(order: Order, start: int | None) -> list[str]:
    return [
        write_number(order.minute),
        format_clock(order.minute, start),
        safe_text(order.area),
        order.action.value,
        safe_text(order.patient),
        safe_text(order.device),
        write_number(order.flow_lpm) if order.flow_lpm else "",
        safe_text(order.supply),
        safe_text(order.regulator),
        "" if order.gauge_psi is None else f"{order.gauge_psi:.0f}",
        write_number(order.begin) if order.begin != order.minute else "",
        safe_text(order.by),
        safe_text(order.reason),
    ]


def orders_text(orders: Iterable[Order], start: int | None) -> str:
    """Write orders as CSV; ``start`` is the clock time of T+0 [min after midnight]."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(HEADERS)
    writer.writerows(_row(order, start) for order in orders)
    return out.getvalue()


def _read_row(cells: dict[str, str], where: tuple[str, int], mistakes: list[Mistake], *, comma: bool) -> Order | None:
    numbers: dict[str, float] = {}
    good = True
    for name in _NUMBERS:
        text = cells[name]
        if not text and name != "time_min":
            continue
        numbers[name] = parse_number(text, comma=comma)
        if not (math.isfinite(numbers[name]) and numbers[name] >= 0):
            fix = f"Write {_NUMBERS[name]} as a number, 0 or more, such as 12 or 12.5."
            mistakes.append(Mistake("not a number", fix, where[0], line=where[1], path=name, value=text))
            good = False
    action = cells["action"].lower()
    if action not in {each.value for each in Action}:
        fix = f"Write one of: {', '.join(Action)}."
        mistakes.append(Mistake("no such action", fix, where[0], line=where[1], path="action", value=action))
        good = False
    if not good:
        return None
    minute = numbers["time_min"]
    return Order(
        minute=minute,
        begin=numbers.get("begin_min", minute),
        area=cells["area"],
        action=Action(action),
        patient=cells["patient"],
        device=cells["device"],
        flow_lpm=numbers.get("flow_L_per_min", 0.0),
        supply=cells["supply"],
        regulator=cells["regulator"],
        gauge_psi=numbers.get("gauge_psi"),
        by=cells["by"],
        reason=cells["reason"],
    )


def read_orders(file: Path) -> tuple[Order, ...]:
    """Read orders from a table, ours or a person's; ``clock`` is not read, rows may be in any order.

    CSV with commas, semicolons or tabs, where a number may have a decimal comma if commas do not part the cells;
    or the sheet ``orders`` of a workbook.

    Raises
    ------
    InputError
        The file cannot be read, or with all its mistakes and their lines.
    """
    return read_orders_with_lines(file)[0]


def read_orders_with_lines(file: Path) -> tuple[tuple[Order, ...], tuple[int, ...]]:
    """Read orders as :func:`read_orders` does, and the row of the file on which each stands, as spreadsheets count.

    Raises
    ------
    InputError
        The file cannot be read, or with all its mistakes and their lines.
    """
    name = str(file)
    table = open_table(file, "orders", HEADERS, ("clock",), "order")
    mistakes: list[Mistake] = []
    lines: dict[int, int] = {}  # by the identity of the order, since two rows may say the same
    orders = []
    comma = has_decimal_comma(table)
    for row, line in zip(table.rows, table.lines, strict=True):
        cells = {header: row.get(header.lower(), "") for header in HEADERS}
        order = _read_row(cells, (name, line), mistakes, comma=comma)
        if order is not None:
            orders.append(order)
            lines[id(order)] = line
    if mistakes:
        raise InputError(mistakes)
    sorted_orders = sort_orders(orders)
    return sorted_orders, tuple(lines[id(order)] for order in sorted_orders)
