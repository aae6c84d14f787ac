"""The files of a debrief: whole, the same each time, with the numbers of the page, and nobody named."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from pathlib import Path
from typing import Any

import pytest
from made_debrief import made_debrief
from python_calamine import CalamineWorkbook

from mci.errors import UsageError
from mci.plan.table import read_orders
from mci.report.debrief_files import debrief_files, debrief_json
from mci.report.debrief_tables import DATA_FOLDER, DEBRIEF_TABLES, ORDER_TABLES, debrief_tables
from mci.report.files import put_files
from mci.report.target import DEBRIEF_NAMES, check_target

FILES = debrief_files(made_debrief())


def _text(name: str) -> str:
    content = FILES[name]
    assert isinstance(content, str)
    return content


def _workbook() -> bytes:
    content = FILES["debrief.xlsx"]
    assert isinstance(content, bytes)
    return content


def _rows(name: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(_text(f"{DATA_FOLDER}/{name}.csv"))))


def test_files_are_those_that_are_promised() -> None:
    """Names of tables, orders, workbook, JSON and page."""
    assert {name.split("/")[0] for name in FILES} == set(DEBRIEF_NAMES)
    inside = {name.split("/")[1] for name in FILES if "/" in name}
    assert inside == {f"{name}.csv" for name in DEBRIEF_TABLES}
    assert [table.name for table in debrief_tables(made_debrief())] == list(DEBRIEF_TABLES)


def test_same_debrief_same_bytes() -> None:
    """Nothing depends on the clock, or on what was written before."""
    made_debrief.cache_clear()
    assert debrief_files(made_debrief()) == FILES


def test_losses_sum_to_the_whole_in_the_files() -> None:
    """By stretch, by cause and by category: all sum to what was possible at most less what was reached."""
    reached = {row["plan"]: row["weighted_credit_min"] for row in _rows("reached")}
    whole = float(reached["at most"]) - float(reached["team"])
    for name in ("stretches", "losses", "causes"):
        assert sum(float(row["lost_weighted_credit_min"]) for row in _rows(name)) == pytest.approx(whole, abs=1e-4)
    assert sum(float(row["lost_share"]) for row in _rows("causes")) == pytest.approx(1.0, abs=1e-4)


def test_json_has_the_same_tables_and_no_nan() -> None:
    """Whatever is in the CSV files is in the JSON, which any program can read."""

    def refuse(word: str) -> float:
        raise AssertionError(word)

    record: dict[str, Any] = json.loads(_text("results.json"), parse_constant=refuse)
    assert set(record["tables"]) == {*DEBRIEF_TABLES, *ORDER_TABLES}
    for name in DEBRIEF_TABLES:
        rows = _rows(name)
        assert len(rows) == len(record["tables"][name]["rows"])
        if rows:
            assert list(rows[0]) == record["tables"][name]["columns"]
    assert debrief_json(made_debrief()) == FILES["results.json"]


def test_nobody_is_named_in_any_file() -> None:
    """No column says who, where one must stand it is empty, and no name of the log is kept."""
    for name, content in FILES.items():
        if isinstance(content, str):
            assert "Somebody Real" not in content, name
            assert "field staff" not in content, name
    for name in ORDER_TABLES:
        assert all(row["by"] == "" for row in csv.DictReader(io.StringIO(_text(f"{name}.csv"))))
    book = CalamineWorkbook.from_filelike(io.BytesIO(_workbook()))
    assert book.sheet_names == ["about", *DEBRIEF_TABLES, *ORDER_TABLES]
    for name in book.sheet_names:
        values = [str(cell) for row in book.get_sheet_by_name(name).to_python() for cell in row]
        assert "by" not in values
        assert not any("field staff" in value or "Somebody Real" in value for value in values)


def test_orders_can_be_read_back(tmp_path: Path) -> None:
    """Team and best plan, order by order, as any file of orders."""
    found = made_debrief()
    for name, judged in zip(ORDER_TABLES, (found.team, found.best), strict=True):
        file = tmp_path / f"{name}.csv"
        file.write_text(_text(f"{name}.csv"), encoding="utf-8", newline="")
        orders = read_orders(file)
        assert [(o.action, o.patient, o.supply) for o in orders] == [
            (o.action, o.patient, o.supply) for o in judged.plan.orders
        ]


def test_no_cell_is_a_formula() -> None:
    """What a log says is text, in CSV and in the workbook."""
    (row,) = [row for row in _rows("log_remarks") if row["kind"] == "left out"]
    assert row["written"] != "=C9"
    assert "=C9" in row["written"]
    with zipfile.ZipFile(io.BytesIO(_workbook())) as packed:
        assert not any(b"<f>" in packed.read(name) for name in packed.namelist())


def test_earlier_results_are_replaced_and_nothing_else(tmp_path: Path) -> None:
    """With force whole results give way, but no foreign file, also not one among the tables."""
    folder = put_files(FILES, tmp_path / "out")
    with pytest.raises(UsageError, match="already holds results"):
        check_target(folder, force=False)
    check_target(folder, force=True)
    (folder / DATA_FOLDER / "mine.csv").write_text("keep", encoding="utf-8")
    with pytest.raises(UsageError, match=r"mine\.csv"):
        check_target(folder, force=True)
