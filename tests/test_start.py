"""First steps: the right commands in the right order, and the first failure ends them."""

from __future__ import annotations

from pathlib import Path

import pytest

from mci import start


@pytest.fixture
def commands(monkeypatch: pytest.MonkeyPatch) -> list[list[str]]:
    """Record the commands instead of running them; no environment is made."""
    ran: list[list[str]] = []

    def record(*command: str | Path) -> int:
        ran.append([str(part) for part in command])
        return 0

    monkeypatch.setattr(start, "_run", record)
    monkeypatch.setattr(start, "_python_in", lambda environment: environment / "python")
    return ran


def test_plan_installs_then_plans(commands: list[list[str]], tmp_path: Path) -> None:
    """The project is installed before the bundled scenario is planned, by the environment's own Python."""
    assert start.main(["plan", "--venv", str(tmp_path)]) == 0
    assert [command[1:4] for command in commands] == [["-m", "pip", "install"], ["-m", "mci", "plan"]]
    assert {command[0] for command in commands} == {str(tmp_path / "python")}


def test_test_installs_what_tests_need(commands: list[list[str]], tmp_path: Path) -> None:
    """The tests run with the extra that they need."""
    assert start.main(["test", "--venv", str(tmp_path)]) == 0
    assert commands[0][-1] == ".[test]"
    assert commands[1][1:3] == ["-m", "pytest"]


def test_a_failed_install_ends_it(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """When the installation fails, nothing else runs and its exit code is passed on."""
    ran: list[int] = []
    monkeypatch.setattr(start, "_run", lambda *_: ran.append(1) or 7)
    monkeypatch.setattr(start, "_python_in", lambda environment: environment)
    assert start.main(["plan", "--venv", str(tmp_path)]) == 7
    assert ran == [1]


def test_scenario_is_there() -> None:
    """The scenario that the first command plans is bundled."""
    assert (start.PROJECT / start.SCENARIO).exists()
