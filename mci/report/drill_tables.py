"""The tables of a drill: CSV files and sheets of the workbook; units in the headers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.drills.criteria import load_criteria
from mci.report.drill_controllers import MEASURED
from mci.report.order_table import order_table
from mci.report.series import records
from mci.report.table import Cell, Table, plain
from mci.units import format_clock

if TYPE_CHECKING:
    from mci.drills.result import Drill
    from mci.scenario.exercise import Inject

__all__ = ["DRILL_TABLES", "LOG_COLUMNS", "drill_tables"]

#: Columns of a log file, as its reader takes them.
LOG_COLUMNS = ("time", "action", "patient", "device", "flow_L_per_min", "cylinder", "regulator", "by", "note")
#: Names of the tables, in the order of the workbook.
DRILL_TABLES = (
    "casualties",
    "needs",
    "stages",
    "events",
    "objectives",
    "plans",
    "decisions",
    "orders",
    "over_time",
    "criteria",
    "log-sheet",
)


def drill_tables(drill: Drill) -> tuple[Table, ...]:
    """Return every table, in the order of :data:`DRILL_TABLES`."""
    start = drill.briefed.start
    return (
        _casualties(drill, start),
        _needs(drill, start),
        _stages(drill),
        _events(drill, start),
        _objectives(drill),
        _plans(drill),
        _decisions(drill, start),
        order_table(drill.best.plan.orders, start),
        _over_time(drill),
        _criteria(),
        Table("log-sheet", LOG_COLUMNS, ()),
    )


def _yes(value: bool) -> str:
    return "yes" if value else "no"


def _casualties(drill: Drill, start: int | None) -> Table:
    headers = ("patient", "age", "found", "mechanism", "area", "arrive_min", "arrive_clock", "leave_min", "unannounced")
    rows = [
        (c.key, c.age, c.found, c.mechanism, c.area, plain(c.arrive), format_clock(c.arrive, start), plain(c.leave),
         _yes(c.unannounced))
        for c in drill.casualties
    ]  # fmt: skip
    return Table("casualties", headers, tuple(rows))


def _needs(drill: Drill, start: int | None) -> Table:
    headers = ("patient", "from_min", "from_clock", "category", "need", "prescribed")
    rows = [
        (card.key, plain(minute), format_clock(minute, start), category, need, option)
        for card in drill.casualties
        for minute, category, need, option in card.needs
    ]
    return Table("needs", headers, tuple(rows))


def _stages(drill: Drill) -> Table:
    headers = ("patient", "stage", "when", "spo2_percent", "breaths_per_min", "pulse_per_min", "looks")
    rows = [
        (card.key, number, stage.when, stage.signs.spo2, stage.signs.breaths, stage.signs.pulse, stage.signs.looks)
        for card in drill.casualties
        for number, stage in enumerate(card.stages, start=1)
    ]
    return Table("stages", headers, tuple(rows))


def _events(drill: Drill, start: int | None) -> Table:
    headers = ("event", "time_min", "clock", "what", "from", "to", "means", "expected", "objectives")
    inject = ("inject", "area", "thing", "inject_min", "inject_psi")
    rows = [
        (e.number, plain(e.minute), format_clock(e.minute, start), e.what, e.sender, e.receiver, e.means, e.expected,
         " ".join(e.objectives), *_inject(e.inject))
        for e in drill.events
    ]  # fmt: skip
    return Table("events", headers + inject, tuple(rows))


def _inject(inject: Inject | None) -> tuple[Cell, ...]:
    if inject is None:
        return "", "", "", None, None
    return str(inject.kind), inject.area, inject.thing, plain(inject.minutes), plain(inject.psi)


def _objectives(drill: Drill) -> Table:
    headers = ("objective", "text", "measure", "measured", "category", "area", "limit_min", "asked_share")
    rows = [
        (o.key, o.text, str(o.measure), MEASURED[o.measure], o.category, o.area, plain(o.minutes), plain(o.share))
        for o in drill.objectives
    ]
    return Table("objectives", headers, tuple(rows))


def _plans(drill: Drill) -> Table:
    columns = ("category", "patients", "needed_patient_min", "credit_min", "coverage", "at_target_patient_min",
               "below_target_patient_min", "without_patient_min")  # fmt: skip
    headers = tuple("coverage_share" if name == "coverage" else name for name in columns)
    plans = [judged for judged in (drill.best, drill.again, *drill.usual) if judged is not None]
    rows = [
        (judged.name, str(judged.verdict.validity), plain(judged.verdict.weighted), *(plain(row[c]) for c in columns))
        for judged in plans
        for row in records(judged.verdict.coverage)
    ]
    return Table("plans", ("plan", "validity", "weighted_credit_min", *headers), tuple(rows))


def _decisions(drill: Drill, start: int | None) -> Table:
    headers = ("time_min", "clock", "what", "why", "orders", "worth_weighted_credit_min", "immediate_credit_min")
    rows = [
        (plain(d.minute), format_clock(d.minute, start), d.what, d.why, " ".join(map(str, d.rows)), plain(d.worth),
         plain(d.immediate_min), ", ".join(d.patients))
        for d in drill.decisions
    ]  # fmt: skip
    return Table("decisions", (*headers, "patients"), tuple(rows))


def _over_time(drill: Drill) -> Table:
    columns = ("plan", "time_min", "need", "credit", "at_target", "below_target", "without")
    headers = tuple(name if name in ("plan", "time_min") else f"{name}_patients" for name in columns)
    return Table("over_time", headers, tuple(tuple(plain(row[c]) for c in columns) for row in records(drill.over_time)))


def _criteria() -> Table:
    headers = ("where", "criterion", "what", "counts_as_seen", "real_oxygen_only", "source", "basis")
    rows = [(c.where, c.key, c.what, c.seen, _yes(c.gas), c.source.text, str(c.source.basis)) for c in load_criteria()]
    return Table("criteria", headers, tuple(rows))
