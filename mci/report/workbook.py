"""All tables in one workbook: a sheet each, as the CSV files have them; no formulas, no macros, no links.

The sheets ``patients`` and ``cylinders`` can be read back by a scenario:
``{roster: plan.xlsx, sheet: patients}`` and ``{inventory: plan.xlsx, sheet: cylinders}``.
"""

from __future__ import annotations

import datetime
import io
from typing import TYPE_CHECKING

from xlsxwriter import Workbook

from mci.report.cautions import AID_STATEMENT
from mci.report.tables import all_tables

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from xlsxwriter.format import Format
    from xlsxwriter.worksheet import Worksheet

    from mci.pipeline import Run
    from mci.report.table import Cell, Table

__all__ = ["book_bytes", "workbook_bytes"]

#: The file would otherwise carry the day on which it was made, and equal runs would not give equal bytes.
_CREATED = datetime.datetime(2000, 1, 1)  # a workbook knows no time zones
_NARROW, _WIDE = 9, 46  # letters
_OPTIONS = {
    "in_memory": True,
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "strings_to_numbers": False,
    "nan_inf_to_errors": False,
}


def workbook_bytes(run: Run) -> bytes:
    """Write every table of a run to a workbook (XLSX); equal runs give equal bytes."""
    tables = all_tables(run)
    return book_bytes("Oxygen plan", run.scenario.name, _about_run(run, tables), tables)


def book_bytes(title: str, name: str, about: Sequence[tuple[str, str]], tables: Iterable[Table]) -> bytes:
    """Write tables to a workbook (XLSX), a sheet each, behind one that says what it is; equal tables, equal bytes."""
    stream = io.BytesIO()
    book = Workbook(stream, _OPTIONS)
    book.set_properties({"title": title, "comments": AID_STATEMENT, "created": _CREATED})
    looks = _Looks(book)
    _write_about(book.add_worksheet("about"), name, about, looks)
    for table in tables:
        sheet = book.add_worksheet(table.name)
        _fill(sheet, table, looks)
        sheet.set_footer(f"&L&A&R{title}: a planning and training aid, page &P of &N")
    book.close()
    return stream.getvalue()


class _Looks:
    """The few formats of the workbook."""

    def __init__(self, book: Workbook) -> None:
        self.head = book.add_format(
            {"bold": True, "text_wrap": True, "valign": "bottom", "bottom": 2, "bg_color": "#F3F5F4"}
        )
        self.title = book.add_format({"bold": True, "font_size": 14})
        self.bold = book.add_format({"bold": True, "valign": "top"})
        self.words = book.add_format({"text_wrap": True, "valign": "top"})
        self.number = book.add_format({"num_format": "0.00", "valign": "top"})
        self.whole = book.add_format({"num_format": "0", "valign": "top"})
        self.share = book.add_format({"num_format": "0.0 %", "valign": "top"})

    def of(self, cell: float, header: str) -> Format:
        if header.endswith("_share"):
            return self.share
        return self.whole if isinstance(cell, int) else self.number


def _fill(sheet: Worksheet, table: Table, looks: _Looks) -> None:
    for column, header in enumerate(table.headers):
        cells = [row[column] for row in table.rows]
        longest = max((len(_shown(cell)) for cell in cells), default=0)
        words = max(len(word) for word in header.replace("_", " ").split())
        width = min(max(longest + 2, words + 4, min(len(header) + 3, 18), _NARROW), _WIDE)
        sheet.set_column(column, column, width)
        sheet.write_string(0, column, header, looks.head)
        for number, cell in enumerate(cells, start=1):
            if isinstance(cell, str):
                sheet.write_string(number, column, cell, looks.words)
            elif cell is not None:
                sheet.write_number(number, column, cell, looks.of(cell, header))
    sheet.freeze_panes(1, 0)
    sheet.autofilter(0, 0, max(len(table.rows), 1), len(table.headers) - 1)
    _for_paper(sheet)


def _shown(cell: Cell) -> str:
    return (
        ""
        if cell is None
        else cell
        if isinstance(cell, str)
        else f"{cell:.2f}"
        if isinstance(cell, float)
        else str(cell)
    )


def _for_paper(sheet: Worksheet) -> None:
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(0)


def _about_run(run: Run, tables: Iterable[Table]) -> tuple[tuple[str, str], ...]:
    record = run.provenance
    return (
        ("What this is", AID_STATEMENT),
        ("Incident", run.scenario.summary),
        ("Software", record.software),
        ("Scenario file", record.scenario_file),
        ("Scenario SHA-256", record.scenario_sha256),
        ("Status", str(run.outcome.status)),
        (
            "Units",
            "in the headers: min minutes after the start, L litres of free gas, psi gauge, share 0 to 1 (shown as %)",
        ),
        (
            "This plan",
            "orders, and its row in comparison: can be carried out, with whole patients and cylinders"
            if run.executable
            else "none was found that can be carried out",
        ),
        (
            "At best",
            "coverage to resupply: the best possible, with patients and cylinders divisible",
        ),
        ("Sheets", ", ".join(table.name for table in tables)),
        (
            "Read back",
            "roster: plan.xlsx, sheet: patients; inventory: plan.xlsx, sheet: cylinders; mci replay reads sheet orders",
        ),
    )


def _write_about(sheet: Worksheet, name: str, lines: Sequence[tuple[str, str]], looks: _Looks) -> None:
    sheet.set_column(0, 0, 26)
    sheet.set_column(1, 1, 90)
    sheet.write_string(0, 0, name, looks.title)
    for row, (key, text) in enumerate(lines, start=2):
        sheet.write_string(row, 0, key, looks.bold)
        sheet.write_string(row, 1, text, looks.words)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
