"""Where results may be written: a new or empty folder, or earlier results that may be replaced."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from mci.errors import UsageError
from mci.report.beside_cases import BESIDE_NAME, MOST, case_name
from mci.report.debrief_tables import DATA_FOLDER, DEBRIEF_TABLES, ORDER_TABLES
from mci.report.drill_tables import DRILL_TABLES
from mci.report.inspection_tables import INSPECTION_TABLES
from mci.report.resupply_tables import PLAN_TABLES, RESUPPLY_TABLES
from mci.report.risk_tables import RISK_TABLES
from mci.report.stock_lists import WORST_FOLDER
from mci.report.stock_tables import STOCK_TABLES
from mci.report.tables import TABLE_NAMES
from mci.report.whatif_tables import WHATIF_TABLES
from mci.surge.journal import JOURNAL_NAME

if TYPE_CHECKING:
    from pathlib import Path

__all__ = [
    "DEBRIEF_NAMES",
    "DRILL_NAMES",
    "INSPECTION_NAMES",
    "RESULT_NAMES",
    "RESUPPLY_NAMES",
    "STOCK_NAMES",
    "STUDY_NAMES",
    "check_target",
]

#: The names of all files that are written for a plan.
RESULT_NAMES = (*(f"{name}.csv" for name in TABLE_NAMES), "plan.json", "plan.xlsx", "report.html")
#: The names of all files that may be written for a resupply plan.
RESUPPLY_NAMES = (
    *(f"{name}.csv" for name in (*RESUPPLY_TABLES, *PLAN_TABLES, "orders", "trips", "trips_latest")),
    "request.xml",
    "resupply.json",
    "report.html",
)
#: The names of all files that are written for a what-if or a risk study, besides its journal.
STUDY_NAMES = (
    *(f"{name}.csv" for name in (*WHATIF_TABLES, *RISK_TABLES)),
    "whatif.json",
    "risk.json",
    "report.html",
    BESIDE_NAME,
    *(case_name(place) for place in range(MOST)),
)
#: The names of all files that are written for the inspection of a cache.
INSPECTION_NAMES = (
    *(f"{name}.csv" for name in INSPECTION_TABLES),
    "inspection.xlsx",
    "inspection.json",
    "report.html",
)
#: The names of all files that are written for packing lists; besides them a folder of scenarios.
STOCK_NAMES = (*(f"{name}.csv" for name in STOCK_TABLES), "stock.xlsx", "stock.json", "report.html", WORST_FOLDER)
#: The names of all files that are written for a debrief; besides them a folder of tables.
DEBRIEF_NAMES = (*(f"{name}.csv" for name in ORDER_TABLES), "debrief.xlsx", "results.json", "report.html", DATA_FOLDER)
#: The names of all files that are written for a drill; besides them a folder of tables.
DRILL_NAMES = (
    "exercise.yaml",
    "players.html",
    "cards.html",
    "controllers.html",
    "answer-key.html",
    "packet.xlsx",
    DATA_FOLDER,
)
_DATA_FILE = re.compile(rf"({'|'.join((*DEBRIEF_TABLES, *DRILL_TABLES))})\.csv|results\.json")
_WORST_FILE = re.compile(r"\d\d-incident-\d+[^/]*\.(yaml|csv)")
_MARKS = {
    "plan.json",
    "resupply.json",
    "whatif.json",
    "risk.json",
    "inspection.json",
    "stock.json",
    "debrief.xlsx",
    "packet.xlsx",
    JOURNAL_NAME,
}  # by which earlier results are known


def check_target(folder: Path, *, force: bool) -> None:
    """Refuse a folder that must not be written to, before any work is done.

    Parameters
    ----------
    folder
        Where the results shall be.  It may be absent or empty.
    force
        Replace earlier results.  A folder that holds anything else is refused even
        so: replacing it would delete files that are not ours.

    Raises
    ------
    UsageError
        Saying what is in the way.
    """
    if folder.exists() and not folder.is_dir():
        raise UsageError(f"{folder} is a file; give a folder for the results")
    names = sorted(entry.name for entry in folder.iterdir()) if folder.is_dir() else []
    if not names:
        return
    if not _MARKS & set(names):
        raise UsageError(f"{folder} holds other files ({names[0]}); give a new or empty folder")
    if not force:
        raise UsageError(f"{folder} already holds results; give another folder, or --force to replace them")
    ours = {*RESULT_NAMES, *RESUPPLY_NAMES, *STUDY_NAMES, *INSPECTION_NAMES, *STOCK_NAMES, JOURNAL_NAME}
    ours |= {*DEBRIEF_NAMES, *DRILL_NAMES}
    foreign = [name for name in names if name not in ours]
    foreign += _foreign_in(folder / WORST_FOLDER, _WORST_FILE) + _foreign_in(folder / DATA_FOLDER, _DATA_FILE)
    if foreign:
        raise UsageError(f"{folder} also holds {foreign[0]}, which replacing would delete; move it away first")


def _foreign_in(inner: Path, ours: re.Pattern[str]) -> list[str]:
    """Return what is in a folder of the results that was not written there."""
    if inner.is_symlink() or (inner.exists() and not inner.is_dir()):
        return [inner.name]
    names = sorted(entry.name for entry in inner.iterdir()) if inner.is_dir() else []
    return [f"{inner.name}/{name}" for name in names if not ours.fullmatch(name)]
