"""Reading a cache that was counted: every mistake at once, with its cell and what was meant."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest
from made_inventory import TRAILER, csv_of
from xlsxwriter import Workbook

from mci.errors import InputError
from mci.stocking.inspection_file import read_inventory

RIGHT = {"id": "1", "cylinder": "US E", "pressure": "2000 psi", "test date": "2024-05"}


def told(folder: Path, *tables: str) -> str:
    """Return what is told about CSV files."""
    paths = []
    for number, text in enumerate(tables):
        paths.append(folder / f"{number}.csv")
        paths[-1].write_text(text, encoding="utf-8", newline="")
    with pytest.raises(InputError) as error:
        read_inventory(paths)
    return str(error.value)


@pytest.mark.parametrize(
    ("column", "value", "message"),
    [
        (
            "cylinder",
            "US E aluminim",
            "cell B2): there is no cylinder of this name (found 'US E aluminim'). Did you mean 'US E aluminium'",
        ),
        ("cylinder", "E", "means different cylinders in different regions"),
        ("pressure", "2000", "cell C2): is not a gauge pressure: the unit is missing"),
        ("pressure", "-5 psi", "must not be negative"),
        ("test date", "May 2024", "cell D2): is not a date (such as 2026-05-01, or 2026-05 for a month)"),
        ("star", "maybe", "must be yes or no"),
        ("interval", "never", "must be whole years from 1 to 20"),
        ("valve", "pinindex", "is no valve that the catalogue knows (found 'pinindex'). Did you mean 'pin index'?"),
        ("gas model", "ideal gas", "Did you mean 'real gas'?"),
    ],
)
def test_mistake_in_a_cylinder_is_told_with_its_cell(tmp_path: Path, column: str, value: str, message: str) -> None:
    """Place, value, rule and fix."""
    text = told(tmp_path, csv_of([{**RIGHT, column: value}]))
    assert text.startswith("1 mistake found")
    assert message in text


@pytest.mark.parametrize(
    ("row", "message"),
    [
        ({"item": "nasal canula", "count": "3"}, "cell A2): there is no regulator, manifold or device of this name"),
        ({"item": "nasal canula", "count": "3"}, "'nasal cannula'"),
        ({"item": "yoke regulator 0-5 L/min", "count": "3"}, "'yoke regulator 0-15 L/min'"),
        ({"item": "wall outlet 50 psi", "count": "3"}, "is no regulator or manifold: it fits no cylinder"),
        ({"item": "simple mask", "count": "some"}, "cell B2): must be a whole number"),
        ({"item": "simple mask"}, "'count' is missing"),
        ({"item": "simple mask", "count": "2", "expiry": "soon"}, "is not a date"),
    ],
)
def test_mistake_in_equipment_is_told_with_its_cell(tmp_path: Path, row: dict[str, str], message: str) -> None:
    """The nearest names of regulators and devices are given."""
    text = told(tmp_path, csv_of([RIGHT]), csv_of([row], ("item", "count")))
    assert text.startswith("1 mistake found")
    assert message in text


def test_unknown_columns_are_told_once_with_what_was_meant(tmp_path: Path) -> None:
    """Also words of the trade for the same, and what is missing and not merely misspelt."""
    rows = [{"serial": "1", "cylinder": "US E", "gauge": "full", "test dat": "2024-05", "colour": "green"}] * 3
    text = told(tmp_path, csv_of(rows))
    assert text.startswith("4 mistakes found")
    assert "0.csv:1:1: there is no column of this name (found 'serial'). Did you mean 'id'?" in text
    assert "(found 'gauge'). Did you mean 'pressure'?" in text
    assert "(found 'test dat'). Did you mean 'test date'?" in text
    assert "(found 'colour'). Known: area, change, condition" in text
    assert "column 'pressure' is missing" in told(tmp_path, csv_of([{"id": "1", "cylinder": "x", "test date": "2024"}]))


def test_all_mistakes_of_all_files_are_told_at_once(tmp_path: Path) -> None:
    """Two in one file, one in the other, one in a file that is not there."""
    bad = csv_of([{**RIGHT, "pressure": "x"}, {**RIGHT, "test date": "y"}])
    (tmp_path / "c.csv").write_text(bad)
    (tmp_path / "e.csv").write_text("item,count\nmask,1\n")
    with pytest.raises(InputError) as error:
        read_inventory([tmp_path / "c.csv", tmp_path / "e.csv", tmp_path / "none.csv"])
    assert [(m.file, m.line) for m in error.value.mistakes] == [
        ("c.csv", 2),
        ("c.csv", 3),
        ("e.csv", 2),
        ("none.csv", 0),
    ]


@pytest.mark.parametrize("word", ["unreadable", "Illegible", "?", ""])
def test_what_cannot_be_read_on_the_thing_is_no_mistake(tmp_path: Path, word: str) -> None:
    """It is for the inspection to find."""
    row = dict.fromkeys(("id", "cylinder", "pressure", "test date"), word)
    (tmp_path / "c.csv").write_text(csv_of([{**row, "note": "on its side"}]))
    (tmp_path / "e.csv").write_text(csv_of([{"item": "simple mask", "count": "1", "expiry": word}]))
    inventory = read_inventory([tmp_path / "c.csv", tmp_path / "e.csv"])
    ((_, cylinder),) = inventory.cylinders
    assert (cylinder.id, cylinder.cylinder, cylinder.pressure, cylinder.test_date) == (None,) * 4
    assert inventory.equipment is not None
    assert inventory.equipment[0][1].expiry == ("unreadable" if word else None)


def test_sheets_of_a_workbook(tmp_path: Path) -> None:
    """Dates and counts may be real ones; a sheet of another name is passed over, and one of the two must be there."""
    path = tmp_path / "cache.xlsx"
    with Workbook(path) as book:
        day = book.add_format({"num_format": "yyyy-mm-dd"})
        book.add_worksheet("notes").write(0, 0, "anything")
        sheet = book.add_worksheet("Cylinders")
        for column, (name, value) in enumerate({**RIGHT, "interval": 10}.items()):
            sheet.write(0, column, name)
            sheet.write(1, column, value)
        sheet.write_datetime(1, 3, datetime.datetime(2024, 5, 17), day)
    ((listed, row),) = read_inventory([path]).cylinders
    assert (listed.file, listed.row) == ("cache.xlsx, sheet Cylinders", 2)
    assert (row.test_date, row.interval) == (datetime.date(2024, 5, 17), 10)
    assert read_inventory([path]).equipment is None
    other = tmp_path / "other.xlsx"
    with Workbook(other) as book:
        book.add_worksheet("list")
    with pytest.raises(InputError, match=r"has neither a sheet 'cylinders' nor 'equipment'\. Sheets: list"):
        read_inventory([other])


def test_file_that_is_no_inventory_is_told(tmp_path: Path) -> None:
    """Neither columns nor ending fit, or there are no cylinders."""
    assert "has no column of an inventory" in told(tmp_path, "a,b\n1,2\n")
    assert "lists no cylinders" in told(tmp_path, "item,count\nsimple mask,1\n")
    (tmp_path / "c.ods").write_bytes(b"")
    with pytest.raises(InputError, match=r"is neither \.xlsx nor \.csv"):
        read_inventory([tmp_path / "c.ods"])


def test_pressures_are_written_as_in_the_files(tmp_path: Path) -> None:
    """In bar where most gauges are; the hash is that of what is in the files, whatever they are called."""
    assert not read_inventory([TRAILER]).metric
    for name in ("c.csv", "d.csv"):
        (tmp_path / name).write_text(csv_of([{**RIGHT, "pressure": "137 bar"}]))
    one, other = (read_inventory([tmp_path / name]) for name in ("c.csv", "d.csv"))
    assert one.metric
    assert one.sha256 == other.sha256 != read_inventory([TRAILER]).sha256
