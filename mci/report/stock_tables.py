"""A packing list and what was found about it as tables for files, with units in the headers."""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING, Any

from mci.cells import safe_text
from mci.report.series import records
from mci.report.stock_lists import worst_files
from mci.report.stock_words import goal_of, goal_target, measure_of
from mci.report.study_tables import rows_table

if TYPE_CHECKING:
    from collections.abc import Callable

    import pandas as pd

    from mci.report.table import Table
    from mci.stocking.result import Stock

__all__ = ["STOCK_TABLES", "stock_tables"]

#: Tables of a packing list, in this order.
STOCK_TABLES = (
    "packing",
    "usage",
    "lists",
    "contents",
    "goals",
    "frontier",
    "targets",
    "patients",
    "worst",
    "validity",
    "worth",
    "trace",
)
_SHARES = frozenset({"weighted", "lower", "upper", "gap"})


def stock_tables(found: Stock) -> tuple[Table, ...]:
    """Return every table; only the seconds of the trace, which differ from run to run, are left out."""
    files = worst_files(found)
    worst = found.worst.assign(file=[files.get(str(name), "") for name in found.worst["name"]])
    money = _Headers(found)
    made = {
        "packing": _frame("packing", found.packing, money.of),
        "usage": _frame("usage", found.usage, money.of),
        "lists": _frame("lists", found.lists, money.of),
        "contents": _frame("contents", found.contents, money.of),
        "goals": _goals(found),
        "frontier": _frame("frontier", found.frontier, money.of_frontier),
        "targets": _frame("targets", found.targets, money.of),
        "patients": _frame("patients", found.patients, money.of),
        "worst": _frame("worst", worst, money.of_worst),
        "validity": _frame("validity", found.validity.table, money.of),
        "worth": _worth(found),
        "trace": _frame("trace", found.trace.drop(columns="seconds"), money.of_trace),
    }
    return tuple(made[name] for name in STOCK_TABLES)


class _Headers:
    """What a column is called in a file: its name and its unit."""

    def __init__(self, found: Stock) -> None:
        stocking = found.stocking
        self._money, self._budget = stocking.money, found.mode == "budget"
        self._goals = {f"goal_{n}": measure_of(goal) for n, goal in enumerate(stocking.goals, start=1)}
        years = f"{stocking.years:g} year{'' if stocking.years == 1 else 's'}"
        self._named = {
            "cost": f"cost over {years} [{self._money}]",
            "budget": f"budget over {years} [{self._money}]",
            "buy": f"buy at once [{self._money}]",
            "yearly": f"keep [{self._money} a year]",
            "lower": f"lower over {years} [{self._money}]",
            "weighted": "weighted_share",
            "gap": "gap_share",
            "worst": "worst_share",
            "volume_l": "volume_L",
            "gas_l": "gas_L",
            "without_min": "without_patient_min",
            "gain": "gain_share",
        }

    def of(self, column: str) -> str:
        if column in self._goals:
            return f"{column}_share" if self._goals[column] == "coverage" else f"{column}_patient_min"
        return self._named.get(column, safe_text(column))

    def of_frontier(self, column: str) -> str:
        if column in ("lower", "upper"):
            return f"weighted_{column}_share"
        if column.startswith("coverage_"):
            return f"{column}_share"
        return f"{column.removesuffix('_min')}_patient_min" if column.endswith("_min") else self.of(column)

    def of_worst(self, column: str) -> str:
        return self.of(column)

    def of_trace(self, column: str) -> str:
        if column not in ("lower", "upper"):
            return column
        return f"missed_{column}_share" if self._budget else f"{column} [{self._money}]"


def _plain(value: Any) -> Any:
    """Return what a file can hold: truths as yes and no, nothing as nothing."""
    if value is None or isinstance(value, str):
        return value
    if type(value).__name__ in ("bool", "bool_"):
        return "yes" if value else "no"
    return float(value)


def _frame(name: str, frame: pd.DataFrame, header: Callable[[str], str]) -> Table:
    names = [str(column) for column in frame.columns]
    rows = [[_plain(row[column]) for column in names] for row in records(frame)]
    return rows_table(name, [header(column) for column in names], rows)


def _goals(found: Stock) -> Table:
    """Say what the goals are whose numbers the other tables use."""
    rows = [
        (number, goal.category, measure_of(goal), goal_of(goal), goal_target(goal), goal.worst)
        for number, goal in enumerate(found.stocking.goals, start=1)
    ]
    headers = ("goal", "category", "measure", "what", "target", "worst_share")
    return rows_table("goals", headers, [[_untied(cell) for cell in row] for row in rows])


def _untied(cell: object) -> object:
    return cell.replace("\u00a0", " ") if isinstance(cell, str) else cell


def _worth(found: Stock) -> Table:
    """Write the worth with a unit beside each number, since they differ."""
    units = {"cost": found.stocking.money, "coverage": "share", "goals": "goals", "incidents": "incidents"}
    units["unmet"] = "incidents"
    rows = []
    for field in dataclasses.fields(found.worth):
        value = getattr(found.worth, field.name)
        rows.append((field.name, math.nan if value is None else float(value), units[field.name.rpartition("_")[2]]))
    return rows_table("worth", ("what", "value", "unit"), rows)
