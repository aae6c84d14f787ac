"""Writing the results: whole or not at all.

Everything is made in memory first, written to a new folder beside the wanted one, and
renamed into place last.  Whatever goes wrong before that rename leaves nothing behind and
what was there untouched.
"""

from __future__ import annotations

import shutil
import tempfile
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from mci.errors import UsageError
from mci.plan.table import orders_text
from mci.report.data_files import csv_text, json_text
from mci.report.html import html_text
from mci.report.tables import all_tables
from mci.report.target import check_target
from mci.report.workbook import workbook_bytes

if TYPE_CHECKING:
    from collections.abc import Mapping

    from mci.pipeline import Run

__all__ = ["add_files", "put_files", "result_files", "write_results"]


def result_files(run: Run, *, cards: bool = False) -> dict[str, str | bytes]:
    """Make the content of every result file, by name."""
    made = {f"{table.name}.csv": csv_text(table) for table in all_tables(run)}
    orders = orders_text(run.executable.plan.orders if run.executable else (), run.scenario.start)
    made["orders.csv"] = orders  # written by the room whose reader reads it
    return {
        **made,
        "plan.xlsx": workbook_bytes(run),
        "plan.json": json_text(run),
        "report.html": html_text(run, cards=cards),
    }


def _write_beside(files: Mapping[str, str | bytes], target: Path) -> Path:
    """Write the files to a new folder beside the target, or leave nothing."""
    target.parent.mkdir(parents=True, exist_ok=True)
    beside = Path(tempfile.mkdtemp(prefix=f".{target.name}-", dir=target.parent))
    try:
        beside.chmod(0o755)  # mkdtemp makes it private, results are for the team
        for name, content in files.items():
            (beside / name).parent.mkdir(exist_ok=True)  # some names have a folder before them
            (beside / name).write_bytes(content.encode("utf-8") if isinstance(content, str) else content)
    except BaseException:
        shutil.rmtree(beside, ignore_errors=True)
        raise
    return beside


def _swap(beside: Path, target: Path) -> None:
    """Put the new folder in place of the old one; put the old one back if that fails."""
    if not target.exists():
        beside.rename(target)
        return
    old = beside.with_name(f"{beside.name}-old")
    target.rename(old)
    try:
        beside.rename(target)
    except BaseException:
        old.rename(target)
        raise
    shutil.rmtree(old, ignore_errors=True)


def write_results(run: Run, folder: Path, *, force: bool = False, cards: bool = False) -> Path:
    """Write all result files of a run into a folder, whole or not at all.

    Parameters
    ----------
    run
        What to write.
    folder
        Where; made where it does not exist.
    force
        Replace earlier results.
    cards
        Put a card for every patient into the report.

    Returns
    -------
    Path
        The folder.

    Raises
    ------
    UsageError
        The folder must not be replaced, or the disk refuses.
    """
    check_target(folder.resolve(), force=force)
    return put_files(result_files(run, cards=cards), folder)


def put_files(files: Mapping[str, str | bytes], folder: Path) -> Path:
    """Put all files into a folder that may be written to, whole or not at all, and return it.

    Raises
    ------
    UsageError
        The disk refuses.
    """
    target = folder.resolve()
    try:
        beside = _write_beside(files, target)
        try:
            _swap(beside, target)
        finally:
            with suppress(OSError):
                shutil.rmtree(beside)
    except OSError as error:
        raise UsageError(f"cannot write the results to {folder}: {error.strerror or error}") from error
    return folder


def add_files(files: Mapping[str, str | bytes], folder: Path) -> Path:
    """Put files into a folder beside what must stay there, such as the journal of a study, and return the folder.

    All are written beside the folder first, then moved in one after the other, in their order: whatever goes wrong
    before the first of them leaves the folder as it was, and what is there besides them is never touched.

    Raises
    ------
    UsageError
        The disk refuses.
    """
    target = folder.resolve()
    try:
        target.mkdir(parents=True, exist_ok=True)
        beside = _write_beside(files, target)
        try:
            for name in files:
                (target / name).parent.mkdir(exist_ok=True)
                (beside / name).replace(target / name)
        finally:
            with suppress(OSError):
                shutil.rmtree(beside)
    except OSError as error:
        raise UsageError(f"cannot write the results to {folder}: {error.strerror or error}") from error
    return folder
