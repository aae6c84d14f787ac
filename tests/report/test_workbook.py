"""The workbook: the tables of the CSV files, ready to filter, and nothing in it that runs."""

from __future__ import annotations

import csv
import io
import re
import zipfile
from typing import TYPE_CHECKING

import pytest
from python_calamine import CalamineWorkbook

from mci.plan.table import HEADERS, orders_text
from mci.report.tables import TABLE_NAMES, all_tables
from mci.report.workbook import workbook_bytes
from mci.scenario.model import Area, LeftOut

if TYPE_CHECKING:
    from collections.abc import Callable

    from mci.pipeline import Run


def parts(content: bytes) -> dict[str, str]:
    """Return the parts of a workbook as text."""
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        return {name: packed.read(name).decode("utf-8") for name in packed.namelist()}


def test_a_sheet_for_every_table_cell_for_cell(planned_run: Run) -> None:
    """Numbers are numbers, text is text, and nothing is missing."""
    book = CalamineWorkbook.from_filelike(io.BytesIO(workbook_bytes(planned_run)))
    assert book.sheet_names == ["about", *TABLE_NAMES]
    for table in all_tables(planned_run):
        head, *rows = book.get_sheet_by_name(table.name).to_python()
        assert head == list(table.headers)
        assert len(rows) == len(table.rows)
        for read, written in zip(rows, table.rows, strict=True):
            assert read == ["" if cell is None else cell for cell in written]


def test_every_table_has_a_frozen_header_and_a_filter(planned_run: Run) -> None:
    """The first row stays in sight and every column can be filtered."""
    sheets = [text for name, text in parts(workbook_bytes(planned_run)).items() if "worksheets/sheet" in name]
    assert len(sheets) == 1 + len(TABLE_NAMES)
    tables = [text for text in sheets if 'topLeftCell="A2"' in text]
    assert len(tables) == len(TABLE_NAMES)
    assert all('state="frozen"' in text and "<autoFilter" in text for text in tables)


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "{=", "https://"])
def test_text_of_planners_is_stored_as_text(make_run: Callable[..., Run], sign: str) -> None:
    """No formula, no link, no macro: what looks like one is the text that it was."""
    name = f"{sign}HYPERLINK(1)"
    run = make_run(
        name=name, summary=name, areas=(Area("west", name), Area("east", name)),
        left_out=(LeftOut(name, "west", name),),
    )  # fmt: skip
    content = workbook_bytes(run)
    for part, text in parts(content).items():
        assert "<f>" not in text, part
        assert "<hyperlink" not in text, part
        assert "vba" not in part.lower()
    book = CalamineWorkbook.from_filelike(io.BytesIO(content))
    assert book.get_sheet_by_name("areas").to_python()[1] == ["west", name]


def test_equal_runs_give_equal_bytes(run: Run, same_run: Run) -> None:
    """The workbook holds no day of making."""
    assert workbook_bytes(run) == workbook_bytes(same_run)
    assert re.search(r"<dcterms:created[^>]*>2000-01-01", parts(workbook_bytes(run))["docProps/core.xml"])


def test_orders_are_the_same_in_every_file(planned_run: Run) -> None:
    """The rows of orders.csv, which replay reads, are those of the workbook and of plan.json."""
    ours = planned_run.executable
    assert ours is not None
    table = next(table for table in all_tables(planned_run) if table.name == "orders")
    head, *rows = csv.reader(io.StringIO(orders_text(ours.plan.orders, planned_run.scenario.start), newline=""))
    assert tuple(head) == HEADERS == table.headers
    assert rows == [["" if cell is None else str(cell) for cell in row] for row in table.rows]
