"""The house: imports point down, heavy libraries stay in their rooms, the public surface is what it says."""

from __future__ import annotations

import ast
import json
import subprocess
import sys
from pathlib import Path

import pytest

import mci

PACKAGE = Path(mci.__file__).parent
#: Rooms from the ground up; a room may import from rooms below and from itself.
FLOORS = (
    {"cells", "errors", "units"},
    {"timegrid", "settings", "provenance", "start"},
    {"physics"},
    {"catalogue"},
    {"scenario"},
    {"demand"},
    {"plan"},
    {"lp", "replay"},
    {"resupply"},
    {"dispatch"},
    {"pipeline"},
    {"pipeline_resupply"},
    {"surge"},
    {"stocking", "drills"},
    {"report"},
    {"cli"},
    {"__main__", "__init__"},
)
FILES = sorted(PACKAGE.rglob("*.py"))


def _room(file: Path) -> str:
    first = file.relative_to(PACKAGE).parts[0]
    return first.removesuffix(".py")


def _imports(file: Path) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
    return found


def _floor(room: str) -> int:
    return next(number for number, rooms in enumerate(FLOORS) if room in rooms)


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.relative_to(PACKAGE).as_posix())
def test_imports_point_down(file: Path) -> None:
    """A file imports only its own room and rooms on lower floors."""
    here = _room(file)
    rooms = {name.split(".")[1] for name in _imports(file) if name.startswith("mci.")}
    assert {room for room in rooms if room != here and _floor(room) >= _floor(here)} == set()


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.relative_to(PACKAGE).as_posix())
def test_models_are_written_in_one_place(file: Path) -> None:
    """Nothing outside ``lp`` imports PuLP or HiGHS."""
    heavy = {name for name in _imports(file) if name.split(".")[0] in ("pulp", "highspy")}
    assert _room(file) == "lp" or heavy == set()


def _loaded(statement: str) -> set[str]:
    code = f"{statement}\nimport sys, json; print(json.dumps(sorted(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return {name.split(".")[0] for name in json.loads(done.stdout.splitlines()[-1])}


HEAVY = {"pandas", "numpy", "pulp", "highspy", "networkx", "matplotlib", "pydantic", "jinja2", "scipy"}


def test_import_is_light() -> None:
    """``import mci`` loads no heavy library."""
    assert _loaded("import mci") & HEAVY == set()


def test_help_is_light() -> None:
    """``mci --help`` loads no heavy library."""
    statement = "from mci.cli import cli\ntry:\n    cli(['--help'])\nexcept SystemExit:\n    pass"
    assert _loaded(statement) & HEAVY == set()


def test_public_names_are_sorted_and_there() -> None:
    """``mci.__all__`` is sorted, and every name in it can be had."""
    assert sorted(mci.__all__) == mci.__all__
    assert all(getattr(mci, name) is not None for name in mci.__all__)
