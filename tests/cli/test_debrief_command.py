"""``mci debrief``: what it prints and writes, what it refuses, how it ends; the debrief itself is a made one."""

from __future__ import annotations

import dataclasses
import json
import re
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from made_debrief import HALL, made_debrief

from mci.cli import cli
from mci.drills.debriefed import Debrief
from mci.report.debrief_build import EXERCISE, build_debrief_page
from mci.report.target import DEBRIEF_NAMES

#: A crew that leaves an empty cylinder on; the third line names nobody that there is.
LOG = """\
time,action,patient,device,flow,supply,regulator,by
14:05,change cylinder,,,,C1,R1,
14:05,conect,p1,NRB,15,C1,R1,
14:06,connect,P77,NRB,15,C1,R1,
14:12,change cylinder,,,,C2,R2,Somebody Real
14:12,connect,P02,simple mask,6,C2,R2,
"""


def _run(*words: str | Path, columns: int = 80) -> Result:
    return CliRunner(env={"COLUMNS": str(columns)}).invoke(cli, ["debrief", *map(str, words)])


def _said(result: Result) -> str:
    return " ".join(result.output.split())


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A scenario and a log."""
    folder = tmp_path_factory.mktemp("hall")
    (folder / "hall.yaml").write_text(HALL, encoding="utf-8")
    (folder / "log.csv").write_text(LOG, encoding="utf-8")
    return folder / "hall.yaml", folder / "log.csv"


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch) -> Debrief:
    """The debrief is the made one, whatever the log says."""
    found = made_debrief()
    monkeypatch.setattr("mci.drills.read_log.read_log", lambda *_: found.log)
    monkeypatch.setattr("mci.drills.debrief.run_debrief", lambda *_, **__: found)
    return found


@pytest.fixture
def refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """No work may be begun."""
    monkeypatch.setattr("mci.drills.debrief.run_debrief", lambda *_, **__: pytest.fail("work was begun"))


@pytest.mark.parametrize("columns", [80, 120])
def test_words_fit_the_terminal_and_say_what_the_page_says(
    files: tuple[Path, Path], made: Debrief, columns: int
) -> None:
    """Nothing is wider, nothing is coloured when piped; headline, causes, decisions, objectives and log are there."""
    result = _run(*files, columns=columns)
    assert result.exit_code == 0, result.output
    assert max(map(len, result.stdout.splitlines())) <= columns
    assert "\x1b" not in result.stdout
    said = _said(result)
    page = build_debrief_page(made)
    assert EXERCISE in said
    for sentence in (*page.headline, page.body.rule, page.body.log_sum):
        assert " ".join(sentence.split()) in said
    for row in page.body.causes:
        assert re.search(rf"{re.escape(row.name)} +{re.escape(row.lost)} +{re.escape(row.share)}", result.stdout)
    for card in page.body.decisions:
        assert f"{card.when}: {card.at_best} at best, {card.by_orders} by orders" in said
        assert f"Done: {card.did}" in said
        assert f"Better: {card.better}" in said
    for objective in page.body.objectives:
        assert f"{objective.status}: {objective.key} {objective.text}" in said
    assert "-o writes a report that has all" in said
    assert "Somebody Real" not in said


def test_files_are_written_and_told(files: tuple[Path, Path], made: Debrief, tmp_path: Path) -> None:
    """Page, tables, orders, workbook and JSON; earlier results only with --force."""
    folder = tmp_path / "out"
    result = _run(*files, "-o", folder)
    assert result.exit_code == 0, result.output
    assert {path.name for path in folder.iterdir()} == set(DEBRIEF_NAMES)
    assert "Written to" in _said(result)
    assert "the report has all" in _said(result)
    again = _run(*files, "-o", folder)
    assert again.exit_code == 2
    assert "already holds results" in _said(again)
    assert _run(*files, "-o", folder, "--force", "--quiet").output == ""
    assert made.scenario.name in (folder / "report.html").read_text(encoding="utf-8")


@pytest.mark.usefixtures("made")
def test_json_is_what_is_written(files: tuple[Path, Path], tmp_path: Path) -> None:
    """Stdout is the JSON file; where the files are is told on stderr."""
    result = _run(*files, "--json", "-o", tmp_path / "out")
    assert result.exit_code == 0, result.output
    assert result.stdout == (tmp_path / "out" / "results.json").read_text(encoding="utf-8")
    record: dict[str, Any] = json.loads(result.stdout)
    assert record["format"] == "mci debrief"
    assert "Written to" in result.stderr


@pytest.mark.usefixtures("refused")
@pytest.mark.parametrize(
    ("words", "told"),
    [(("--quiet",), "--quiet needs -o"), (("--gap", "2"), "--gap"), (("--time-limit", "soon"), "--time-limit")],
)
def test_wrong_use_is_told_before_any_work(files: tuple[Path, Path], words: tuple[str, ...], told: str) -> None:
    """Exit code 2, no traceback."""
    result = _run(*files, *words)
    assert result.exit_code == 2
    assert told in _said(result)
    assert "Traceback" not in result.output


@pytest.mark.usefixtures("refused")
def test_a_folder_with_other_files_is_refused_before_any_work(files: tuple[Path, Path], tmp_path: Path) -> None:
    """Nothing of anybody else's is replaced, not even with --force."""
    (tmp_path / "mine.txt").write_text("keep", encoding="utf-8")
    result = _run(*files, "-o", tmp_path, "--force")
    assert result.exit_code == 2
    assert "holds other files" in _said(result)


