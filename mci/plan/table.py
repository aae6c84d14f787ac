"""Orders as a table, written and read: one row each, units in the headers."""

from __future__ import annotations

import csv
import io
import math
from typing import TYPE_CHECKING

from mci.cells import plain_text, safe_text
from mci.errors import InputError, Mistake
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
_NUMBERS = ("time_min", "flow_L_per_min", "gauge_psi", "begin_min")
_LARGEST = 20_000_000  # characters; far more than the orders of 10,000 patients


def _number(value: float | None) -> str:
    return "" if value is None else f"{value:.10g}"


def _row(order: Order, start: int | None) -> list[str]:
    return [
        _number(order.minute),
        format_clock(order.minute, start),
        safe_text(order.area),
        order.action.value,
        safe_text(order.patient),
        safe_text(order.device),
        _number(order.flow_lpm) if order.flow_lpm else "",
        safe_text(order.supply),
        safe_text(order.regulator),
        "" if order.gauge_psi is None else f"{order.gauge_psi:.0f}",
        _number(order.begin) if order.begin != order.minute else "",
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


def _read_row(cells: dict[str, str], where: tuple[str, int], mistakes: list[Mistake]) -> Order | None:
    numbers: dict[str, float] = {}
    good = True
    for name in _NUMBERS:
        text = cells[name].strip()
        if not text and name != "time_min":
            continue
        try:
            numbers[name] = float(text)
        except ValueError:
            numbers[name] = math.nan
        if not (math.isfinite(numbers[name]) and numbers[name] >= 0):
            fix = "Write a number, 0 or more."
            mistakes.append(Mistake("not a number", fix, where[0], line=where[1], path=name, value=text))
            good = False
    action = cells["action"].strip().lower()
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
        area=plain_text(cells["area"].strip()),
        action=Action(action),
        patient=plain_text(cells["patient"].strip()),
        device=plain_text(cells["device"].strip()),
        flow_lpm=numbers.get("flow_L_per_min", 0.0),
        supply=plain_text(cells["supply"].strip()),
        regulator=plain_text(cells["regulator"].strip()),
        gauge_psi=numbers.get("gauge_psi"),
        by=plain_text(cells["by"].strip()),
        reason=plain_text(cells["reason"].strip()),
    )


def read_orders(file: Path) -> tuple[Order, ...]:
    """Read orders from a CSV file, ours or a person's; ``clock`` is not read, rows may be in any order.

    Raises
    ------
    InputError
        The file cannot be read, or with all its mistakes and their lines.
    """
    return read_orders_with_lines(file)[0]


def read_orders_with_lines(file: Path) -> tuple[tuple[Order, ...], tuple[int, ...]]:
    """Read orders as :func:`read_orders` does, and the line of the file on which each stands.

    Raises
    ------
    InputError
        The file cannot be read, or with all its mistakes and their lines.
    """
    try:
        with file.open(encoding="utf-8-sig", newline="") as stream:
            text = stream.read(_LARGEST + 1)
    except (OSError, UnicodeDecodeError) as error:
        rule = getattr(error, "strerror", None) or "it is not text in UTF-8"
        raise InputError([Mistake(f"cannot be read: {rule}", "Give a CSV file of orders.", str(file))]) from None
    if len(text) > _LARGEST:
        raise InputError([Mistake("too large for orders", "Give a CSV file of orders.", str(file))])
    reader = csv.DictReader(io.StringIO(text), restval="")
    missing = [name for name in HEADERS if name not in (reader.fieldnames or ()) and name != "clock"]
    if missing:
        fix = f"The first line must name: {', '.join(HEADERS)}."
        raise InputError([Mistake(f"columns are missing: {', '.join(missing)}", fix, str(file), line=1)])
    mistakes: list[Mistake] = []
    lines: dict[int, int] = {}  # by the identity of the order, since two rows may say the same
    orders = []
    for cells in reader:
        order = _read_row(cells, (str(file), reader.line_num), mistakes)
        if order is not None:
            orders.append(order)
            lines[id(order)] = reader.line_num
    if mistakes:
        raise InputError(mistakes)
    sorted_orders = sort_orders(orders)
    return sorted_orders, tuple(lines[id(order)] for order in sorted_orders)
