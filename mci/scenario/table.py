"""Rows of a roster or an inventory, CSV or XLSX, as plain texts with their cell addresses.

Cells are values only: a formula that no spreadsheet program has calculated is empty and so
counts as missing.  Numbers from a workbook lose the ``.0`` that its format adds to whole ones.
"""

from __future__ import annotations

import csv
import datetime
import io
import zipfile
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from mci.cells import plain_text
from mci.errors import InputError, Mistake
from mci.scenario.yaml_positions import read_bytes

if TYPE_CHECKING:
    import pathlib

    from mci.scenario.yaml_positions import Where

__all__ = ["MAX_ROWS", "Table", "read_table", "sheet_names"]

MAX_ROWS = 200_000
_MAX_UNPACKED = 400_000_000  # bytes of a workbook once unpacked
_MAX_COLUMNS = 200


@dataclass(frozen=True, slots=True)
class Table:
    """Rows with text cells; empty cells are left away.

    Parameters
    ----------
    rows
        One mapping per row, column name to text.
    lines
        Row number of each, as a spreadsheet program counts.
    columns
        Column names in order.
    content
        The bytes read, for the hash.
    """

    file: str
    rows: list[dict[str, str]]
    lines: list[int]
    columns: list[str]
    content: bytes

    def mistake(self, path: Where, rule: str, fix: str = "", value: str | None = None, *, key: bool = False) -> Mistake:
        """Return a mistake in a row (``path[0]``) and column (``path[1]``)."""
        del key
        index, *rest = path or (None,)
        line = 1 if index is None else self.lines[index]
        name = str(rest[0]) if rest else ""
        number = self.columns.index(name) + 1 if name in self.columns else 0
        where = f"row {line}" + (f", column {name}" if name else "")
        address = f"{where} (cell {_letters(number)}{line})" if number else where
        return Mistake(rule, fix, self.file, line, number, address, value)


def _letters(number: int) -> str:
    letters = ""
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def read_table(path: pathlib.Path, name: str, sheet: str | None = None) -> Table:
    """Read a table whose first row names the columns.

    Raises
    ------
    InputError
        When the file is missing, too large or no table, or a column is named twice.
    """
    content = read_bytes(path, name)
    if name.lower().endswith(".csv"):
        if sheet is not None:
            raise InputError([Mistake("a CSV file has no sheets", "Remove 'sheet'.", name)])
        cells = _csv_cells(content, name)
    else:
        cells = _xlsx_cells(content, name, sheet)
    numbered = [(n, row) for n, row in enumerate(cells, start=1) if any(row)]
    if not numbered:
        raise InputError([Mistake("is empty", "The first row names the columns.", name)])
    if len(numbered) > MAX_ROWS:
        raise InputError([Mistake(f"has more than {MAX_ROWS} rows", "Use batches, or split the plan.", name)])
    columns = [" ".join(cell.lower().split()) for cell in numbered[0][1]][:_MAX_COLUMNS]
    twice = sorted({c for c in columns if c and columns.count(c) > 1})
    if twice:
        raise InputError([Mistake(f"column '{c}' is there twice", "Keep one.", name, numbered[0][0]) for c in twice])
    rows = [{c: cell for c, cell in zip(columns, row, strict=False) if cell and c} for _, row in numbered[1:]]
    return Table(name, rows, [n for n, _ in numbered[1:]], columns, content)


def _csv_cells(content: bytes, name: str) -> list[list[str]]:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise InputError([Mistake("is not UTF-8 text", "Save it as CSV UTF-8.", name, line)]) from None
    head = text.splitlines()[0] if text.strip() else ""
    delimiter = max(",;\t", key=head.count)
    cells: list[list[str]] = []
    try:
        for row in csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True):
            cells.append([plain_text(cell.strip()) for cell in row])
    except csv.Error as error:
        raise InputError(
            [Mistake(f"is not readable as CSV: {error}", "Check the quotes.", name, len(cells) + 1)]
        ) from None
    return cells


def sheet_names(path: pathlib.Path, name: str) -> list[str]:
    """Return the names of the sheets of a workbook, in order.

    Raises
    ------
    InputError
        When the file is missing, too large or no workbook.
    """
    return list(_open_book(read_bytes(path, name), name).sheet_names)


def _xlsx_cells(content: bytes, name: str, sheet: str | None) -> list[list[str]]:
    from python_calamine import CalamineError

    book = _open_book(content, name)
    names = book.sheet_names
    if sheet is not None and sheet not in names:
        raise InputError([Mistake(f"there is no sheet '{sheet}'", f"Sheets: {', '.join(names)}.", name)])
    try:
        rows = book.get_sheet_by_name(sheet or names[0]).to_python(skip_empty_area=False)
    except (CalamineError, OSError, ValueError, IndexError) as error:
        raise _not_readable(error, name) from None
    return [[_cell_text(cell) for cell in row] for row in rows]


def _open_book(content: bytes, name: str) -> Any:
    """Open a workbook that is not too large once unpacked."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            if sum(part.file_size for part in packed.infolist()) > _MAX_UNPACKED:
                raise InputError([Mistake("unpacks to more than 400 MB", "Remove what is not needed.", name)])
    except zipfile.BadZipFile:
        raise InputError([Mistake("is not an XLSX workbook", "Save it as .xlsx or .csv.", name)]) from None
    from python_calamine import CalamineError, CalamineWorkbook

    try:
        return CalamineWorkbook.from_filelike(io.BytesIO(content))
    except (CalamineError, OSError, ValueError, IndexError) as error:
        raise _not_readable(error, name) from None


def _not_readable(error: Exception, name: str) -> InputError:
    return InputError([Mistake(f"is not readable as a workbook: {error}", "", name)])


def _cell_text(cell: Any) -> str:
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    if isinstance(cell, datetime.datetime):
        return cell.date().isoformat() if cell.time() == datetime.time() else cell.isoformat(" ")
    if isinstance(cell, datetime.date):
        return cell.isoformat()
    if isinstance(cell, datetime.time):
        return cell.isoformat("minutes") if not cell.second else cell.isoformat()
    return str(cell).strip()
