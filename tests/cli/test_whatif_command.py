"""``mci whatif``: what it prints and writes, what it refuses, how it is stopped, and how it goes on."""

from __future__ import annotations

import csv
import json
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
import xlsxwriter
from click.testing import CliRunner, Result
from distributed import LocalCluster

from mci.cli import cli

if TYPE_CHECKING:
    from collections.abc import Sequence


SCENARIO = """
incident: {name: "Shed fire [bold]", horizon: 2 h, start: "08:00"}
areas: {yard: Yard}
patients:
  - {batch: shed, count: 2, category: immediate, area: yard, ladder: moderate need, arrive: T+0}
  - {batch: house, count: 1, category: delayed, area: yard, ladder: low need, arrive: T+0}
supplies:
  - {cylinder: US E aluminium, count: 2, pressure: full, area: yard}
regulators:
  - {regulator: yoke regulator 0-15 L/min, count: 3, area: yard}
devices:
  - {device: partial rebreather, count: unlimited, area: yard}
  - {device: simple mask, count: unlimited, area: yard}
  - {device: nasal cannula, count: unlimited, area: yard}
staff: [{people: 1, area: yard}]
deliveries:
  - {delivery: van, at: T+60, area: yard, brings: [{cylinder: US E aluminium, count: 2, pressure: full}]}
resupply: {cylinder: US E aluminium, regulator: yoke regulator 0-15 L/min}
"""
COUNT = "patients.shed.count"
VARY = ("--vary", f"{COUNT}=1, 2, 4")
DELAY = ("--vary", "deliveries.van.delay=0, 30 min")
#: Long enough to be stopped in the middle.
MANY = ("--vary", f"{COUNT}=1..4", "--vary", "deliveries.van.delay=0..50 min step 10 min")


def _run(file: Path, *options: str | Path, columns: int = 80) -> Result:
    return CliRunner(env={"COLUMNS": str(columns)}).invoke(cli, ["whatif", str(file), *map(str, options)])


def _said(result: Result) -> str:
    return " ".join(result.output.split())


def _rows(folder: Path, name: str = "cases.csv") -> list[dict[str, str]]:
    with (folder / name).open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def _by_case(folder: Path) -> dict[str, dict[str, str]]:
    return {row["case"]: row for row in _rows(folder)}


