"""The numbers behind the figures of cases side by side, as tidy tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.beside_series import need_rows, stock_rows
from mci.report.study_tables import rows_table

if TYPE_CHECKING:
    from collections.abc import Sequence

    from mci.report.beside_cases import Chosen
    from mci.report.table import Table

__all__ = ["need_table", "stock_table"]

_NEED = ("need_patients", "at_target_patients", "lower_rung_patients", "without_patients")


def need_table(chosen: Sequence[Chosen]) -> Table:
    """Return need and delivery over time at best, one row per category, case and period."""
    rows = (
        (row.key, case.key, *values)
        for row in need_rows(chosen)
        for case, panel in zip(chosen, row.panels, strict=True)
        if panel is not None
        for values in zip(
            panel.edges, panel.edges[1:], panel.need, panel.at_target, panel.lower, panel.without, strict=False
        )
    )
    return rows_table("beside_need", ("category", "case", "start_min", "end_min", *_NEED), rows)


def stock_table(chosen: Sequence[Chosen]) -> Table:
    """Return the stock over time at best, one row per area, case and moment; two at a delivery."""
    rows = (
        (row.key, case.key, time, litres)
        for row in stock_rows(chosen)
        for case, panel in zip(chosen, row.panels, strict=True)
        if panel is not None
        for time, litres in zip(panel.times, panel.litres, strict=True)
    )
    return rows_table("beside_stock", ("area", "case", "time_min", "stock_L"), rows)
