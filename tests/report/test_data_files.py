"""CSV and JSON: units in the headers, no formulas, equal bytes for equal runs."""

from __future__ import annotations

import csv
import dataclasses
import io
import json
from typing import TYPE_CHECKING

import pytest

from mci.report.data_files import csv_text, json_text
from mci.report.rosters import ROSTER_NAMES
from mci.report.table import Table, plain
from mci.report.tables import TABLE_NAMES, all_tables
from mci.scenario.model import LeftOut

if TYPE_CHECKING:
    from collections.abc import Callable

    from mci.pipeline import Run

UNITS = ("_min", "_L", "_psi", "_C", "_share", "_patients", "_L_per_min", "_quantity")
#: Words, keys and plain counts, which have no unit of their own.
WORDS = {
    "category", "patients", "area", "ladder", "rung", "device", "setting", "lot", "resource", "one_more", "goal",
    "item", "unit", "quantity", "title", "label", "kind", "gas_model", "delivery", "what", "why", "value", "basis",
    "source", "plan", "cylinder_changes", "moves", "step_downs", "withdrawals",
    "clock", "action", "patient", "supply", "regulator", "by", "reason",
}  # fmt: skip


def test_every_quantity_has_its_unit_in_the_header(run: Run) -> None:
    """A header is a word of the list or ends in a unit."""
    for table in all_tables(run):
        if table.name not in ROSTER_NAMES:  # the columns of scenario files, whose cells carry their units
            assert [h for h in table.headers if h not in WORDS and not h.endswith(UNITS)] == [], table.name


def test_tables_are_those_announced(run: Run) -> None:
    """The names that may be replaced by --force are the names that are written."""
    assert tuple(table.name for table in all_tables(run)) == TABLE_NAMES


def test_tables_of_a_calm_run_keep_their_headers(run: Run, calm_run: Run) -> None:
    """An empty table still has all its columns."""
    assert [table.headers for table in all_tables(calm_run)] == [table.headers for table in all_tables(run)]


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t", "\r"])
def test_text_is_never_a_formula(make_run: Callable[..., Run], sign: str) -> None:
    """A name that a spreadsheet would run gets an apostrophe; a negative number stays a number."""
    run = make_run(left_out=(LeftOut(f"{sign}cmd|' /C calc'!A0", "west", "x"),))
    table = next(table for table in all_tables(run) if table.name == "left_out")
    row = list(csv.reader(io.StringIO(csv_text(table), newline="")))[1]
    assert row[0] == f"'{sign}cmd|' /C calc'!A0"
    assert csv_text(Table("t", ("x_min",), ((-1.5,),))) == "x_min\r\n-1.5\r\n"


def test_json_round_trip_holds_every_table(run: Run) -> None:
    """plan.json read back has every table cell for cell, and the provenance."""
    record = json.loads(json_text(run))
    assert record["format"] == "mci plan"
    assert record["provenance"]["scenario_sha256"] == run.scenario.sha256
    for table in all_tables(run):
        stored = record["tables"][table.name]
        assert stored["columns"] == list(table.headers)
        assert [tuple(row) for row in stored["rows"]] == list(table.rows)


def test_equal_runs_give_equal_bytes_apart_from_timings(run: Run, same_run: Run) -> None:
    """Timings are told in provenance.timings of plan.json and nowhere else."""
    slower = dataclasses.replace(run, provenance=dataclasses.replace(run.provenance, timings={"solve": 9.9}))
    first, second = json.loads(json_text(same_run)), json.loads(json_text(slower))
    assert json_text(same_run) == json_text(run)
    assert first.pop("provenance") != second.pop("provenance")
    assert first == second


def test_plain_cells() -> None:
    """No number is None, no limit is inf, and the solver's last bits are cut."""
    assert [plain(value) for value in (float("nan"), float("inf"), 2.0000000001, 0.1 + 0.2, "NA", True)] == [
        None, "inf", 2, 0.3, "NA", 1,
    ]  # fmt: skip


def test_windows_of_the_plan_are_a_table(run: Run, planned_run: Run) -> None:
    """``plan_windows`` has the columns of ``shortage_windows`` and whole patients; no rows where there is no plan."""
    tables = {table.name: table for table in all_tables(planned_run)}
    windows = tables["plan_windows"]
    assert windows.headers == tables["shortage_windows"].headers
    assert windows.rows[0][:7] == ("west", "immediate", 0, 180, 9, 9, 0)
    assert next(table for table in all_tables(run) if table.name == "plan_windows").rows == ()
