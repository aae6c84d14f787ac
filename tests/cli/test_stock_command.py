"""``mci stock``: what it prints and writes, what it refuses, how it ends."""

from __future__ import annotations

import csv
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from made_inventory import TRAILER
from small_studies import STAND, UNCERTAIN

from mci.cli import cli
from mci.report.target import INSPECTION_NAMES, STOCK_NAMES

FEW = ("--incidents", "6", "--seed", "1", "--fresh", "4", "--judged", "1")
QUICK = ("--incidents", "4", "--fresh", "2", "--judged", "0", "--budget", "300")
ON = ("--on", "2026-05-01")


def _run(*words: str | Path, columns: int = 80) -> Result:
    return CliRunner(env={"COLUMNS": str(columns)}).invoke(cli, ["stock", *map(str, words)])


def _said(result: Result) -> str:
    return " ".join(result.output.split())


def _content(folder: Path) -> dict[str, bytes]:
    return {str(file.relative_to(folder)): file.read_bytes() for file in folder.rglob("*") if file.is_file()}


@pytest.fixture(scope="module")
def scenario(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A first aid post with a box to be filled."""
    file = tmp_path_factory.mktemp("post") / "post.yaml"
    file.write_text(STAND.replace("First aid post", '"First aid post [bold]"') + UNCERTAIN, encoding="utf-8")
    return file


@pytest.fixture(scope="module")
def done(scenario: Path) -> tuple[Result, Path]:
    """A list for six incidents, printed as JSON and written."""
    folder = scenario.parent / "out"
    return _run(scenario, *FEW, "--json", "-o", folder), folder


@pytest.fixture
def refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """No work may be begun."""
    monkeypatch.setattr("mci.stocking.stock.open_study", lambda *_, **__: pytest.fail("work was begun"))
    monkeypatch.setattr("mci.stocking.inspection.inspect", lambda *_, **__: pytest.fail("work was begun"))


def test_json_is_what_is_written(done: tuple[Result, Path]) -> None:
    """Stdout is the JSON file, without NaN; where the files are is told on stderr."""
    result, folder = done
    assert result.exit_code == 0, result.output

    def refuse(word: str) -> float:
        raise AssertionError(word)

    record: dict[str, Any] = json.loads(result.stdout, parse_constant=refuse)
    assert result.stdout == (folder / "stock.json").read_text(encoding="utf-8")
    assert record["choice"]["incidents"] == 6
    assert record["choice"]["mode"] == "goals"
    assert f"Written to {folder}: report.html and its tables." in " ".join(result.stderr.split())


def test_files_are_all_there_and_say_the_same(done: tuple[Result, Path]) -> None:
    """Tables, workbook, JSON, page, and the worst incidents as scenarios that can be planned."""
    _, folder = done
    assert {path.name for path in folder.iterdir()} == set(STOCK_NAMES)
    record = json.loads((folder / "stock.json").read_text(encoding="utf-8"))
    for name, table in record["tables"].items():
        with (folder / f"{name}.csv").open(encoding="utf-8-sig", newline="") as file:
            rows = list(csv.reader(file))
        assert rows[0] == table["columns"]
        assert len(rows) == 1 + len(table["rows"])
    worst = sorted((folder / "worst").iterdir())
    assert worst
    planned = CliRunner().invoke(cli, ["plan", str(worst[0]), "--json"])
    assert planned.exit_code == 0, planned.output


@pytest.mark.parametrize("columns", [80, 120])
def test_words_fit_the_terminal(scenario: Path, tmp_path: Path, columns: int) -> None:
    """Nothing is wider, brackets stay as they are, nothing is coloured when piped, nothing is written."""
    result = _run(scenario, *FEW, columns=columns)
    assert result.exit_code == 0, result.output
    assert max(map(len, result.stdout.splitlines())) <= columns
    assert "First aid post [bold]" in result.stdout
    assert "\x1b" not in result.stdout
    assert result.stderr == ""
    assert "Packing list: box, at gate" in _said(result)
    assert list(tmp_path.iterdir()) == []


def test_quiet_prints_nothing(scenario: Path, tmp_path: Path) -> None:
    """Only files, a budget and a step as asked."""
    folder = tmp_path / "a" / "out"
    result = _run(scenario, *QUICK, "--step", "40", "--quiet", "-o", folder)
    assert (result.exit_code, result.output) == (0, "")
    choice = json.loads((folder / "stock.json").read_text(encoding="utf-8"))["choice"]
    assert (choice["mode"], choice["budget"], choice["step"]) == ("budget", 300.0, 40.0)


def test_force_replaces_results_and_nothing_else(scenario: Path, tmp_path: Path) -> None:
    """Without it earlier results stay; with it they are replaced whole, but not where foreign files would be lost."""
    folder = tmp_path / "out"
    assert _run(scenario, *QUICK, "--quiet", "-o", folder).exit_code == 0
    before = _content(folder)
    again = _run(scenario, *QUICK, "-o", folder)
    assert again.exit_code == 2
    assert "already holds results" in _said(again)
    assert _content(folder) == before
    (folder / "worst" / "mine.txt").write_text("mine")
    foreign = _run(scenario, *QUICK, "--force", "-o", folder)
    assert foreign.exit_code == 2
    assert "worst/mine.txt" in _said(foreign).replace("worst/ ", "worst/")
    (folder / "worst" / "mine.txt").unlink()
    (folder / "mine.txt").write_text("mine")
    assert _run(scenario, *QUICK, "--force", "-o", folder).exit_code == 2
    assert _content(folder) == {**before, "mine.txt": b"mine"}
    (folder / "mine.txt").unlink()
    replaced = _run(scenario, *QUICK, "--seed", "3", "--quiet", "--force", "-o", folder)
    assert replaced.exit_code == 0, replaced.output
    assert json.loads((folder / "stock.json").read_text(encoding="utf-8"))["choice"]["seed"] == 3
    assert not [path for path in tmp_path.iterdir() if path != folder]


@pytest.mark.usefixtures("refused")
def test_a_folder_of_other_files_is_refused(scenario: Path, tmp_path: Path) -> None:
    """Before any work is done; a file in place of a folder too."""
    (tmp_path / "mine.txt").write_text("mine")
    for target in (tmp_path, tmp_path / "mine.txt"):
        result = _run(scenario, *QUICK, "--force", "-o", target)
        assert result.exit_code == 2
        assert "mine.txt" in _said(result)
    assert (tmp_path / "mine.txt").read_text() == "mine"


@pytest.mark.usefixtures("refused")
@pytest.mark.parametrize(
    ("options", "told"),
    [
        ([], "give a SCENARIO to choose a list, or --inspect FILE to inspect a cache; one of them."),
        (["POST", "--inspect", "CACHE"], "one of them."),
        (["POST", *ON], "--on belongs to --inspect; leave it out."),
        (["POST", "--load", "6 x 15 L/min"], "--load belongs to --inspect"),
        (["POST", "--soon", "90"], "--soon belongs to --inspect"),
        (["POST", "--pressures-in", "bar"], "--pressures-in belongs to --inspect"),
        (["--inspect", "CACHE", "--budget", "5"], "--budget is about a SCENARIO, not about --inspect; leave it out."),
        (["--inspect", "CACHE", "--incidents", "128"], "--incidents is about a SCENARIO"),
        (["--inspect", "CACHE", "--uncertain", "a = fixed 1"], "--uncertain is about a SCENARIO"),
        (["--inspect", "CACHE", "--time-limit", "1 min"], "--time-limit is about a SCENARIO"),
        (["--inspect", "CACHE", "--quiet"], "--quiet needs -o, and nothing else to print."),
        (["POST", "--quiet"], "--quiet needs -o, and nothing else to print."),
        (["POST", "--quiet", "--json", "-o", "OUT"], "--quiet needs -o, and nothing else to print."),
        (["POST", "--workers", "2", "--cluster", "tcp://127.0.0.1:1"], "give one of them."),
        (["POST", "--cluster", "localhost"], "localhost is no address of a cluster"),
        (["POST", "--budget", "-1"], "-1.0 is not in the range"),
        (["POST", "--budget", "nan"], "nan is no amount."),
        (["POST", "--budget", "inf"], "inf is no amount."),
        (["POST", "--list-gap", "nan"], "nan is no amount."),
        (["POST", "--step", "0"], "0.0 is not in the range"),
        (["POST", "--incidents", "0"], "0 is not in the range"),
        (["POST", "--fresh", "0"], "0 is not in the range"),
        (["POST", "--judged", "-1"], "-1 is not in the range"),
        (["POST", "--uncertain", "patients.stnad.count = fixed 2"], "Did you mean 'patients.stand.count'"),
        (["--inspect", "CACHE", "--on", "1 May"], "is not a day (such as 2026-05-01)"),
    ],
)
def test_what_makes_no_sense_is_refused(scenario: Path, tmp_path: Path, options: Sequence[str], told: str) -> None:
    """Exit code 2 and a sentence that says why, before any work is done and without a folder."""
    names = {"POST": scenario, "CACHE": TRAILER, "OUT": tmp_path / "out"}
    result = _run(*(names.get(each, each) for each in options))
    assert result.exit_code == 2, result.output
    assert told in _said(result)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("good", "bad", "code", "told"),
    [
        ("stocking:", "stockings:", 3, "stockings"),
        ("at most: 3", "at most: -3", 3, "post.yaml:"),
        ("reaches: {field: 15 min}", "reaches: {feild: 15 min}", 3, "Did you mean 'field'"),
        (STAND[STAND.index("stocking:") :], "", 2, "add a section `stocking:`"),
        (STAND[STAND.index("  goals:") :], "", 2, "has neither goals nor a budget for its caches"),
        (UNCERTAIN, "", 2, "does not say what is uncertain: add a section `uncertain:`"),
        ("stocking:", "reserve: {field: 100 L}\nstocking:", 2, "stocking knows no reserve"),
        ("80 %", "99 %", 4, "99 % is asked for,"),
        ("years: 2", "years: 2\n  budget: 25", 4, "keeping what is owned already costs 26.00 $ over 2 years"),
    ],
)
def test_scenarios_that_give_no_list(tmp_path: Path, good: str, bad: str, code: int, told: str) -> None:
    """Exit code 3 for mistakes, with the line; 2 where something is lacking; 4 with how near one can come."""
    file = tmp_path / "post.yaml"
    text = STAND + UNCERTAIN
    assert good in text
    file.write_text(text.replace(good, bad, 1), encoding="utf-8")
    result = _run(file, "--incidents", "4", "--fresh", "2", "--judged", "0", "-o", tmp_path / "out")
    assert result.exit_code == code, result.output
    assert told in _said(result)
    assert "Traceback" not in result.output
    assert not (tmp_path / "out").exists()


def test_no_such_file(tmp_path: Path) -> None:
    """A mistake with what to do."""
    for words in ([tmp_path / "none.yaml"], ["--inspect", tmp_path / "none.xlsx"]):
        result = _run(*words)
        assert result.exit_code == 3
        assert "there is no such file" in _said(result)


def test_too_little_time_ends_with_its_own_code(scenario: Path, tmp_path: Path) -> None:
    """5, and nothing is written."""
    result = _run(scenario, *FEW, "--time-limit", "0.00001 s", "-o", tmp_path / "out")
    assert result.exit_code == 5, result.output
    assert "without a plan" in _said(result)
    assert not (tmp_path / "out").exists()


def test_an_inventory_is_inspected(tmp_path: Path) -> None:
    """Words, JSON or files, as of a day."""
    words = _run("--inspect", TRAILER, *ON)
    assert words.exit_code == 0, words.output
    assert "What to mend first" in words.stdout
    assert max(map(len, words.stdout.splitlines())) <= 80
    printed = _run("--inspect", TRAILER, *ON, "--json", "-o", tmp_path / "out")
    assert printed.exit_code == 0
    assert printed.stdout == (tmp_path / "out" / "inspection.json").read_text(encoding="utf-8")
    assert {path.name for path in (tmp_path / "out").iterdir()} == set(INSPECTION_NAMES)
    asked = ("--load", "2 x 15 L/min", "--soon", "10", "--minimum", "400 psi", "--residual", "200 psi")
    other = _run(
        "--inspect", TRAILER, *ON, *asked, "--pressures-in", "bar", "--quiet", "--force", "-o", tmp_path / "out"
    )
    assert (other.exit_code, other.output) == (0, "")


def test_help_fits() -> None:
    """80 columns, every option, and what exit codes mean."""
    result = _run("--help")
    assert result.exit_code == 0
    assert max(map(len, result.output.splitlines())) <= 80
    for word in ("--incidents", "--budget", "--list-gap", "--fresh", "--judged", "--inspect", "--on", "--cluster"):
        assert word in result.output
    assert "4 no list meets the goals" in _said(result)
    assert "130 stopped by Ctrl-C" in _said(result)


def test_ctrl_c_is_told(scenario: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Exit code 130; nothing is kept, which is said."""

    def stop(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("mci.stocking.stock.open_study", stop)
    result = _run(scenario, *QUICK, "-o", tmp_path / "out")
    assert result.exit_code == 130
    assert "mci: stopped; nothing is kept." in _said(result)
    assert list(tmp_path.iterdir()) == []


_MARKED = """
import sys
from pathlib import Path
import mci.stocking.stock as stock
choose, marker = stock.choose, Path(sys.argv.pop())
def marked(*given):
    marker.touch()
    return choose(*given)
stock.choose = marked
sys.argv[1:1] = ["stock"]
from mci.cli import main
main()
"""


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
def test_ctrl_c_stops_a_search(tmp_path: Path) -> None:
    """In the middle of a long one: no traceback, nothing left behind."""
    fair = Path(__file__).parents[2] / "scenarios" / "county-fair.yaml"
    marker, folder = tmp_path / "begun", tmp_path / "out"
    command = [sys.executable, "-c", _MARKED, str(fair), "--incidents", "64", "-o", str(folder), str(marker)]
    with subprocess.Popen(command, stdout=-1, stderr=-1, text=True, start_new_session=True) as process:
        until = time.monotonic() + 60
        while not marker.exists():
            assert process.poll() is None, process.communicate()
            assert time.monotonic() < until
            time.sleep(0.05)
        time.sleep(0.5)
        os.killpg(process.pid, signal.SIGINT)
        told = "".join(process.communicate())
    assert process.returncode == 130
    assert "mci: stopped; nothing is kept." in told
    assert "Traceback" not in told
    assert [path.name for path in tmp_path.iterdir()] == ["begun"]
