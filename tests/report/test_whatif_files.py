"""Files of studies: every number to its last digit, no formula, put beside the journal without touching it."""

from __future__ import annotations

import csv
import dataclasses
import io
import json
import math
from pathlib import Path

import pytest
from made_surge import ARRIVALS, DELAY, NUMBERS, made_risk, made_whatif

from mci.errors import UsageError
from mci.report.beside_cases import BESIDE_NAME, MOST, case_name
from mci.report.files import add_files
from mci.report.risk_files import risk_files
from mci.report.study_tables import measure_header
from mci.report.target import STUDY_NAMES, check_target
from mci.report.whatif_files import whatif_files
from mci.surge.journal import JOURNAL_NAME
from mci.surge.measures import MEASURES


def rows_of(text: str | bytes) -> list[dict[str, str]]:
    """Read a CSV file as a program would."""
    assert isinstance(text, str)
    return list(csv.DictReader(io.StringIO(text, newline="")))


def same(written: str, value: object) -> bool:
    """Whether a cell says a value of a data frame, to its last bit."""
    if isinstance(value, str):
        return written == value
    number = float(value)  # type: ignore[arg-type]
    return written == "" if math.isnan(number) else float(written) == number


def test_each_study_writes_what_is_announced() -> None:
    """Besides its journal; the report is the last to be put in place."""
    whatif, risk = list(whatif_files(made_whatif())), list(risk_files(made_risk()))
    beside = {BESIDE_NAME, *(case_name(place) for place in range(MOST))}
    assert set(whatif) | set(risk) == set(STUDY_NAMES) - beside
    assert beside <= set(STUDY_NAMES)
    assert whatif[-1] == risk[-1] == "report.html"


def test_cases_are_written_to_their_last_digit() -> None:
    """One row a case, in order, all columns, with units at the head."""
    found = made_whatif(NUMBERS, "one by one")
    rows = rows_of(whatif_files(found)["cases.csv"])
    assert len(rows) == len(found.table)
    assert "deliveries.valley depot van.delay [min]" in rows[0]
    assert "supplies.share [share]" in rows[0]
    for row, case in zip(rows, found.table.to_dict("records"), strict=True):
        assert row["case"] == case["case"]
        assert same(row[f"{DELAY.path} [min]"], case[DELAY.path])
        assert all(same(row[measure_header(measure)], case[measure.name]) for measure in MEASURES)


def test_samples_and_statistics_are_written_to_their_last_digit() -> None:
    """Every row of every table of the study, with the unit beside the measure."""
    found = made_risk()
    files = risk_files(found)
    for name, frame in (
        ("summary", found.summary),
        ("convergence", found.convergence),
        ("exceedance", found.exceedance),
    ):
        rows = rows_of(files[f"{name}.csv"])
        assert len(rows) == len(frame)
        for row, wanted in zip(rows, frame.to_dict("records"), strict=True):
            assert all(same(row[str(column)], value) for column, value in wanted.items())
    units = {row["measure"]: row["unit"] for row in rows_of(files["summary.csv"])}
    assert units["best_share"] == "share"
    assert units["best_without_min"] == "patient-min"
    samples = rows_of(files["samples.csv"])
    assert [row["replicate"] for row in samples] == [str(value) for value in found.table["replicate"]]
    drivers = rows_of(files["drivers.csv"])
    assert [float(row["total_share"]) for row in drivers] == found.drivers["total"].tolist()


def test_headers_of_measures_are_their_own_and_end_in_the_unit() -> None:
    """No two measures share a header."""
    headers = [measure_header(measure) for measure in MEASURES]
    assert len(set(headers)) == len(headers)
    ends = {"share": "_share", "min": "_min", "patient-min": "_patient_min", "weighted patient-min": "_patient_min"}
    assert all(h.endswith(ends.get(m.unit, "")) for h, m in zip(headers, MEASURES, strict=True))


def test_no_cell_is_a_formula() -> None:
    """Names that a planner wrote, at the head and in rows, are text to a spreadsheet."""
    path = "=cmd()"
    found = made_whatif()
    renamed = dataclasses.replace(
        found,
        numbers=(dataclasses.replace(ARRIVALS, path=path),),
        table=found.table.rename(columns={ARRIVALS.path: path}).replace("oxygen at South portal", "+SUM(1)"),
        swings=found.swings.replace(ARRIVALS.path, path),
        breaks=found.breaks.replace(ARRIVALS.path, path).replace("regulators, not oxygen", "@x"),
    )
    for name, text in whatif_files(renamed).items():
        if name.endswith(".csv"):
            assert isinstance(text, str)
            cells = [cell for row in csv.reader(io.StringIO(text, newline="")) for cell in row]
            assert not [cell for cell in cells if cell.startswith(("=", "+", "@"))]
            assert any(cell.startswith("'=") for cell in cells)


