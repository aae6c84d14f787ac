"""The orders of the plan as a table of numbers and words; ``orders.csv`` has the same rows as text."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.plan.table import HEADERS
from mci.report.table import Cell, Table, plain
from mci.units import format_clock

if TYPE_CHECKING:
    from collections.abc import Iterable

    from mci.plan.orders import Order

__all__ = ["order_table"]


def order_table(orders: Iterable[Order], start: int | None) -> Table:
    """Return one row per order; ``start`` is the clock time of T+0 [min after midnight]."""
    return Table("orders", HEADERS, tuple(_row(order, start) for order in orders))


def _row(order: Order, start: int | None) -> tuple[Cell, ...]:
    return (
        plain(order.minute),
        format_clock(order.minute, start),
        order.area,
        order.action.value,
        order.patient,
        order.device,
        plain(order.flow_lpm) if order.flow_lpm else None,
        order.supply,
        order.regulator,
        None if order.gauge_psi is None else round(order.gauge_psi),
        plain(order.begin) if order.begin != order.minute else None,
        order.by,
        order.reason,
    )
