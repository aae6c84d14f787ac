"""What the page of any study says around its own part: who, what first, what failed, on which basis."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, TypeVar

from mci.report.build import pairs_words
from mci.report.cautions import AID_STATEMENT, read_cautions
from mci.report.page import KeyFigure
from mci.report.study_words import plural
from mci.surge.cases import PLANNED

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd

    from mci.provenance import Provenance
    from mci.report.cautions import Caution
    from mci.report.study_tables import Behind
    from mci.scenario.model import Scenario

__all__ = ["FailedRow", "StudyPage", "study_page"]

Body = TypeVar("Body")
_MOST_NAMED = 8


@dataclass(frozen=True, slots=True)
class FailedRow:
    """Why cases have no result, how many, and which, as far as there is room."""

    reason: str
    count: str
    which: str


@dataclass(frozen=True, slots=True)
class StudyPage(Generic[Body]):
    """The whole page of a study in words; ``body`` is what only this kind of study has."""

    kind: str
    name: str
    summary: str
    headline: tuple[str, ...]
    standing: str
    key_figures: tuple[KeyFigure, ...]
    body: Body
    behind: dict[str, tuple[Behind, ...]]
    failed: tuple[FailedRow, ...]
    notes: tuple[str, ...]
    assumptions: tuple[tuple[str, str, str, str], ...]
    statement: str
    cautions: tuple[Caution, ...]
    provenance: tuple[tuple[str, str], ...]
    provenance_line: str


def study_page(
    kind: str,
    scenario: Scenario,
    provenance: Provenance,
    table: pd.DataFrame,
    *,
    headline: Sequence[str],
    standing: str,
    key_figures: Sequence[KeyFigure],
    body: Body,
    behind: dict[str, tuple[Behind, ...]],
    notes: Sequence[str],
    more: Sequence[tuple[str, str]],
) -> StudyPage[Body]:
    """Put the frame of a study around its own part; ``more`` are rows of the record of where it comes from."""
    return StudyPage(
        kind=kind,
        name=scenario.name,
        summary=scenario.summary,
        headline=tuple(headline),
        standing=standing,
        key_figures=tuple(key_figures),
        body=body,
        behind=behind,
        failed=_failed_rows(table),
        notes=tuple(notes),
        assumptions=tuple((a.what, a.value, str(a.source.basis), a.source.text) for a in scenario.assumptions),
        statement=AID_STATEMENT,
        cautions=read_cautions(),
        provenance=_provenance_rows(scenario, provenance, more),
        provenance_line=f"{provenance.software} · scenario {provenance.scenario_sha256[:12]}",
    )


def _provenance_rows(
    scenario: Scenario, record: Provenance, more: Sequence[tuple[str, str]]
) -> tuple[tuple[str, str], ...]:
    """Say where a study comes from."""
    return (
        ("Software", record.software),
        ("Scenario file", record.scenario_file),
        ("Scenario SHA-256", record.scenario_sha256),
        *more,
        ("Solver", pairs_words(record.solver)),
        ("Settings", pairs_words(record.settings)),
        ("Weights", pairs_words(scenario.weights)),
        ("Format version", str(record.format_version)),
    )


def _failed_rows(table: pd.DataFrame) -> tuple[FailedRow, ...]:
    """Gather the cases without a result by their reason, in the order in which reasons occur."""
    failed = table[table["status"] != PLANNED]
    rows = []
    for reason, cases in failed.groupby("status", sort=False)["case"]:
        names = [str(name) for name in cases]
        more = len(names) - _MOST_NAMED
        which = ", ".join(names[:_MOST_NAMED]) + (f" and {more} more" if more > 0 else "")
        rows.append(FailedRow(str(reason), plural(len(names), "case"), which))
    return tuple(rows)
