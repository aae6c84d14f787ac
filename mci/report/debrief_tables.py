"""The tables of a debrief: CSV files, sheets of the workbook, and part of the JSON; nobody is named in them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from mci.drills.inject_words import inject_words
from mci.drills.log_faults import fault_of
from mci.plan.marks import find_marks
from mci.report.debrief_words import Discretion
from mci.report.order_table import order_table
from mci.report.series import records
from mci.report.table import Table, plain

if TYPE_CHECKING:
    from collections.abc import Iterable

    import pandas as pd

    from mci.drills.debriefed import Debrief
    from mci.plan.orders import Order
    from mci.replay.judged import Judged

__all__ = [
    "DATA_FOLDER",
    "DEBRIEF_TABLES",
    "ORDER_TABLES",
    "debrief_tables",
    "order_tables",
    "over_time_table",
    "stretches_table",
]

#: Folder of the tables, beside the report.
DATA_FOLDER = "data"
#: Names of the tables, in order.
DEBRIEF_TABLES = (
    *("reached", "coverage", "over_time", "stretches", "losses", "causes", "decisions", "better_orders"),
    *("objectives", "improvement_plan", "log_remarks", "findings", "injects"),
)
#: Names of the tables of orders.
ORDER_TABLES = ("orders_team", "orders_best")
_NOT_SHOWN = "by"


def debrief_tables(debrief: Debrief) -> tuple[Table, ...]:
    """Make all tables of a debrief."""
    return (
        _reached(debrief),
        _coverage(debrief),
        over_time_table(debrief),
        stretches_table(debrief),
        _losses(debrief),
        _causes(debrief),
        _decisions(debrief),
        _better(debrief),
        _objectives(debrief),
        _improvements(debrief),
        _log(debrief),
        _findings(debrief),
        _injects(debrief),
    )


def order_tables(debrief: Debrief) -> tuple[Table, ...]:
    """Return the orders of the team and of the best plan."""
    start = debrief.scenario.start
    plans = (debrief.team.plan.orders, debrief.best.plan.orders)
    return tuple(_orders(name, orders, start) for name, orders in zip(ORDER_TABLES, plans, strict=True))


def _orders(name: str, orders: Iterable[Order], start: int | None) -> Table:
    """Write orders without who does them; judged again they are UNKNOWN where that matters."""
    table = order_table(orders, start)
    kept = [place for place, header in enumerate(table.headers) if header != _NOT_SHOWN]
    rows = tuple(tuple(row[place] for place in kept) for row in table.rows)
    return Table(name, tuple(table.headers[place] for place in kept), rows)


def _plans(debrief: Debrief) -> tuple[tuple[str, Judged], ...]:
    return (
        ("team", debrief.team),
        *((f"usual practice: {judged.name}", judged) for judged in debrief.usual),
        ("best orders", debrief.best),
    )


def _columns(name: str, frame: pd.DataFrame, headers: dict[str, str]) -> Table:
    rows = [tuple(_cell(row[column]) for column in headers) for row in records(frame)]
    return Table(name, tuple(headers.values()), tuple(rows))


def _cell(value: Any) -> Any:
    return str(value) if isinstance(value, str) else plain(value)


def _reached(debrief: Debrief) -> Table:
    rows = [(name, plain(judged.verdict.weighted), str(judged.verdict.validity)) for name, judged in _plans(debrief)]
    rows.append(("at most", plain(debrief.bound), ""))
    return Table("reached", ("plan", "weighted_credit_min", "judged"), tuple(rows))


def _coverage(debrief: Debrief) -> Table:
    columns = ("patients", "needed_patient_min", "credit_min", "coverage", "at_target_patient_min",
               "below_target_patient_min", "without_patient_min")  # fmt: skip
    rows = [
        (name, row["category"], *(plain(row[column]) for column in columns))
        for name, judged in _plans(debrief)
        for row in records(judged.verdict.coverage)
    ]
    headers = tuple("coverage_share" if column == "coverage" else column for column in columns)
    return Table("coverage", ("plan", "category", *headers), tuple(rows))


def over_time_table(debrief: Debrief) -> Table:
    """Return who needed and who got oxygen over time, plan by plan."""
    headers = {"plan": "plan", "time_min": "time_min", "need": "need_patients", "credit": "credit_patients"}
    headers |= {name: f"{name}_patients" for name in ("at_target", "below_target", "without")}
    return _columns("over_time", debrief.over_time, headers)


def stretches_table(debrief: Debrief) -> Table:
    """Return what could still be reached, stretch by stretch."""
    headers = {"start_min": "start_min", "end_min": "end_min", "possible_start": "possible_start_weighted_credit_min",
               "possible_end": "possible_end_weighted_credit_min", "lost": "lost_weighted_credit_min"}  # fmt: skip
    return _columns("stretches", debrief.stretches, headers)


def _losses(debrief: Debrief) -> Table:
    headers = {name: name for name in ("start_min", "end_min", "cause", "category")}
    return _columns("losses", debrief.losses, {**headers, "lost": "lost_weighted_credit_min"})


def _causes(debrief: Debrief) -> Table:
    headers = {"cause": "cause", "lost": "lost_weighted_credit_min", "share": "lost_share"}
    return _columns("causes", debrief.causes, {**headers, "patient_min": "seen_patient_min"})


def _decisions(debrief: Debrief) -> Table:
    headers = ("number", "start_min", "end_min", "did", "better", "cause", "patients", "at_best_weighted_credit_min",
               "by_orders_weighted_credit_min", "by_orders_immediate_credit_min")  # fmt: skip
    hide = Discretion(debrief).hide
    rows = [
        (number, plain(each.start), plain(each.end), hide(each.did), each.better, str(each.cause),
         ", ".join(each.patients), plain(each.worth), plain(each.by_orders), plain(each.immediate_min))
        for number, each in enumerate(debrief.missed, start=1)
    ]  # fmt: skip
    return Table("decisions", headers, tuple(rows))


def _better(debrief: Debrief) -> Table:
    made = [_orders("better_orders", each.better_orders, debrief.scenario.start) for each in debrief.missed]
    headers = _orders("better_orders", (), None).headers
    rows = [(number, *row) for number, table in enumerate(made, start=1) for row in table.rows]
    return Table("better_orders", ("decision", *headers), tuple(rows))


def _objectives(debrief: Debrief) -> Table:
    headers = ("key", "objective", "status", "found", "in_words", "measure", "category", "area", "limit_min",
               "asked_share")  # fmt: skip
    rows = [
        (each.objective.key, each.objective.text, str(each.status), plain(each.value), each.words,
         str(each.objective.measure), each.objective.category, each.objective.area, plain(each.objective.minutes),
         plain(each.objective.share))
        for each in debrief.objectives
    ]  # fmt: skip
    return Table("objectives", headers, tuple(rows))


def _improvements(debrief: Debrief) -> Table:
    hide = Discretion(debrief).hide
    rows = [
        (hide(each.seen), each.action, each.measure, str(each.cause) if each.cause else "", None, None)
        for each in debrief.improvements
    ]
    headers = ("seen", "action", "measure", "cause", "who_role", "until_when")
    return Table("improvement_plan", headers, tuple(rows))


def _log(debrief: Debrief) -> Table:
    discretion = Discretion(debrief)
    rows = [
        (note.line or None, None if math.isnan(note.minute) else plain(note.minute), str(note.kind),
         *discretion.note(note))
        for note in debrief.log.notes
    ]  # fmt: skip
    return Table("log_remarks", ("line", "time_min", "kind", "column", "written", "read_as", "why"), tuple(rows))


def _findings(debrief: Debrief) -> Table:
    hide, lines = Discretion(debrief).hide, debrief.log.lines
    rows = [
        (lines[each.row - 1] if 0 < each.row <= len(lines) else None, plain(each.minute), each.law,
         "yes" if each.judged else "no", str(fault_of(each, debrief.team.plan.orders)), hide(each.reason))
        for each in debrief.team.verdict.findings
    ]  # fmt: skip
    return Table("findings", ("line", "time_min", "law", "judged", "means", "reason"), tuple(rows))


def _injects(debrief: Debrief) -> Table:
    marks = find_marks(debrief.scenario)
    rows = [
        (plain(each.at), str(each.kind), each.area, each.thing, inject_words(each, debrief.scenario, marks))
        for each in debrief.scenario.injects
    ]
    return Table("injects", ("time_min", "inject", "area", "thing", "in_words"), tuple(rows))
