"""``mci drill``: what it prints and writes, what it refuses, and a drill played through pipes and a terminal."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from made_yard import YARD, YARD_EXERCISE

from mci.cli import cli
from mci.report.target import DRILL_NAMES

#: Two cylinders in service, one casualty on oxygen, then to the end.
LINES = ("change R1 to C1", "change R2 to C2", "go 4", "connect P01 non-rebreather 15 C1", "state")


def _run(*words: str | Path, columns: int = 80, typed: str | None = None) -> Result:
    return CliRunner(env={"COLUMNS": str(columns)}).invoke(cli, ["drill", *map(str, words)], input=typed)


def _said(result: Result) -> str:
    return " ".join(result.output.split())


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    """A scenario with injects of its own."""
    file = tmp_path / "yard.yaml"
    file.write_text(YARD_EXERCISE, encoding="utf-8")
    return file


@pytest.fixture
def refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """No work may be begun."""
    monkeypatch.setattr("mci.drills.drill.run_drill", lambda *_, **__: pytest.fail("work was begun"))


# --- the packet --------------------------------------------------------------------------------


@pytest.mark.parametrize("columns", [80, 120])
def test_words_fit_the_terminal(yard: Path, columns: int) -> None:
    """How hard, who is hurt, what happens unannounced, objectives, decisions; nothing is written."""
    result = _run(yard, columns=columns)
    assert result.exit_code == 0, result.output
    assert max(map(len, result.output.splitlines())) <= columns
    said = _said(result)
    for words in (
        "Smoke in a yard",
        "usual practice loses",
        "Casualties: 4, all announced",
        "T+20 (10:20): Regulator R2",
        "- O1 ",
        "Worth ",
        "-o writes an answer key" if said.count(" Worth ") >= 6 else "Decisions that matter most",
        "Exercise data, invented; not for care of any patient.",
    ):
        assert words in said, words
    assert "\x1b" not in result.output
    assert [entry.name for entry in yard.parent.iterdir()] == ["yard.yaml"]


def test_the_packet_is_written_and_replaced_only_when_asked(yard: Path, tmp_path: Path) -> None:
    """All files, quietly; not over other files; the exercise of the packet makes the same packet."""
    folder = tmp_path / "packet"
    assert _run(yard, "-o", folder, "--quiet").output == ""
    assert set(DRILL_NAMES) >= {entry.name for entry in folder.iterdir()} >= {"exercise.yaml", "players.html", "data"}
    again = _run(yard, "-o", folder)
    assert again.exit_code == 2
    assert "already holds results" in again.output
    first = (folder / "data" / "orders.csv").read_bytes()
    second = _run(folder / "exercise.yaml", "-o", tmp_path / "second", "--json")
    assert second.exit_code == 0, second.output
    assert (tmp_path / "second" / "data" / "orders.csv").read_bytes() == first
    assert json.loads(second.stdout)


def test_the_same_seed_draws_the_same_and_a_drawn_exercise_keeps_its_own(tmp_path: Path) -> None:
    """All that is told as JSON but for the timings."""
    file = tmp_path / "yard.yaml"
    file.write_text(YARD, encoding="utf-8")

    one = _run(file, "--seed", "7", "-o", tmp_path / "seven", "--json")
    other = _run(file, "--seed", "7", "--json")
    assert _timeless(one.stdout) == _timeless(other.stdout)
    assert _timeless(one.stdout) != _timeless(_run(file, "--seed", "8", "--json").stdout)
    kept = json.loads(_run(tmp_path / "seven" / "exercise.yaml", "--json").stdout)
    assert kept["provenance"]["settings"]["seed"] == 7


def _timeless(text: str) -> object:
    return json.loads(text, object_hook=lambda each: {k: v for k, v in each.items() if k != "timings"})


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--quiet"], "--quiet needs -o"),
        (["--quiet", "--json", "-o", "OUT"], "--quiet needs -o, and nothing else to print"),
        (["--trainee", "--json"], "--trainee shows words"),
        (["--save", "game.json"], "belong to --trainee"),
        (["--script", "lines.txt"], "belong to --trainee"),
        (["--resume", "game.json"], "belong to --trainee"),
        (["--trainee", "--script", "absent.txt"], "cannot read absent.txt"),
        (["--trainee", "--resume", "absent.json"], "cannot read absent.json"),
        (["--trainee", "--save", "HERE"], "is there already"),
        (["--trainee", "--save", "FOLDER"], "is a folder"),
        (["--seed", "-1"], "'--seed'"),
        (["--difficulty", "deadly"], "'--difficulty'"),
        (["--again", "soon"], "'soon'"),
        (["--again", "0 min"], "longer than nothing"),
        (["-o", "FOLDER"], "holds other files"),
    ],
)
@pytest.mark.usefixtures("refused")
def test_wrong_use_is_told_before_any_work(yard: Path, tmp_path: Path, words: list[str], told: str) -> None:
    """With exit code 2."""
    paths = {"HERE": str(yard), "FOLDER": str(tmp_path), "OUT": str(tmp_path / "out")}
    result = _run(yard, *(paths.get(word, word) for word in words))
    assert result.exit_code == 2, result.output
    assert told in _said(result)


def test_a_wrong_scenario_is_told(tmp_path: Path) -> None:
    """With its mistakes, exit code 3."""
    file = tmp_path / "yard.yaml"
    file.write_text(YARD_EXERCISE.replace("wrong washer, at: T+10", "wrong washer, at: never"), encoding="utf-8")
    result = _run(file)
    assert result.exit_code == 3
    assert "never" in result.output


# --- played through pipes ----------------------------------------------------------------------


def test_a_session_through_a_pipe_ends_with_the_debrief(yard: Path, tmp_path: Path) -> None:
    """Lines are echoed after the prompt; the debrief is shown and written."""
    folder = tmp_path / "after"
    result = _run(yard, "--trainee", "-o", folder, typed="\n".join([*LINES, "end", ""]))
    assert result.exit_code == 0, result.output
    assert "T+0 > change R1 to C1\nBegun: R1 goes on C1, by Staff 1, done at T+2." in result.output
    assert "T+4 > connect P01 non-rebreather 15 C1\nDone: connect P01" in result.output
    assert "T+60 (11:00): the end of the exercise." in result.output
    assert "Where the minutes went" in result.output
    assert (folder / "report.html").is_file()


def test_a_script_plays_the_same_twice(yard: Path, tmp_path: Path) -> None:
    """The same words on the terminal; without an end there is no debrief, and nothing is saved unasked."""
    script = tmp_path / "lines.txt"
    script.write_text("\n".join(["# a remark", *LINES]), encoding="utf-8")
    one, other = (_run(yard, "--trainee", "--script", script) for _ in range(2))
    assert one.exit_code == 0, one.output
    assert one.output == other.output
    assert one.output.endswith("Stopped at T+4: nothing is saved without --save.\n")
    assert "Where the minutes went" not in one.output
    assert max(map(len, one.output.splitlines())) <= 80


def test_a_session_is_saved_and_gone_on_with(yard: Path, tmp_path: Path) -> None:
    """Where lines end, and where it is asked for; what is shown then is what would have been shown."""
    game = tmp_path / "game.json"
    first = _run(yard, "--trainee", "--save", game, typed="\n".join([*LINES[:3], "save", ""]))
    assert "Saved in" in first.output
    assert "--resume goes on" in _said(first)
    assert json.loads(game.read_text(encoding="utf-8"))["lines"] == list(LINES[:3])
    went_on = _run(yard, "--trainee", "--resume", game, "--save", game, typed="\n".join([*LINES[3:], ""]))
    at_once = _run(yard, "--trainee", typed="\n".join([*LINES, ""]))
    assert went_on.exit_code == 0, went_on.output
    last = "T+4 > connect P01"
    assert (
        went_on.output.partition(last)[2].partition("Stopped")[0]
        == (at_once.output.partition(last)[2].partition("Stopped")[0])
    )
    assert json.loads(game.read_text(encoding="utf-8"))["lines"] == list(LINES[:4])
    finished = _run(yard, "--trainee", "--resume", game, typed="end\n")
    assert "Where the minutes went" in finished.output


def test_a_session_of_another_drill_is_refused(yard: Path, tmp_path: Path) -> None:
    """With exit code 3 and what to do; the file stays as it was."""
    game = tmp_path / "game.json"
    _run(yard, "--trainee", "--save", game, typed="go 4\n")
    before = game.read_bytes()
    result = _run(yard, "--trainee", "--seed", "9", "--resume", game, "--save", game, typed="")
    assert result.exit_code == 3
    assert "belongs to another drill" in _said(result)
    assert game.read_bytes() == before


# --- played at a terminal ----------------------------------------------------------------------


class _Terminal:
    """The program at a pseudo-terminal."""

    def __init__(self, *words: str | Path) -> None:
        import pty

        self._fd, other = pty.openpty()
        command = [sys.executable, "-m", "mci", "drill", *map(str, words)]
        environment = {**os.environ, "COLUMNS": "90", "TERM": "xterm", "NO_COLOR": "1"}
        self.process = subprocess.Popen(
            command, stdin=other, stdout=other, stderr=other, env=environment, start_new_session=True
        )
        os.close(other)
        self.seen = ""

    def wait_for(self, words: str) -> str:
        """Read until some words have come; return what came since they were waited for last."""
        begin = len(self.seen)
        until = time.monotonic() + 120
        while words not in self.seen[begin:]:
            try:
                more = os.read(self._fd, 65536).decode("utf-8", "replace")
            except OSError:  # Linux ends a pseudo-terminal so
                more = ""
            if not more or time.monotonic() > until:
                pytest.fail(f"{words!r} did not come after: {self.seen[-600:]}")
            self.seen += more
        return self.seen[begin:]

    def type(self, line: str) -> None:
        """Type a line."""
        os.write(self._fd, f"{line}\n".encode())

    def close(self) -> int:
        """Read to the end; return the exit code."""
        with contextlib.suppress(OSError):
            while more := os.read(self._fd, 65536):
                self.seen += more.decode("utf-8", "replace")
        os.close(self._fd)
        return self.process.wait(60)


@contextlib.contextmanager
def _terminal(*words: str | Path) -> Iterator[_Terminal]:
    terminal = _Terminal(*words)
    try:
        yield terminal
    finally:
        if terminal.process.poll() is None:
            terminal.process.kill()
            terminal.process.wait(60)


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no pseudo-terminals of this kind")
def test_a_session_at_a_terminal(yard: Path, tmp_path: Path) -> None:
    """Typed lines are not written twice; orders, undo, end, debrief."""
    with _terminal(yard, "--trainee", "-o", tmp_path / "after") as terminal:
        terminal.wait_for("T+0 > ")
        terminal.type("change R1 to C1")
        told = terminal.wait_for("T+0 > ")
        assert told.count("change R1 to C1") == 1
        assert "Begun: R1 goes on C1" in told
        terminal.type("undo")
        assert "Undone: change R1 to C1" in terminal.wait_for("T+0 > ")
        terminal.type("go to T+4")
        assert "P01 arrives" in terminal.wait_for("T+4 > ")
        terminal.type("end")
        terminal.wait_for("Where the minutes went")
        assert terminal.close() == 0
    assert "report.html" in terminal.seen


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no pseudo-terminals of this kind")
def test_ctrl_c_at_a_terminal_keeps_the_session(yard: Path, tmp_path: Path) -> None:
    """Exit code 130, and the session can be gone on with."""
    game = tmp_path / "game.json"
    with _terminal(yard, "--trainee", "--save", game) as terminal:
        terminal.wait_for("T+0 > ")
        terminal.type("go to T+4")
        terminal.wait_for("T+4 > ")
        terminal.process.send_signal(signal.SIGINT)
        assert terminal.close() == 130
    assert "--resume goes on" in " ".join(terminal.seen.split())
    assert "Traceback" not in terminal.seen
    assert json.loads(game.read_text(encoding="utf-8"))["lines"] == ["go to T+4"]
