"""The files of a risk study."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.data_files import csv_text
from mci.report.law_words import correlation_words, laws_by_path
from mci.report.risk_html import risk_html_text
from mci.report.risk_tables import risk_tables
from mci.report.study_json import study_json

if TYPE_CHECKING:
    from mci.surge.risk_result import Risk

__all__ = ["risk_files", "risk_json"]


def risk_files(found: Risk) -> dict[str, str | bytes]:
    """Make the content of every result file, by name; the report comes last, so that it is there when all are."""
    return {
        **{f"{table.name}.csv": csv_text(table) for table in risk_tables(found)},
        "risk.json": risk_json(found),
        "report.html": risk_html_text(found),
    }


def risk_json(found: Risk) -> str:
    """Write the study as JSON."""
    more = {
        "seed": found.seed,
        "way": found.way,
        "rolling_every_min": found.rolling_every,
        "failed": found.failed,
        "uncertain": laws_by_path(found.uncertainty, {n.path: n for n in found.numbers}, found.scenario),
        "correlations": list(correlation_words(found.uncertainty)),
        "notes": list(found.notes),
    }
    return study_json("risk", found.scenario, found.provenance, found.numbers, risk_tables(found), more)
