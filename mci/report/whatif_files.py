"""The files of a what-if study."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.data_files import csv_text
from mci.report.study_json import study_json
from mci.report.whatif_html import whatif_html_text
from mci.report.whatif_tables import whatif_tables

if TYPE_CHECKING:
    from mci.surge.whatif_result import WhatIf

__all__ = ["whatif_files", "whatif_json"]


def whatif_files(found: WhatIf) -> dict[str, str | bytes]:
    """Make the content of every result file, by name; the report comes last, so that it is there when all are."""
    return {
        **{f"{table.name}.csv": csv_text(table) for table in whatif_tables(found)},
        "whatif.json": whatif_json(found),
        "report.html": whatif_html_text(found),
    }


def whatif_json(found: WhatIf) -> str:
    """Write the study as JSON."""
    more = {"how": found.how, "notes": list(found.notes)}
    return study_json("what-if", found.scenario, found.provenance, found.numbers, whatif_tables(found), more)
