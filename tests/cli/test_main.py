"""The command line as a whole: exit codes, no traceback, nothing written after a failure."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

PROJECT = Path(__file__).resolve().parents[2]
BY_HAND = PROJECT / "scenarios" / "by-hand.yaml"


def _mci(*arguments: str | Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "mci", *map(str, arguments)]
    environment = {**os.environ, "PYTHONIOENCODING": "utf-8", "PYTHONUTF8": "1"}
    return subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=False, env=environment)


@pytest.fixture
def broken(tmp_path: Path) -> Path:
    """Return a scenario with a misspelt key, a wrong unit, a negative count and a missing file."""
    text = BY_HAND.read_text(encoding="utf-8")
    for good, bad in (
        ("areas:", "area:"),
        ("horizon: 60 min", "horizon: 60 litres"),
        ("count: 2, pressure", "count: -2, pressure"),
        ("patients:\n", "patients:\n  - {roster: nobody.csv}\n"),
    ):
        assert good in text
        text = text.replace(good, bad, 1)
    file = tmp_path / "broken.yaml"
    file.write_text(text, encoding="utf-8")
    return file


@pytest.mark.parametrize("command", ["check", "plan"])
def test_all_mistakes_are_told_at_once(command: str, broken: Path) -> None:
    """Four unlike mistakes are reported together, each with its line, and the exit code is 3."""
    done = _mci(command, broken)
    told = done.stdout + done.stderr
    assert done.returncode == 3
    lines = broken.read_text(encoding="utf-8").splitlines()
    for found in ("area: {", "60 litres", "count: -2", "nobody.csv"):
        (line,) = (n for n, text in enumerate(lines, start=1) if found in text.split("#")[0])
        assert f"broken.yaml:{line}:" in told
    assert "Did you mean 'areas'?" in told
    assert "Traceback" not in told


def test_a_reserve_that_cannot_be_kept(tmp_path: Path) -> None:
    """A hard requirement that no plan can meet ends with exit code 4, says which, and writes nothing."""
    file = tmp_path / "reserve.yaml"
    text = BY_HAND.read_text(encoding="utf-8").replace("staff:", "reserve: {jetty: 9000 L}\nstaff:", 1)
    file.write_text(text, encoding="utf-8")
    done = _mci("plan", file, "-o", tmp_path / "out")
    assert done.returncode == 4
    assert "reserve of 9000 L" in done.stderr
    assert not (tmp_path / "out").exists()


def test_a_limit_without_a_plan(tmp_path: Path) -> None:
    """A time limit too short for any plan ends with exit code 5 and writes nothing."""
    done = _mci(
        "plan", PROJECT / "scenarios" / "tunnel-fire.yaml", "--time-limit", "0.000001 s", "-o", tmp_path / "out"
    )
    assert done.returncode == 5
    assert not (tmp_path / "out").exists()


def test_wrong_use() -> None:
    """A command that does not exist ends with exit code 2 and names the nearest."""
    done = _mci("chek", BY_HAND)
    assert done.returncode == 2
    assert "Did you mean 'check'?" in done.stderr


def test_version() -> None:
    """The version is told."""
    assert _mci("--version").stdout.startswith("mci, version ")
