"""Rosters and inventories from CSV and XLSX files as spreadsheet programs really write them."""

from __future__ import annotations

import datetime
import io

import pytest
import xlsxwriter

from mci.errors import InputError
from mci.scenario import read_scenario

HEADER = ["patient", "category", "area", "ladder", "arrive", "leave"]
ROSTER = ",".join(HEADER) + "\n101,delayed,west,low need,T+20,T+90\n102,immediate,east,low need,14:50,\n"


def _with_roster(right: str, name: str, more: str = "") -> str:
    return right.replace("supplies:\n", f"  - {{roster: {name}{more}}}\nsupplies:\n")


def _workbook(rows, sheet="People"):
    stream = io.BytesIO()
    book = xlsxwriter.Workbook(stream, {"in_memory": True})
    page = book.add_worksheet(sheet)
    for y, row in enumerate(rows):
        for x, cell in enumerate(row):
            if isinstance(cell, str) and cell.startswith("="):
                page.write_formula(y, x, cell, None, "")
            elif isinstance(cell, datetime.date):
                page.write_datetime(y, x, cell, book.add_format({"num_format": "yyyy-mm-dd"}))
            elif isinstance(cell, datetime.time):
                page.write_datetime(y, x, cell, book.add_format({"num_format": "hh:mm"}))
            else:
                page.write(y, x, cell)
    book.close()
    return stream.getvalue()


@pytest.mark.parametrize(
    "content",
    [
        ROSTER,
        "\ufeff" + ROSTER,
        ROSTER.replace(",", ";"),
        ROSTER.replace(",", "\t"),
        ROSTER.replace("\n", "\r\n"),
        "\n" + ROSTER.replace("\n1", "\n,,,,,\n1"),
        ROSTER.replace("patient,category", " Patient , CATEGORY "),
    ],
    ids=["plain", "byte order mark", "semicolons", "tabs", "crlf", "empty rows", "spaces and capitals"],
)
def test_csv_of_every_make_reads_alike(write, right, content):
    """Byte order mark, semicolons, tabs, line ends and empty rows make no difference."""
    scenario = read_scenario(write(_with_roster(right, "r.csv"), r__csv=content))
    assert [p.label for p in scenario.patients[2:]] == ["101", "102"]
    assert [p.arrival.at for p in scenario.patients[2:]] == [20, 15]


def test_workbook_numbers_and_times_become_text(write, right):
    """An id of 101 stays 101 and not 101.0, and a time cell is a clock time."""
    rows = [HEADER, [101, "delayed", "west", "low need", datetime.time(14, 50), "T+90"]]
    scenario = read_scenario(write(_with_roster(right, "r.xlsx", ", sheet: People"), r__xlsx=_workbook(rows)))
    assert scenario.patients[2].label == "101"
    assert scenario.patients[2].arrival.at == 15


def test_formula_without_value_is_missing(write, right):
    """A formula that no program has calculated is a missing value, never a zero."""
    rows = [HEADER, [101, "delayed", "west", "low need", '="T+"&20', "T+90"]]
    with pytest.raises(InputError) as caught:
        read_scenario(write(_with_roster(right, "r.xlsx"), r__xlsx=_workbook(rows)))
    (mistake,) = caught.value.mistakes
    assert "'arrive' is missing" in mistake.rule
    assert mistake.path == "row 2, column arrive (cell E2)"


@pytest.mark.parametrize(
    ("name", "content", "more", "rule"),
    [
        ("r.csv", b"", "", "is empty"),
        ("r.csv", b"\xff\xfea", "", "is not UTF-8 text"),
        ("r.csv", b'a,b\n"x', "", "not readable as CSV"),
        ("r.csv", b"patient,patient\n1,2\n", "", "column 'patient' is there twice"),
        ("r.xlsx", b"PK no", "", "is not an XLSX workbook"),
        ("r.xlsx", _workbook([HEADER]), ", sheet: Gone", "there is no sheet 'Gone'"),
    ],
)
def test_file_that_is_no_table_is_refused(write, right, name, content, more, rule):
    """Whatever the bytes, the answer is a mistake in words."""
    with pytest.raises(InputError) as caught:
        read_scenario(write(_with_roster(right, name, more), **{name.replace(".", "__"): content}))
    assert [rule in m.rule for m in caught.value.mistakes] == [True]


def test_unknown_column_names_the_nearest(write, right):
    """A column that is no word of a patient is a mistake, like a key in the scenario."""
    content = ROSTER.replace("leave", "laeve")
    with pytest.raises(InputError) as caught:
        read_scenario(write(_with_roster(right, "r.csv"), r__csv=content))
    assert {m.fix for m in caught.value.mistakes} == {"Did you mean 'leave'?"}


def test_name_used_twice_is_told_with_both_places(write, right):
    """A patient of the roster may not have a name that was used before."""
    with pytest.raises(InputError) as caught:
        read_scenario(write(_with_roster(right, "r.csv"), r__csv=ROSTER.replace("102", "A")))
    (mistake,) = caught.value.mistakes
    assert (mistake.file, mistake.line, mistake.value) == ("r.csv", 3, "A")
    assert "line 8" in mistake.fix


def test_files_outside_the_folder_are_not_opened(write, right, tmp_path):
    """A link that leads out of the folder is refused even if its name is plain."""
    outside = tmp_path.parent / f"{tmp_path.name}-outside.csv"
    outside.write_text(ROSTER, encoding="utf-8")
    try:
        (tmp_path / "r.csv").symlink_to(outside)
    except OSError:
        pytest.skip("no symbolic links here")
    with pytest.raises(InputError, match="must lie in the folder"):
        read_scenario(write(_with_roster(right, "r.csv")))