@pytest.mark.parametrize("kind", ["whatif", "risk"])
def test_json_says_where_it_comes_from(kind: str) -> None:
    """Provenance with overrides and seed; the tables of the CSV files; equal studies differ in timings alone."""
    found, make, name = (
        (made_whatif(), whatif_files, "whatif.json") if kind == "whatif" else (made_risk(), risk_files, "risk.json")
    )
    slower = dataclasses.replace(found, provenance=dataclasses.replace(found.provenance, timings={"all_s": 99.0}))
    one, other = (json.loads(make(each)[name]) for each in (found, slower))  # type: ignore[operator]
    assert one["provenance"]["settings"] == {"vary": "made by hand", "seed": 7}
    assert one["provenance"].pop("timings") != other["provenance"].pop("timings")
    assert one == other
    table = one["tables"]["cases" if kind == "whatif" else "samples"]
    assert len(table["rows"]) == len(found.table)
    if kind == "risk":
        assert one["seed"] == 7


def test_other_files_do_not_depend_on_timings() -> None:
    """All but the JSON are the same bytes."""
    found = made_whatif()
    slower = dataclasses.replace(found, provenance=dataclasses.replace(found.provenance, timings={"all_s": 99.0}))
    one, other = whatif_files(found), whatif_files(slower)
    assert [name for name in one if one[name] != other[name]] == ["whatif.json"]


def test_files_come_beside_the_journal(tmp_path: Path) -> None:
    """The journal stays as it is; a second time replaces what is there; nothing is left beside the folder."""
    folder = tmp_path / "study"
    folder.mkdir()
    (folder / JOURNAL_NAME).write_text("kept\n", encoding="utf-8")
    add_files({"a.csv": "1", "report.html": "one"}, folder)
    add_files({"a.csv": "2", "report.html": "two"}, folder)
    assert (folder / JOURNAL_NAME).read_text(encoding="utf-8") == "kept\n"
    assert (folder / "a.csv").read_text(encoding="utf-8") == "2"
    assert (folder / "report.html").read_text(encoding="utf-8") == "two"
    assert [entry.name for entry in tmp_path.iterdir()] == ["study"]


def test_a_failure_leaves_the_folder_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A disk that is full while the files are written changes nothing, the journal least of all."""
    folder = tmp_path / "study"
    folder.mkdir()
    (folder / JOURNAL_NAME).write_text("kept\n", encoding="utf-8")
    add_files({"a.csv": "1", "b.csv": "1"}, folder)
    write = Path.write_bytes

    def full(self: Path, data: bytes) -> int:
        if self.name == "b.csv":
            raise OSError(28, "No space left on device")
        return write(self, data)

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(UsageError, match="No space left"):
        add_files({"a.csv": "2", "b.csv": "2"}, folder)
    assert {entry.name: entry.read_text(encoding="utf-8") for entry in folder.iterdir()} == {
        JOURNAL_NAME: "kept\n",
        "a.csv": "1",
        "b.csv": "1",
    }
    assert [entry.name for entry in tmp_path.iterdir()] == ["study"]


@pytest.mark.parametrize("mark", [JOURNAL_NAME, "whatif.json", "risk.json"])
def test_results_of_a_study_are_known_as_such(tmp_path: Path, mark: str) -> None:
    """They are replaced with --force only, and never together with files that are not ours."""
    (tmp_path / mark).write_text("{}", encoding="utf-8")
    with pytest.raises(UsageError, match="already holds results"):
        check_target(tmp_path, force=False)
    check_target(tmp_path, force=True)
    (tmp_path / "letter.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(UsageError, match=r"letter\.txt"):
        check_target(tmp_path, force=True)


def test_studies_without_rows_are_written_too() -> None:
    """No swings, no breaks, no drivers: the headers alone."""
    empty = made_whatif(())
    assert rows_of(whatif_files(empty)["swings.csv"]) == []
    few = made_risk(6, rolling=False, drivers=False, failing=False)
    assert rows_of(risk_files(few)["drivers.csv"]) == []
