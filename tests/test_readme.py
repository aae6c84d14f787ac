"""The README tells the truth: its example plans, its files exist, its commands are there."""

from __future__ import annotations

import re
from pathlib import Path

import mci
from mci.cli import cli

PROJECT = Path(mci.__file__).resolve().parents[1]
TEXT = (PROJECT / "README.md").read_text(encoding="utf-8")


def test_example_plans(tmp_path: Path) -> None:
    """The scenario that the README prints can be read and planned as it stands."""
    (example,) = re.findall(r"```yaml\n(.*?)```", TEXT, flags=re.DOTALL)
    file = tmp_path / "my.yaml"
    file.write_text(example, encoding="utf-8")
    run = mci.run(mci.read_scenario(file))
    assert run.coverage["patients"].iloc[-1] == 13


def test_files_exist() -> None:
    """Every file and folder that the README names is in the project."""
    named = re.findall(r"[`(]((?:scenarios|notebooks|tests|mci|\.images)/[\w./-]*)[`)]", TEXT)
    assert named
    assert [name for name in named if not (PROJECT / name).exists()] == []


def test_every_scenario_is_listed() -> None:
    """Every bundled scenario stands in the README's table."""
    bundled = {f"scenarios/{file.name}" for file in (PROJECT / "scenarios").glob("*.yaml")}
    assert bundled == set(re.findall(r"\| `(scenarios/[\w-]+\.yaml)` \|", TEXT))


def test_every_command_is_listed() -> None:
    """Every command stands in the README's table, and no other."""
    assert set(re.findall(r"\| `mci (\w+) ", TEXT)) == set(cli.commands) | set(cli.list_commands(None))  # type: ignore[arg-type]


def test_top_level_holds_only_what_it_may() -> None:
    """Nothing stands at the top level but what the project allows, and files that begin with a dot."""
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "mci", "scenarios", "tests", "notebooks"}
    made = {"out", "build", "dist", "mci.egg-info"}
    found = {path.name for path in PROJECT.iterdir() if not path.name.startswith(".")}
    assert found - made <= allowed
    assert allowed <= found