@pytest.fixture(scope="module")
def scenario(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three patients, two cylinders, and a van that brings two more."""
    file = tmp_path_factory.mktemp("shed") / "shed.yaml"
    file.write_text(SCENARIO, encoding="utf-8")
    return file


@pytest.fixture(scope="module")
def done(scenario: Path) -> tuple[Result, Path]:
    """All combinations of two numbers, printed as JSON and written."""
    folder = scenario.parent / "out"
    return _run(scenario, *VARY, *DELAY, "--goal", "90 %", "--json", "-o", folder), folder


def test_json_is_what_is_written(done: tuple[Result, Path]) -> None:
    """Stdout is the JSON file, without NaN; everything else is told on stderr."""
    result, folder = done
    assert result.exit_code == 0, result.output

    def refuse(word: str) -> float:
        raise AssertionError(word)

    record: dict[str, Any] = json.loads(result.stdout, parse_constant=refuse)
    assert record["format"] == "mci what-if"
    assert result.stdout == (folder / "whatif.json").read_text(encoding="utf-8")
    assert f"Written to {folder}: report.html" in result.stderr


def test_every_combination_is_a_row(done: tuple[Result, Path]) -> None:
    """The scenario as written comes first, then 3 x 2 cases, the last number changing fastest; all are planned."""
    rows = _rows(done[1])
    asked = [row for row in rows if row["role"] in ("as written", "case")]
    assert [row["case"] for row in asked] == ["as written", *map(str, range(1, 7))]
    values = [(float(row[COUNT]), float(row["deliveries.van.delay [min]"])) for row in asked]
    assert values == [(2, 0), (1, 0), (1, 30), (2, 0), (2, 30), (4, 0), (4, 30)]
    assert {row["status"] for row in rows} == {"planned"}
    best = {value: float(row["best_share"]) for value, row in zip(values, asked, strict=True)}
    assert best[1, 0] > best[2, 0] > best[4, 0]
    assert best[2, 30] < best[2, 0]
    assert all(float(row["usual_share"]) <= float(row["best_share"]) + 1e-9 for row in asked)


def test_breaks_are_at_the_goal(done: tuple[Result, Path], scenario: Path, tmp_path: Path) -> None:
    """What is kept at the last value is kept when asked for by itself, and not at the first value beyond."""
    goals = {float(row["goal_share"]) for row in _rows(done[1], "breaks.csv")}
    assert goals == {0.9}
    found = [row for row in _rows(done[1], "breaks.csv") if row["number"] == COUNT and row["category"] == "immediate"]
    kept, lost = (int(float(found[0][name])) for name in ("kept_to", "lost_at"))
    assert lost == kept + 1
    assert _run(scenario, "--vary", f"{COUNT}={kept}, {lost}", "--quiet", "-o", tmp_path / "out").exit_code == 0
    at = [float(_by_case(tmp_path / "out")[case]["best_immediate_share"]) for case in "12"]
    assert at[0] >= 0.9 - 1e-6 > at[1]


@pytest.mark.parametrize("columns", [80, 120])
def test_fits_the_terminal(scenario: Path, columns: int) -> None:
    """No line is wider than the terminal, names in brackets stay as they are, nothing is coloured when piped."""
    result = _run(scenario, *VARY, *DELAY, columns=columns)
    assert result.exit_code == 0, result.output
    assert max(map(len, result.stdout.splitlines())) <= columns
    assert "Shed fire [bold]" in result.stdout
    assert "\x1b" not in result.stdout
    assert result.stderr == ""


def test_quiet_prints_nothing_and_force_replaces_all(scenario: Path, tmp_path: Path) -> None:
    """A second study is refused without --force; with it nothing of the first one is left, foreign files refuse."""
    folder = tmp_path / "out"
    asked = ("--quiet", "-o", folder)
    first = _run(scenario, *VARY, *asked, "--beside", "as written", "--beside", "3")
    assert (first.exit_code, first.output) == (0, "")
    before = {file.name: file.read_bytes() for file in folder.iterdir()}
    assert {"beside.html", "case-1.html", "case-2.html"} < set(before)
    refused = _run(scenario, *DELAY, *asked)
    assert refused.exit_code == 2
    assert "--force to replace them" in refused.output
    (folder / "notes.txt").write_text("mine", encoding="utf-8")
    refused = _run(scenario, *DELAY, *asked, "--force")
    assert refused.exit_code == 2
    assert "notes.txt" in refused.output
    assert {file.name: file.read_bytes() for file in folder.iterdir()} == {**before, "notes.txt": b"mine"}
    (folder / "notes.txt").unlink()
    again = _run(scenario, *DELAY, *asked, "--force")
    assert (again.exit_code, again.output) == (0, "")
    assert [row["case"] for row in _rows(folder)][:3] == ["as written", "1", "2"]
    assert not {"beside.html", "case-1.html", "case-2.html"} & {file.name for file in folder.iterdir()}


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (["--force", "--trips"], "has no network of which trips could be planned; leave out --trips"),
        (["--force", "--cluster", "localhost"], "localhost is no address of a cluster (such as tcp://127.0.0.1:8786)"),
        (["--force", "--vary", "patients.immediate.count=3"], "set the same number; vary one of them"),
        (["--force", "--beside", "1", "--beside", "7"], "there is no case '7'"),
        (["--force", "--resume"], "--resume goes on with what is there, --force replaces it; give one of them."),
    ],
)
def test_force_deletes_nothing_for_a_study_that_is_refused(
    done: tuple[Result, Path], scenario: Path, options: Sequence[str], told: str
) -> None:
    """What cannot be carried out is refused while the earlier results are still there."""
    folder = done[1]
    before = {file.name: file.read_bytes() for file in folder.iterdir()}
    result = _run(scenario, *VARY, *options, "-o", folder)
    assert result.exit_code == 2
    assert told in _said(result)
    assert {file.name: file.read_bytes() for file in folder.iterdir()} == before


@pytest.mark.parametrize(
    ("options", "told"),
    [
        ([], "Say what to vary: --vary PATH=VALUES (once or more), or --cases FILE."),
        ([*VARY, "--cases", "f.csv"], "--vary and --cases exclude each other: write all numbers into the file."),
        ([*VARY, "--pairs", "--one-by-one"], "--pairs and --one-by-one exclude each other."),
        (["--cases", "f.csv", "--pairs"], "--pairs and --one-by-one go with --vary, not with --cases."),
        ([*VARY, *DELAY, "--pairs"], "pairs need as many values of each number; there are 3 of patients.shed.count, 2"),
        ([*VARY, *VARY], "patients.shed.count is varied twice; list all its values at once"),
        (["--vary", "patients.shed.cuont=1"], "Did you mean 'patients.shed.count'?"),
        (["--vary", "patients.shed.count"], "does not say what values the number takes: write PATH=5..40 step 5"),
        (["--vary", ""], "'' does not say what values the number takes"),
        (["--vary", f"{COUNT}="], "a value is missing"),
        (["--vary", f"{COUNT}=1,,2"], "a value is missing in '1,,2'"),
        (["--vary", f"{COUNT}=2, 2"], "'2' is asked for twice"),
        (["--vary", f"{COUNT}=-1"], "'-1' is not a"),
        (["--vary", f"{COUNT}=1.5"], "'1.5' is not a"),
        (["--vary", f"{COUNT}=4..1"], "'4..1' ends below where it begins"),
        (["--vary", "deliveries.van.delay=5, 10"], "the unit is missing"),
        (["--vary", "deliveries.van.delay=0..60 min"], "has no step"),
        (["--vary", f"{COUNT}=1..999999"], "at most 100,000 can be asked for at once"),
        ([*VARY, "--goal", "0 %"], "is not above 0 and at most 100 %"),
        ([*VARY, "--goal", "nan"], "'nan' is not a share"),
        ([*VARY, "--rolling", "0 min"], "must be longer than nothing"),
        ([*VARY, "--rolling", "30"], "the unit is missing"),
        ([*VARY, "--quiet"], "--quiet needs -o, and nothing else to print."),
        ([*VARY, "--quiet", "--json", "-o", "OUT"], "--quiet needs -o, and nothing else to print."),
        ([*VARY, "--resume"], "--resume needs -o: the folder of the study that was stopped."),
        ([*VARY, "--resume", "-o", "OUT"], "it has no cases.jsonl."),
        ([*VARY, "--workers", "2", "--cluster", "tcp://127.0.0.1:1"], "give one of them."),
        ([*VARY, "--workers", "0"], "0 is not in the range"),
        ([*VARY, "--beside", "1", "--beside", "2"], "--beside needs -o: it writes reports."),
        ([*VARY, "--beside", "1", "-o", "OUT"], "--beside: choose 2 to 6 cases, such as 'as written' and 1."),
        ([*VARY, "--beside", "1", "--beside", "1", "-o", "OUT"], "--beside: '1' is chosen twice."),
    ],
)
def test_what_makes_no_sense_is_refused(
    scenario: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, options: Sequence[str], told: str
) -> None:
    """Exit code 2 and a sentence that says why, before any work is done and without a folder."""
    monkeypatch.setattr("mci.surge.means.run_cases", lambda *_, **__: pytest.fail("work was begun"))
    result = _run(scenario, *(str(tmp_path / "out") if each == "OUT" else each for each in options))
    assert result.exit_code == 2, result.output
    assert told in _said(result)
    assert list(tmp_path.iterdir()) == []


def test_how_numbers_are_put_together(scenario: Path, tmp_path: Path) -> None:
    """--pairs puts the first values together, then the second ones; --one-by-one leaves all others as written."""
    both = ("--vary", f"{COUNT}=1, 4", *DELAY, "--quiet", "-o")
    assert _run(scenario, "--pairs", *both, tmp_path / "pairs").exit_code == 0
    assert _run(scenario, "--one-by-one", *both, tmp_path / "alone").exit_code == 0

    def values(name: str) -> list[tuple[float, float]]:
        rows = [row for row in _rows(tmp_path / name) if row["role"] == "case"]
        return [(float(row[COUNT]), float(row["deliveries.van.delay [min]"])) for row in rows]

    assert values("pairs") == [(1, 0), (4, 30)]
    assert values("alone") == [(1, 0), (4, 0), (2, 0), (2, 30)]


def test_breaks_are_found_where_the_scenario_is_an_end(scenario: Path, tmp_path: Path) -> None:
    """A range that begins or ends at what is written is looked at, though no pair has the others as written."""
    vary = ("--vary", f"{COUNT}=1, 4", "--vary", "deliveries.van.delay=60, 0 min", "--pairs")
    assert _run(scenario, *vary, "--goal", "90 %", "--quiet", "-o", tmp_path / "out").exit_code == 0
    found = {row["category"]: row for row in _rows(tmp_path / "out", "breaks.csv") if row["number"] != COUNT}
    assert 0 <= float(found["immediate"]["kept_to"]) < float(found["immediate"]["lost_at"]) <= 60


CASES = (("case", COUNT, "deliveries.van.delay"), ("busy day", "4", ""), ("late", "", "30 min"), ("=1+1", "1", "0 min"))


def _case_file(folder: Path, kind: str) -> Path:
    """Write the same cases in one of the ways of a spreadsheet."""
    file = folder / f"cases.{kind[-4:].strip('-')}"
    if kind == "xlsx":
        with xlsxwriter.Workbook(file, {"strings_to_formulas": False}) as book:
            sheet = book.add_worksheet()
            for place, row in enumerate(CASES):
                sheet.write_row(place, 0, row)
        return file
    sign, start, end = {"csv": (",", "", "\n"), "bom-csv": (";", "\ufeff", "\r\n")}[kind]
    lines = [sign.join(row) for row in CASES]
    blank = sign * 2
    file.write_bytes((start + end.join([*lines, blank, ""])).encode("utf-8"))
    return file


@pytest.mark.parametrize("kind", ["csv", "bom-csv", "xlsx"])
def test_cases_of_a_file(scenario: Path, tmp_path: Path, kind: str) -> None:
    """Commas, or a mark at the start and semicolons, or a workbook: the same rows; empty cells are as written."""
    folder = tmp_path / "out"
    result = _run(scenario, "--cases", _case_file(tmp_path, kind), "--quiet", "-o", folder)
    assert result.exit_code == 0, result.output
    rows = [row for row in _rows(folder) if row["role"] in ("as written", "case")]
    told = [(row["case"], float(row[COUNT]), float(row["deliveries.van.delay [min]"])) for row in rows]
    assert told == [("as written", 2, 0), ("busy day", 4, 0), ("late", 2, 30), ("'=1+1", 1, 0)]


def test_all_mistakes_of_a_file_are_told(scenario: Path, tmp_path: Path) -> None:
    """Exit code 3; every mistake has its cell, an unknown path the nearest; nothing is written."""
    file = tmp_path / "cases.csv"
    lines = [
        f"case;patients.shed.cuont;{COUNT};deliveries.van.delay",
        "a;1;two;5 min",
        "a;;1;5",
        "as written;;1;",
        ";;1;",
        "b;;-1;soon",
    ]
    file.write_text("\n".join(lines), encoding="utf-8")
    result = _run(scenario, "--cases", file, "-o", tmp_path / "out")
    assert result.exit_code == 3
    cells = re.findall(r"\(cell ([A-Z]\d)\)", result.stderr)
    assert cells == ["B1", "C2", "A3", "D3", "A4", "A5", "C6", "D6"]
    assert "8 mistakes found" in result.stderr
    assert f"Did you mean '{COUNT}'?" in result.stderr
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("text", ["", "case\n", "name,value\na,1\n"])
def test_a_file_without_cases_is_a_mistake(scenario: Path, tmp_path: Path, text: str) -> None:
    """An empty file, a header alone and a file of something else have exit code 3, not a study of nothing."""
    file = tmp_path / "cases.csv"
    file.write_text(text, encoding="utf-8")
    assert _run(scenario, "--cases", file).exit_code == 3
    assert _run(scenario, "--cases", tmp_path / "absent.csv").exit_code == 3
    assert _run(scenario, "--cases", tmp_path).exit_code == 3


def test_a_case_without_a_plan_is_a_row(scenario: Path, tmp_path: Path) -> None:
    """Its reason stands in the table and on the terminal, the others have results, and the exit code is 0."""
    folder = tmp_path / "out"
    result = _run(scenario, "--vary", "incident.horizon=0, 90 min", "-o", folder)
    assert result.exit_code == 0, result.output
    rows = _by_case(folder)
    assert "must be longer than 0" in rows["1"]["status"]
    assert rows["1"]["best_share"] == ""
    assert rows["2"]["status"] == "planned"
    assert "must be longer than 0" in _said(result).split("Without a result")[1]


def test_a_case_without_a_plan_cannot_stand_beside(scenario: Path, tmp_path: Path) -> None:
    """Exit code 2 names the case and its reason; the study itself is written and --resume puts others side by side."""
    asked = ("--vary", "incident.horizon=0, 90 min", "--quiet", "-o", tmp_path / "out", "--beside", "as written")
    result = _run(scenario, *asked, "--beside", "1")
    assert result.exit_code == 2
    assert "--beside: case '1' has no result" in _said(result)
    assert {"report.html", "cases.csv"} < {file.name for file in (tmp_path / "out").iterdir()}
    assert not (tmp_path / "out" / "beside.html").exists()
    assert _run(scenario, *asked, "--beside", "2", "--resume").exit_code == 0
    assert (tmp_path / "out" / "beside.html").exists()


def test_beside_writes_a_report_of_each_case(scenario: Path, tmp_path: Path) -> None:
    """In the order chosen, all linked from the page that compares them."""
    folder = tmp_path / "out"
    result = _run(scenario, *VARY, "-o", folder, "--beside", "3", "--beside", "as written")
    assert result.exit_code == 0, result.output
    page = (folder / "beside.html").read_text(encoding="utf-8")
    assert re.findall(r'href="(case-\d\.html)"', page)[:2] == ["case-1.html", "case-2.html"]
    assert page.index("case 3") < page.index("as written")
    for name in ("case-1.html", "case-2.html"):
        assert "Shed fire [bold]" in (folder / name).read_text(encoding="utf-8")
    assert f"The chosen cases are side by side in {folder / 'beside.html'}." in result.stderr


def test_orders_are_judged_where_asked(scenario: Path, tmp_path: Path) -> None:
    """Orders, and those of a crew that plans again, reach no more than the best possible, in cases and as written."""
    folder = tmp_path / "out"
    assert _run(scenario, "--vary", f"{COUNT}=4", "--rolling", "30 min", "--quiet", "-o", folder).exit_code == 0
    for case in ("as written", "1"):
        row = _by_case(folder)[case]
        best = float(row["best_share"])
        for policy in ("orders", "rolling"):
            assert 0 < float(row[f"{policy}_share"]) <= best + 1e-9


@pytest.fixture(scope="module")
def undisturbed(scenario: Path) -> Path:
    """The study that others are stopped in, from beginning to end on one process."""
    folder = scenario.parent / "undisturbed"
    assert _run(scenario, *MANY, "--quiet", "-o", folder).exit_code == 0
    return folder


@pytest.mark.slow
def test_rows_do_not_depend_on_who_evaluates_them(scenario: Path, undisturbed: Path, tmp_path: Path) -> None:
    """Two processes and a cluster of two workers write the tables of one process, byte by byte."""
    assert _run(scenario, *MANY, "--quiet", "-o", tmp_path / "two", "--workers", "2").exit_code == 0
    with _cluster() as address:
        assert _run(scenario, *MANY, "--quiet", "-o", tmp_path / "cluster", "--cluster", address).exit_code == 0
    for name in ("cases.csv", "breaks.csv", "swings.csv"):
        expected = (undisturbed / name).read_bytes()
        assert (tmp_path / "two" / name).read_bytes() == expected
        assert (tmp_path / "cluster" / name).read_bytes() == expected


class _cluster:  # noqa: N801 - used like a function
    """Two workers that somebody else has started."""

    def __enter__(self) -> str:
        self._there = LocalCluster(
            n_workers=2,
            threads_per_worker=1,
            host="127.0.0.1",
            dashboard_address="127.0.0.1:0",
            scheduler_kwargs={"dashboard": False},
            silence_logs=60,
            memory_limit=0,
        )
        address: str = self._there.scheduler_address
        return address

    def __exit__(self, *_: object) -> None:
        self._there.close()


def _stopped(scenario: Path, folder: Path, by: int, *options: str) -> tuple[int, str]:
    """Begin the study in a process of its own, and send it a signal when a few cases are kept."""
    command = [sys.executable, "-m", "mci", "whatif", str(scenario), *MANY, "-o", str(folder), *options]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    ) as process:
        journal = folder / "cases.jsonl"
        until = time.monotonic() + 60
        while not (journal.exists() and journal.read_bytes().count(b"\n") > 4):
            assert process.poll() is None, process.communicate()
            assert time.monotonic() < until
            time.sleep(0.02)
        os.killpg(process.pid, by)
        told = "".join(process.communicate())
    kept = journal.read_bytes().count(b"\n") - 1
    assert 0 < kept < 24
    assert not (folder / "report.html").exists()
    return process.returncode, told


def _goes_on(scenario: Path, folder: Path, undisturbed: Path) -> None:
    journal = (folder / "cases.jsonl").read_bytes()
    result = _run(scenario, *MANY, "--quiet", "-o", folder, "--resume")
    assert (result.exit_code, result.output) == (0, "")
    kept = journal[: journal.rindex(b"\n") + 1]
    assert (folder / "cases.jsonl").read_bytes().startswith(kept)  # nothing is evaluated twice
    assert (folder / "cases.csv").read_bytes() == (undisturbed / "cases.csv").read_bytes()
    assert (folder / "report.html").exists()


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
def test_a_killed_study_goes_on(scenario: Path, undisturbed: Path, tmp_path: Path) -> None:
    """After kill -9 the folder says that a study was stopped; --resume ends with the tables of an undisturbed run."""
    folder = tmp_path / "out"
    code, _ = _stopped(scenario, folder, signal.SIGKILL)
    assert code == -signal.SIGKILL
    with (folder / "cases.jsonl").open("ab") as journal:
        journal.write(b'{"key": "24", "sec')  # torn in the middle of a line
    refused = _run(scenario, *MANY, "-o", folder)
    assert refused.exit_code == 2
    assert "holds a study that was stopped: --resume goes on, --force begins anew." in _said(refused)
    _goes_on(scenario, folder, undisturbed)


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
@pytest.mark.parametrize("workers", [1, 2])
def test_an_interrupted_study_goes_on(scenario: Path, undisturbed: Path, tmp_path: Path, workers: int) -> None:
    """Ctrl-C, sent to all processes as a terminal does, ends with one sentence that says how to go on."""
    folder = tmp_path / "out"
    code, told = _stopped(scenario, folder, signal.SIGINT, "--workers", str(workers))
    assert code == 130
    words = f"mci: stopped; finished cases are kept in {folder}; the same command with --resume goes on"
    assert told.strip().splitlines()[-1].startswith(words)
    assert "Traceback" not in told
    _goes_on(scenario, folder, undisturbed)


def test_an_interrupted_study_without_a_folder(scenario: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is said that nothing is kept."""

    def interrupt(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("mci.surge.means.run_cases", interrupt)
    result = _run(scenario, *VARY)
    assert (result.exit_code, result.stdout) == (130, "")
    assert "mci: stopped; nothing is kept without -o." in result.stderr


@pytest.mark.parametrize(
    ("options", "told"),
    [
        ([*VARY], "the cases are not the same"),
        ([*VARY, *DELAY], "the setting goal was 0.9, now 1.0"),
        ([*VARY, *DELAY, "--goal", "90 %", "--priority", "strict"], "the setting priority was weighted, now strict"),
        ([*VARY, *DELAY, "--goal", "90 %", "--rolling", "20 min"], "the setting rolling_every was None, now 20.0"),
        ([*VARY, *DELAY, "--goal", "90 %", "--orders"], "the cases are not the same"),
    ],
)
def test_another_study_is_not_resumed(
    done: tuple[Result, Path], scenario: Path, options: Sequence[str], told: str
) -> None:
    """Exit code 2 says what differs, and nothing is touched."""
    before = {file.name: file.read_bytes() for file in done[1].iterdir()}
    result = _run(scenario, *options, "-o", done[1], "--resume")
    assert result.exit_code == 2
    assert "is of another study and cannot be resumed" in _said(result)
    assert told in _said(result)
    assert {file.name: file.read_bytes() for file in done[1].iterdir()} == before


def test_a_changed_scenario_is_not_resumed(done: tuple[Result, Path], tmp_path: Path) -> None:
    """The same command on an edited file is another study."""
    file = tmp_path / "shed.yaml"
    file.write_text(SCENARIO.replace("people: 1", "people: 2"), encoding="utf-8")
    result = _run(file, *VARY, *DELAY, "--goal", "90 %", "-o", done[1], "--resume")
    assert result.exit_code == 2
    assert "the scenario is not the same" in _said(result)


NETWORK = """
network:
  places: [{depot: store, title: County store}]
  roads: [{road: store road, between: [store, yard], drive: 15 min}]
  vehicles: [{vehicle: truck, at: store, slots: {US E aluminium: 6}, crew: 2, loading: 5 min, unloading: 5 min}]
  stock: [{cylinder: US E aluminium, count: 4, pressure: full, at: store}]
"""


@pytest.mark.slow
def test_trips_are_planned_in_every_case(tmp_path: Path) -> None:
    """With --trips a number of the network is varied: the fewer cylinders a truck can fetch, the less is covered."""
    file, folder = tmp_path / "shed.yaml", tmp_path / "out"
    file.write_text(SCENARIO.replace("horizon: 2 h", "horizon: 4 h") + NETWORK, encoding="utf-8")
    vary = ("--vary", "network.stock.US E aluminium at store.count=1, 2")
    refused = _run(file, *vary)
    assert refused.exit_code == 2
    assert "changes nothing as long as no trips are planned; add --trips" in _said(refused)
    assert _run(file, *vary, "--trips", "--quiet", "-o", folder).exit_code == 0
    rows = _by_case(folder)
    shares = [float(rows[case]["best_share"]) for case in ("1", "2", "as written")]
    assert shares == sorted(set(shares))
