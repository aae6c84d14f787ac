"""The files of an inspection: one HTML page, a workbook, CSV tables and JSON."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from mci.provenance import FORMAT_VERSION
from mci.report.cautions import AID_STATEMENT
from mci.report.data_files import csv_text
from mci.report.html import fill_template
from mci.report.inspection_build import build_inspection_page, inspection_cautions, inspection_record
from mci.report.inspection_tables import inspection_tables
from mci.report.workbook import book_bytes

if TYPE_CHECKING:
    from mci.stocking.inspection_result import Inspection

__all__ = ["inspection_files", "inspection_html_text", "inspection_json", "inspection_workbook"]


def inspection_files(found: Inspection) -> dict[str, str | bytes]:
    """Make the content of every result file, by name."""
    return {
        **{f"{table.name}.csv": csv_text(table) for table in inspection_tables(found)},
        "inspection.xlsx": inspection_workbook(found),
        "inspection.json": inspection_json(found),
        "report.html": inspection_html_text(found),
    }


def inspection_html_text(found: Inspection) -> str:
    """Make the report of an inspection as one self-contained HTML text."""
    page = build_inspection_page(found)
    return fill_template("inspection.html.j2", page, {}, ("report.css", "study.css", "inspection.css"))


def inspection_workbook(found: Inspection) -> bytes:
    """Write every table of an inspection to a workbook (XLSX)."""
    page, tables = build_inspection_page(found), inspection_tables(found)
    about = (
        ("What this is", AID_STATEMENT),
        ("Result", " ".join(page.headline)),
        *inspection_record(found),
        ("Ranking", page.body.rule),
        ("Units", "in the headers: L litres of free gas, psi gauge, min minutes"),
        ("Sheets", ", ".join(table.name for table in tables)),
    )
    return book_bytes("Cache inspection", page.name, about, tables)


def inspection_json(found: Inspection) -> str:
    """Write an inspection as JSON."""
    page = build_inspection_page(found)
    record: dict[str, Any] = {
        "format": "mci cache inspection",
        "format_version": FORMAT_VERSION,
        "statement": AID_STATEMENT,
        "provenance": dict(inspection_record(found)),
        "headline": list(page.headline),
        "ranking": page.body.rule,
        "assumptions": [
            {"what": what, "value": value, "basis": basis, "source": source}
            for what, value, basis, source in page.assumptions
        ],
        "cautions": [{"text": c.text, "source": c.source, "basis": c.basis} for c in inspection_cautions()],
        "tables": {
            table.name: {"columns": list(table.headers), "rows": [list(row) for row in table.rows]}
            for table in inspection_tables(found)
        },
    }
    return json.dumps(record, ensure_ascii=False, allow_nan=False, indent=1) + "\n"
