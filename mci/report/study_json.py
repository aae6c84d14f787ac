"""A study as one JSON text with where it comes from; only ``provenance.timings`` differs between two equal studies."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from mci.report.cautions import AID_STATEMENT, read_cautions
from mci.surge.measures import MEASURES

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from mci.provenance import Provenance
    from mci.report.table import Table
    from mci.scenario.model import Scenario
    from mci.scenario.numbers import Number

__all__ = ["study_json"]


def study_json(
    kind: str,
    scenario: Scenario,
    provenance: Provenance,
    numbers: Iterable[Number],
    tables: Iterable[Table],
    more: Mapping[str, Any],
) -> str:
    """Write a study; ``more`` is what only this kind has, tables are those of the CSV files."""
    record: dict[str, Any] = {
        "format": f"mci {kind}",
        "format_version": provenance.format_version,
        "statement": AID_STATEMENT,
        "provenance": provenance.to_dict(),
        "incident": {
            "name": scenario.name,
            "start_min_after_midnight": scenario.start,
            "horizon_min": scenario.horizon,
            "weights": dict(scenario.weights),
        },
        **more,
        "numbers": [
            {"path": n.path, "kind": str(n.kind), "as_written": n.text, "unit": n.unit, "what": n.what} for n in numbers
        ],
        "measures": [{"name": m.name, "title": m.title, "unit": m.unit} for m in MEASURES],
        "cautions": [{"text": c.text, "source": c.source, "basis": c.basis} for c in read_cautions()],
        "tables": {
            table.name: {"columns": list(table.headers), "rows": [list(row) for row in table.rows]} for table in tables
        },
    }
    return json.dumps(record, ensure_ascii=False, allow_nan=False, indent=1) + "\n"
