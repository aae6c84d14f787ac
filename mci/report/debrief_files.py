"""The files of a debrief: one HTML page, a workbook, CSV tables, orders, and JSON."""

from __future__ import annotations

import dataclasses
import json
from typing import TYPE_CHECKING, Any

from mci.plan.table import orders_text
from mci.report.cautions import AID_STATEMENT, read_cautions
from mci.report.data_files import csv_text
from mci.report.debrief_build import build_debrief_page, debrief_record
from mci.report.debrief_headline import whole_loss
from mci.report.debrief_html import debrief_html_text
from mci.report.debrief_tables import DATA_FOLDER, ORDER_TABLES, debrief_tables, order_tables
from mci.report.debrief_words import log_name, needed_weighted
from mci.report.table import plain
from mci.report.workbook import book_bytes

if TYPE_CHECKING:
    from collections.abc import Iterable

    from mci.drills.debriefed import Debrief
    from mci.plan.orders import Order

__all__ = ["debrief_files", "debrief_json"]


def debrief_files(debrief: Debrief) -> dict[str, str | bytes]:
    """Make the content of every result file, by name; the report comes last, so that it is there when all are."""
    start = debrief.scenario.start
    plans = (debrief.team.plan.orders, debrief.best.plan.orders)
    return {
        **{f"{DATA_FOLDER}/{table.name}.csv": csv_text(table) for table in debrief_tables(debrief)},
        **{f"{name}.csv": orders_text(_unnamed(each), start) for name, each in zip(ORDER_TABLES, plans, strict=True)},
        "debrief.xlsx": _workbook(debrief),
        "results.json": debrief_json(debrief),
        "report.html": debrief_html_text(debrief),
    }


def _unnamed(orders: Iterable[Order]) -> Iterable[Order]:
    """Leave out who does what; the column stays, so that the file can be read as orders."""
    return (dataclasses.replace(order, by="") for order in orders)


def _workbook(debrief: Debrief) -> bytes:
    page = build_debrief_page(debrief)
    tables = (*debrief_tables(debrief), *order_tables(debrief))
    about = (
        ("What this is", AID_STATEMENT),
        *((("Exercise", page.body.exercise),) if page.body.exercise else ()),
        ("Result", " ".join(page.headline)),
        ("How losses are reckoned", f"{page.body.rule} {page.body.unit_words}"),
        *debrief_record(debrief),
        (
            "Units",
            (
                "in the headers: min minutes after the start; credit_min minutes of one patient whose need is fully "
                "met; weighted: times the weight of the category; patient_min patient-minutes; psi gauge; share 0 to "
                "1 (shown as %)"
            ),
        ),
        ("People", "nobody is named: this scores how the work was organised, not persons"),
        ("Sheets", ", ".join(table.name for table in tables)),
    )
    return book_bytes("Debrief", debrief.scenario.name, about, tables)


def debrief_json(debrief: Debrief) -> str:
    """Write everything that was found as one JSON text, without timings, so that equal debriefs give equal bytes."""
    scenario, page = debrief.scenario, build_debrief_page(debrief)
    record: dict[str, Any] = {
        "format": "mci debrief",
        "format_version": debrief.provenance.format_version,
        "statement": AID_STATEMENT,
        "exercise": page.body.exercise,
        "provenance": debrief.provenance.to_dict(timings=False),
        "incident": {
            "name": scenario.name,
            "start_min_after_midnight": scenario.start,
            "horizon_min": scenario.horizon,
            "weights": dict(scenario.weights),
        },
        "headline": list(page.headline),
        "outcome": {
            "needed_weighted_patient_min": plain(needed_weighted(debrief)),
            "bound_weighted_credit_min": plain(debrief.bound),
            "team_weighted_credit_min": plain(debrief.team.verdict.weighted),
            "best_weighted_credit_min": plain(debrief.best.verdict.weighted),
            "lost_weighted_credit_min": plain(whole_loss(debrief)),
        },
        "log": {"file": log_name(debrief), "lines": debrief.log.read, "left_out": debrief.log.left_out},
        "notes": list(page.notes),
        "cautions": [{"text": c.text, "source": c.source, "basis": c.basis} for c in read_cautions()],
        "tables": {
            table.name: {"columns": list(table.headers), "rows": [list(row) for row in table.rows]}
            for table in (*debrief_tables(debrief), *order_tables(debrief))
        },
    }
    return json.dumps(record, ensure_ascii=False, allow_nan=False, indent=1) + "\n"
