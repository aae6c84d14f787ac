"""A table of a plan opened: orders or trips, ours or a person's, as a CSV file or a sheet of a workbook."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.errors import InputError, Mistake
from mci.scenario.table import read_table

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence
    from pathlib import Path

    from mci.scenario.table import Table

__all__ = ["open_table"]


def open_table(file: Path, what: str, headers: Sequence[str], not_read: Collection[str], row: str) -> Table:
    """Return the rows of a table that has every column and at least one row.

    Parameters
    ----------
    what
        What it holds: also the name of the sheet, where the file is a workbook.
    headers, not_read
        Its columns, and those that may be left out.
    row
        What one row is, in words.

    Raises
    ------
    InputError
        The file cannot be read, a column is missing, or there are no rows.
    """
    name = str(file)
    table = read_table(file, name, what if name.lower().endswith(".xlsx") else None)
    missing = [header for header in headers if header.lower() not in table.columns and header not in not_read]
    if missing:
        fix = f"The first line must name: {', '.join(headers)}."
        raise InputError([Mistake(f"columns are missing: {', '.join(missing)}", fix, name, line=1)])
    if not table.rows:
        raise InputError([Mistake(f"holds no {what}", f"Write one {row} a row.", name)])
    return table
