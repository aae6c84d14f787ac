"""The numbers behind each figure of a packing list, as drawn."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.stock_series import coverage_panels, rounds, tail_panels
from mci.report.study_tables import behind, rows_table

if TYPE_CHECKING:
    from mci.report.stock_series import MoneyPanel
    from mci.report.study_tables import Behind
    from mci.report.table import Table
    from mci.stocking.result import Stock

__all__ = ["behind_stock_figures"]


def behind_stock_figures(found: Stock) -> dict[str, tuple[Behind, ...]]:
    """Return the tables behind each figure, by its name; none where there is nothing to draw."""
    money = found.stocking.money
    made = (
        _panels("coverage", "coverage_share", coverage_panels(found), money),
        _panels("tails", "tail_patient_min", tail_panels(found), money),
        _rounds(found),
    )
    return {table.name: (behind(table),) if table.rows else () for table in made}


def _panels(name: str, value: str, panels: tuple[MoneyPanel, ...], money: str) -> Table:
    rows: list[tuple[object, ...]] = []
    for panel in panels:
        for curve in panel.curves:
            rows += [(panel.title, curve.name, cost, y) for cost, y in zip(curve.costs, curve.values, strict=True)]
        if panel.bound:
            rows += [(panel.title, "no list for so much or less does better", *point) for point in panel.bound]
        rows += [(panel.title, mark.name, mark.cost, mark.value) for mark in panel.marks]
    return rows_table(name, ("panel", "list", f"cost [{money}]", value), rows)


def _rounds(found: Stock) -> Table:
    data = rounds(found)
    unit = "share" if found.mode == "budget" else found.stocking.money
    rows = zip(data.numbers, data.lower, data.upper, strict=True) if data is not None else ()
    return rows_table("rounds", ("round", f"lower [{unit}]", f"upper [{unit}]"), rows)
