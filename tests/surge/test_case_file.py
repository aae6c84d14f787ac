"""Cases named in a table are read, and every mistake is told with row and column."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
import xlsxwriter
from made_numbers import number

from mci.errors import InputError
from mci.scenario.numbers import NumberKind
from mci.surge.case_file import read_cases
from mci.surge.cases import Case

if TYPE_CHECKING:
    from pathlib import Path

KINDS = {"patients.Lounge.count": NumberKind.COUNT, "truck.delay": NumberKind.DELAY, "gauge": NumberKind.SHARE}
NUMBERS = {path: number(path, kind) for path, kind in KINDS.items()}
ROWS = [
    ["case", "Patients.lounge.count", "truck.delay", "gauge"],
    ["bad night", "12", "30 min", "0.5"],
    ["late truck", "", "1 h 30", ""],
    ["as ever", "", "", ""],
]
CASES = (
    Case("bad night", {"patients.Lounge.count": "12", "truck.delay": "30 min", "gauge": "0.5"}),
    Case("late truck", {"truck.delay": "1 h 30"}),
    Case("as ever", {}),
)


def _csv(path: Path, rows: list[list[str]]) -> Path:
    path.write_text("".join(",".join(row) + "\n" for row in rows), encoding="utf-8")
    return path


def test_csv_and_workbook_say_the_same(tmp_path: Path) -> None:
    """A row is a case, an empty cell is as written; a workbook with numbers in its cells reads like the CSV file."""
    assert read_cases(_csv(tmp_path / "cases.csv", ROWS), NUMBERS) == CASES
    with xlsxwriter.Workbook(tmp_path / "cases.xlsx") as book:
        sheet = book.add_worksheet()
        for place, row in enumerate(ROWS):
            for column, text in enumerate(row):
                sheet.write(place, column, float(text) if text in ("12", "0.5") else text)
    assert read_cases(tmp_path / "cases.xlsx", NUMBERS) == CASES


def test_every_mistake_is_told(tmp_path: Path) -> None:
    """Wrong columns, names and values are all told at once, each at its cell."""
    rows = [
        ["case", "patients.lounge.count", "truck.delai"],
        ["one", "1.5", "5"],
        ["one", "2", ""],
        ["", "3", ""],
        ["As written", "4", ""],
    ]
    with pytest.raises(InputError) as caught:
        read_cases(_csv(tmp_path / "cases.csv", rows), NUMBERS)
    told = [f"{mistake.path}: {mistake.rule}" for mistake in caught.value.mistakes]
    assert told == [
        "row 1, column truck.delai (cell C1): is not the path of a number",
        "row 2, column patients.lounge.count (cell B2): is not a whole number",
        "row 3, column case (cell A3): names two cases",
        "row 4, column case (cell A4): a case needs a name",
        "row 5, column case (cell A5): is the name of the scenario itself",
    ]
    assert "Did you mean 'truck.delay'?" in str(caught.value)


def test_table_without_names_or_rows(tmp_path: Path) -> None:
    """Without the column of names, or without rows, there are no cases."""
    with pytest.raises(InputError, match="the column 'case' is missing"):
        read_cases(_csv(tmp_path / "a.csv", [["gauge"], ["1"]]), NUMBERS)
    with pytest.raises(InputError, match="holds no cases"):
        read_cases(_csv(tmp_path / "b.csv", [["case", "gauge"]]), NUMBERS)
