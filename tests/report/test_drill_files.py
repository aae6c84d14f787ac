"""Files of a packet: everything announced, readable again, safe to open, the same bytes for the same drill."""

from __future__ import annotations

import csv
import dataclasses
import io
import json
import zipfile
from pathlib import Path

import pytest
from made_drill import EVIL, evil_drill, made_drill
from python_calamine import CalamineWorkbook

from mci.drills.criteria import load_criteria
from mci.drills.read_log import read_log
from mci.errors import UsageError
from mci.plan.table import read_orders
from mci.report.debrief_tables import DATA_FOLDER
from mci.report.drill_files import drill_files
from mci.report.drill_players import LOG_HEADERS
from mci.report.drill_tables import DRILL_TABLES, LOG_COLUMNS, drill_tables
from mci.report.files import put_files
from mci.report.target import DRILL_NAMES, check_target


@pytest.fixture(scope="module")
def files() -> dict[str, str | bytes]:
    """The files of the drill."""
    return drill_files(made_drill())


def rows_of(text: str | bytes) -> list[dict[str, str]]:
    """Read a CSV file as a program would."""
    assert isinstance(text, str)
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_everything_announced_is_written(files: dict[str, str | bytes]) -> None:
    """A sheet for each reader, a workbook, the exercise last, and a table of each kind."""
    outer = [name for name in files if "/" not in name]
    assert {*outer, DATA_FOLDER} == set(DRILL_NAMES)
    inner = {name.partition("/")[2] for name in files if "/" in name}
    assert inner == {*(f"{name}.csv" for name in DRILL_TABLES), "results.json"}
    assert list(files)[-1] == "exercise.yaml"
    assert files["exercise.yaml"] == made_drill().exercise_text


def test_same_drill_same_bytes(files: dict[str, str | bytes]) -> None:
    """Made again, timings differing, nothing changes; the workbook neither."""
    drill = made_drill()
    slower = dataclasses.replace(drill.provenance, timings={"all_s": 99.0})
    assert drill_files(dataclasses.replace(drill, provenance=slower)) == files


def test_tables_hold_every_row() -> None:
    """Casualties, stages, events, objectives, decisions, orders, moments, criteria."""
    drill = made_drill()
    made = {table.name: table.rows for table in drill_tables(drill)}
    assert tuple(made) == DRILL_TABLES
    counts = {
        "casualties": len(drill.casualties),
        "stages": sum(len(card.stages) for card in drill.casualties),
        "needs": sum(len(card.needs) for card in drill.casualties),
        "events": len(drill.events),
        "objectives": len(drill.objectives),
        "decisions": len(drill.decisions),
        "orders": len(drill.best.plan.orders),
        "over_time": len(drill.over_time),
        "criteria": len(load_criteria()),
        "log-sheet": 0,
    }
    assert {name: len(made[name]) for name in counts} == counts


def test_headers_are_their_own_and_say_units() -> None:
    """Nothing that has a unit is without."""
    for table in drill_tables(made_drill()):
        assert len(set(table.headers)) == len(table.headers)
        bare = {"time_", "arrive", "leave", "spo2", "breaths", "pulse", "worth", "need_", "credit", "psi", "flow"}
        assert not bare & set(table.headers)


def test_orders_of_the_key_are_read_again(files: dict[str, str | bytes], tmp_path: Path) -> None:
    """By the reader of orders, from the file and from the workbook alike."""
    put_files(files, tmp_path / "packet")
    orders = read_orders(tmp_path / "packet" / DATA_FOLDER / "orders.csv")
    assert len(orders) == len(made_drill().best.plan.orders)
    assert [o.patient for o in orders] == [o.patient for o in made_drill().best.plan.orders]
    assert len(read_orders(tmp_path / "packet" / "packet.xlsx")) == len(orders)


def test_workbook_has_the_same_cells(files: dict[str, str | bytes]) -> None:
    """A sheet each, behind one that says that it is exercise data."""
    content = files["packet.xlsx"]
    assert isinstance(content, bytes)
    book = CalamineWorkbook.from_filelike(io.BytesIO(content))
    assert book.sheet_names == ["about", *DRILL_TABLES]
    assert any("Exercise data, invented" in str(cell) for row in book.get_sheet_by_name("about").to_python()
               for cell in row)  # fmt: skip
    for table in drill_tables(made_drill()):
        assert tuple(book.get_sheet_by_name(table.name).to_python()[0]) == table.headers


def test_nothing_hostile_is_run() -> None:
    """Texts that look like formulas are text in CSV, plain strings in the workbook, and themselves in JSON."""
    files = drill_files(evil_drill())
    for name, content in files.items():
        if name.endswith(".csv"):
            assert not any(
                cell.startswith(("=", "+", "@")) for row in rows_of(content) for cell in row.values() if cell
            )
    content = files["packet.xlsx"]
    assert isinstance(content, bytes)
    with zipfile.ZipFile(io.BytesIO(content)) as book:
        sheets = [book.read(name) for name in book.namelist() if name.startswith("xl/worksheets/")]
    assert sheets
    assert not any(b"<f>" in sheet or b"<hyperlink" in sheet for sheet in sheets)
    record = json.loads(files[f"{DATA_FOLDER}/results.json"])
    assert record["incident"]["name"] == EVIL
    assert record["statement"].startswith("Exercise data, invented")


def test_results_are_plain_numbers(files: dict[str, str | bytes]) -> None:
    """What was measured can be had without reading words."""
    record = json.loads(files[f"{DATA_FOLDER}/results.json"])
    hard = made_drill().difficulty
    assert record["format"] == "mci drill"
    assert record["drill"]["lost_share"] == hard.lost
    assert record["drill"]["level"] == "moderate"
    assert "timings" not in record["provenance"]
    assert set(record["tables"]) == set(DRILL_TABLES)


def test_a_packet_may_be_replaced_but_not_what_was_put_beside_it(files: dict[str, str | bytes], tmp_path: Path) -> None:
    """A team's log in the same folder, or among the tables, is never deleted."""
    packet = put_files(files, tmp_path / "packet")
    check_target(packet, force=True)
    with pytest.raises(UsageError, match="--force"):
        check_target(packet, force=False)
    for name in ("log.csv", f"{DATA_FOLDER}/log.csv"):
        (packet / name).write_text("time,action", encoding="utf-8")
        with pytest.raises(UsageError, match=r"log\.csv"):
            check_target(packet, force=True)
        (packet / name).unlink()


@pytest.mark.parametrize("headers", [LOG_HEADERS, LOG_COLUMNS], ids=["paper", "file"])
def test_a_log_on_our_sheet_is_read(headers: tuple[str, ...], tmp_path: Path) -> None:
    """Typed as it stands on paper, by marks and the words of the sheet: nothing is strange, nothing is left out."""
    lines = [
        ("09:13", "change cylinder", "", "", "", "C1", "R1", "Staff 1", ""),
        ("09:16", "connect", "P01", "Non-rebreather mask", "15", "C1", "R1", "", ""),
        ("T+20", "step down", "P01", "Simple face mask", "6", "", "", "", "C1 reads 700 psi"),
        ("09:40", "disconnect", "P01", "", "", "", "", "", "leaves"),
    ]
    file = tmp_path / "log.csv"
    with file.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows([headers, *lines])
    log = read_log(file, made_drill().briefed)
    assert (log.read, log.left_out) == (4, 0)
    assert [order.action for order in log.orders] == ["change cylinder", "connect", "step down", "disconnect"]
    assert [order.minute for order in log.orders] == [3, 6, 20, 30]
