"""Results of a resupply plan: whole or not at all, announced names only, read back as they were written."""

from __future__ import annotations

import csv
import dataclasses
import datetime
import io
import json
from pathlib import Path

import pytest
from made_resupply import made_resupply
from test_data_files import UNITS, WORDS

from mci.errors import UsageError
from mci.plan.trip_table import read_trips
from mci.replay.verdict import Finding
from mci.report.resupply_files import resupply_files, resupply_json, write_resupply_results
from mci.report.resupply_tables import PLAN_TABLES, RESUPPLY_TABLES, resupply_tables
from mci.report.target import RESUPPLY_NAMES

DAY = datetime.date(2026, 3, 2)
MORE_WORDS = WORDS | {
    "trip", "vehicle", "from", "to", "brings", "key", "line", "type", "detailed_item_description",
    "requested_delivery_location", "suitable_substitutes", "suggested_source", "priority", "weighted",
}  # fmt: skip


def test_writes_the_announced_files(tmp_path: Path) -> None:
    """With a date every announced file is there and nothing else, in a folder that was made."""
    write_resupply_results(made_resupply(), tmp_path / "a" / "b", day=DAY)
    assert sorted(entry.name for entry in (tmp_path / "a" / "b").iterdir()) == sorted(RESUPPLY_NAMES)
    assert [entry.name for entry in (tmp_path / "a").iterdir()] == ["b"]


def test_the_message_needs_a_date_and_the_page_says_so() -> None:
    """Without a date there is no request.xml, and a note tells why; with one the note names the time."""
    without, with_date = resupply_files(made_resupply()), resupply_files(made_resupply(), DAY)
    assert set(with_date) - set(without) == {"request.xml"}
    assert "request.xml is not written" in str(without["report.html"])
    assert "2026-03-02 07:50" in str(with_date["report.html"])


def test_existing_results_need_force_and_others_are_never_replaced(tmp_path: Path) -> None:
    """Earlier results are replaced with force only, folders with other files never."""
    folder = tmp_path / "out"
    write_resupply_results(made_resupply(), folder)
    with pytest.raises(UsageError, match="--force"):
        write_resupply_results(made_resupply(), folder)
    write_resupply_results(made_resupply(), folder, force=True, day=DAY)
    (folder / "thesis.txt").write_text("x", encoding="utf-8")
    with pytest.raises(UsageError, match=r"thesis\.txt"):
        write_resupply_results(made_resupply(), folder, force=True)


def test_equal_runs_give_equal_files() -> None:
    """Two writes of the same plan agree byte for byte."""
    assert resupply_files(made_resupply(), DAY) == resupply_files(made_resupply(), DAY)


def test_trips_are_read_back_as_planned(tmp_path: Path) -> None:
    """trips.csv holds the planned trips, trips_latest.csv the latest ones."""
    write_resupply_results(made_resupply(), tmp_path / "out")
    schedule = made_resupply().schedule
    assert read_trips(tmp_path / "out" / "trips.csv") == schedule.planned
    assert read_trips(tmp_path / "out" / "trips_latest.csv") == schedule.latest


def test_impossible_trips_are_not_handed_out() -> None:
    """Where replay objects, the tables of trips and of the request have headers only."""
    impossible = dataclasses.replace(made_resupply(), findings=(Finding("load", 1, 20.0, "too heavy"),))
    files = resupply_files(impossible, DAY)
    assert "request.xml" not in files
    for name in ("trips.csv", "trips_latest.csv", "request.csv"):
        assert str(files[name]).count("\r\n") == 1
    assert "too heavy" in str(files["resupply.json"])


def test_every_quantity_has_its_unit_in_the_header() -> None:
    """A header is a known word or ends in a unit; clocks end in clock."""
    for table in resupply_tables(made_resupply()):
        strange = [h for h in table.headers if h not in MORE_WORDS and not h.endswith((*UNITS, "_clock"))]
        assert strange == [], table.name
    assert tuple(table.name for table in resupply_tables(made_resupply())) == (*RESUPPLY_TABLES, *PLAN_TABLES)


def test_json_holds_every_table() -> None:
    """resupply.json read back has every table cell for cell, and no infinity."""
    record = json.loads(resupply_json(made_resupply()))
    assert record["format"] == "mci resupply"
    for table in resupply_tables(made_resupply()):
        assert [tuple(row) for row in record["tables"][table.name]["rows"]] == list(table.rows)


def test_request_table_has_the_lines_of_the_page() -> None:
    """One row per line, numbered from 1."""
    rows = list(csv.reader(io.StringIO(str(resupply_files(made_resupply())["request.csv"]), newline="")))
    assert [row[0] for row in rows[1:]] == ["1", "2", "3", "4", "5", "6"]
    assert rows[1][1:4] == ["6", "cylinder", "EU 10L 200 bar"]