@pytest.mark.usefixtures("refused")
def test_a_log_of_which_nothing_can_be_read_is_a_mistake(
    files: tuple[Path, Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Exit code 3, with what is wrong in each line."""
    log = made_debrief().log
    monkeypatch.setattr("mci.drills.read_log.read_log", lambda *_: dataclasses.replace(log, orders=(), lines=()))
    result = _run(*files)
    assert result.exit_code == 3
    assert "nothing of this log can be read" in _said(result)
    assert "log.csv:5: supply: There is no cylinder '=C9'" in _said(result)


@pytest.mark.usefixtures("refused")
def test_mistakes_in_files_are_told(files: tuple[Path, Path], tmp_path: Path) -> None:
    """A scenario that is wrong, or a file that is not there: exit code 3, no traceback."""
    wrong = tmp_path / "wrong.yaml"
    wrong.write_text("incident: {name: x}\n", encoding="utf-8")
    for words in ((wrong, files[1]), (files[0], tmp_path / "none.csv")):
        result = _run(*words)
        assert result.exit_code == 3, result.output
        assert "Traceback" not in result.output


def test_a_log_from_end_to_end(files: tuple[Path, Path], tmp_path: Path) -> None:
    """Nothing made: the losses of a real debrief sum to the whole, and what was corrected or left out is told."""
    result = _run(*files, "-o", tmp_path / "out")
    assert result.exit_code == 0, result.output
    said = _said(result)
    assert "'conect' read as 'connect'" in said
    assert "P77" in said
    assert "Somebody Real" not in said
    record = json.loads((tmp_path / "out" / "results.json").read_text(encoding="utf-8"))
    tables = record["tables"]
    lost = tables["causes"]["columns"].index("lost_weighted_credit_min")
    whole = record["outcome"]["lost_weighted_credit_min"]
    assert whole > 0
    assert sum(row[lost] for row in tables["causes"]["rows"]) == pytest.approx(whole, abs=1e-4)
    over_time = tables["over_time"]
    assert len({row[0] for row in over_time["rows"]}) == 4
    assert all("Somebody Real" not in file.read_text(encoding="utf-8", errors="ignore")
               for file in (tmp_path / "out").rglob("*.*") if file.is_file())  # fmt: skip


def test_help_says_what_it_is_for() -> None:
    """Arguments, options and exit codes."""
    result = _run("--help")
    assert result.exit_code == 0
    for word in ("SCENARIO", "LOG", "--output", "--force", "--quiet", "--json", "--time-limit", "Exit codes"):
        assert word in result.output
