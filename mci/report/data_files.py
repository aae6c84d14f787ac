"""The tables as files for other programs: CSV, and one JSON with provenance.

Text that a spreadsheet could take for a formula is made safe in CSV (:mod:`mci.cells`); JSON, which no
spreadsheet runs, keeps the text as it is.
"""

from __future__ import annotations

import csv
import io
import json
from typing import TYPE_CHECKING, Any

from mci.cells import safe_text
from mci.report.cautions import AID_STATEMENT, read_cautions
from mci.report.tables import all_tables

if TYPE_CHECKING:
    from mci.pipeline import Run
    from mci.report.table import Cell, Table

__all__ = ["csv_text", "json_text"]


def _safe(cell: Cell) -> Cell:
    return safe_text(cell) if isinstance(cell, str) else cell


def csv_text(table: Table) -> str:
    """Write a table as CSV (RFC 4180: commas, CR LF, quotes where needed), safe to open in a spreadsheet."""
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(table.headers)
    writer.writerows([_safe(cell) for cell in row] for row in table.rows)
    return stream.getvalue()


def json_text(run: Run) -> str:
    """Write everything that the run found as one JSON text.

    Only ``provenance.timings`` differs between two equal runs.
    """
    scenario, outcome = run.scenario, run.outcome
    record: dict[str, Any] = {
        "format": "mci plan",
        "format_version": run.provenance.format_version,
        "statement": AID_STATEMENT,
        "provenance": run.provenance.to_dict(),
        "incident": {
            "name": scenario.name,
            "summary": scenario.summary,
            "start_min_after_midnight": scenario.start,
            "horizon_min": scenario.horizon,
            "weights": dict(scenario.weights),
            "resupply_cylinder": scenario.resupply.cylinder.key,
            "resupply_cylinder_usable_L": scenario.resupply.litres_each,
        },
        "outcome": {
            "status": str(outcome.status),
            "bound_weighted_patient_min": round(outcome.bound, 6),
            "achieved_weighted_patient_min": round(outcome.achieved, 6),
        },
        "resupply_notes": list(run.resupply_notes),
        "cautions": [{"text": c.text, "source": c.source, "basis": c.basis} for c in read_cautions()],
        "tables": {
            table.name: {"columns": list(table.headers), "rows": [list(row) for row in table.rows]}
            for table in all_tables(run)
        },
    }
    return json.dumps(record, ensure_ascii=False, allow_nan=False, indent=1) + "\n"
