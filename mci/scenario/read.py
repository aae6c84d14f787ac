"""Read a scenario file and the files that it names; all mistakes are told at once.

In this order, each step going on as far as it can when the one before found mistakes: text to
tree, names that the file defines, the files it names, the schema of every line and row, and
last what the parts say together.
"""

from __future__ import annotations

import dataclasses
import hashlib
import pathlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from pydantic import TypeAdapter, ValidationError

from mci.catalogue.load import load_catalogue
from mci.errors import InputError, Mistake
from mci.scenario.build import build_scenario
from mci.scenario.build_uncertain import build_uncertainty
from mci.scenario.entries import find_entries
from mci.scenario.known import Known, gather
from mci.scenario.mistakes import tell
from mci.scenario.schema import ScenarioFile
from mci.scenario.schema_patients import RosterLine
from mci.scenario.schema_supplies import InventoryRow
from mci.scenario.table import Table, read_table
from mci.scenario.yaml_positions import parse_yaml, read_bytes
from mci.units import UnitError, parse_clock

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from mci.scenario.model import Scenario
    from mci.scenario.uncertain import Uncertainty
    from mci.scenario.yaml_positions import Positions, Where

__all__ = ["Files", "build", "check_rows", "known_of", "read_files", "read_scenario"]


def read_scenario(path: str | pathlib.Path) -> Scenario:
    """Read a scenario.

    Parameters
    ----------
    path
        YAML file; rosters and inventories that it names lie in its folder or below.

    Raises
    ------
    InputError
        With all mistakes of all files.
    """
    return build(read_files(path))


@dataclass(frozen=True, slots=True)
class Files:
    """A scenario as its files have it, before anything is checked.

    Parameters
    ----------
    tree
        Dicts, lists and texts of the scenario file.
    positions
        Where they stand in it.
    tables
        What rosters, inventories and observed values hold, by the place of the line that names the file.
    mistakes
        Found so far; there is no scenario where there is any.
    sha256
        Hash over the contents of all files.
    """

    tree: dict[str, Any]
    positions: Positions
    tables: Mapping[Where, Table]
    mistakes: tuple[Mistake, ...]
    sha256: str

    @property
    def start(self) -> int | None:
        """Clock time of T+0 [min after midnight]."""
        return _start(self.tree)


def read_files(path: str | pathlib.Path) -> Files:
    """Read a scenario file and the files that it names.

    Raises
    ------
    InputError
        If it cannot be read at all; mistakes that leave more to check are kept.
    """
    path = pathlib.Path(path)
    content = read_bytes(path, path.name)
    tree, positions, mistakes = parse_yaml(content, path.name)
    if not isinstance(tree, dict):
        raise InputError([Mistake("holds no scenario: lines of 'key: value'", "", path.name)])
    tables = _tables(tree, positions, path.parent, mistakes)
    return Files(tree, positions, tables, tuple(mistakes), _hash(content, tables))


def known_of(files: Files) -> Known:
    """Return the names that a scenario may refer to; what is found while checking is noted there."""
    return gather(files.tree, load_catalogue(), files.start)


def build(files: Files, known: Known | None = None) -> Scenario:
    """Check a scenario and build it.

    Raises
    ------
    InputError
        With all mistakes of all files.
    """
    known, mistakes, tables = known or known_of(files), list(files.mistakes), files.tables
    rosters = {
        where: check_rows(tables[where], RosterLine, known, mistakes) for where in tables if where[0] == "patients"
    }
    inventories = {
        where: check_rows(tables[where], InventoryRow, known, mistakes) for where in tables if where[0] == "supplies"
    }
    file = _file(files.tree, files.positions, known, mistakes)
    if mistakes or file is None:
        raise InputError(mistakes)
    uncertainty, told = _uncertainty(file, files, known)
    try:
        built = build_scenario(file, files.positions, tables, rosters, inventories, known.catalogue, files.sha256)
    except InputError as error:
        raise InputError([*error.mistakes, *told]) from None
    if told:
        raise InputError(told)
    return dataclasses.replace(built, uncertainty=uncertainty) if uncertainty else built


def _uncertainty(file: ScenarioFile, files: Files, known: Known) -> tuple[Uncertainty | None, list[Mistake]]:
    """Return what is uncertain, ``None`` where nothing is, and the mistakes in it."""
    if not file.uncertain:
        return None, []
    entries = find_entries(files.tree, files.tables, known)
    return build_uncertainty(file.uncertain, entries, known, files.tables, files.positions.mistake)


def _start(tree: dict[str, Any]) -> int | None:
    """Return the clock time of T+0 where it can be read; what is wrong with it is told by the schema."""
    incident = tree.get("incident")
    start = incident.get("start") if isinstance(incident, dict) else None
    try:
        return parse_clock(start) if isinstance(start, str) else None
    except UnitError:
        return 0  # so that clock times elsewhere are not told as mistakes of their own


def _file(tree: dict[str, Any], positions: Positions, known: Known, mistakes: list[Mistake]) -> ScenarioFile | None:
    try:
        return ScenarioFile.model_validate(tree, context=known)
    except ValidationError as error:
        told = {(m.line, m.column) for m in mistakes if m.file == positions.file}
        found = tell(error, tree, known, positions.mistake)
        mistakes += [m for m in found if (m.line, m.column) not in told]
        return None


def check_rows(table: Table, shape: Any, known: Known, mistakes: list[Mistake]) -> list[Any]:
    """Return the rows of a table in their shape; none where there are mistakes, which are noted."""
    try:
        return TypeAdapter(list[shape]).validate_python(table.rows, context=known)
    except ValidationError as error:
        mistakes += tell(error, table.rows, known, table.mistake)
        return []


def _tables(
    tree: dict[str, Any], positions: Positions, folder: pathlib.Path, mistakes: list[Mistake]
) -> dict[Where, Table]:
    """Read every file that a line names, in the order of the scenario."""
    tables: dict[Where, Table] = {}
    for where, line in _lines_that_name_files(tree):
        name, sheet = line.get(where[-1]), line.get("sheet")
        if not isinstance(name, str) or not name.lower().endswith((".csv", ".xlsx")):
            continue  # told by the schema
        if not _inside(folder, name):
            rule, fix = "must lie in the folder of the scenario or below", "Write a plain name such as patients.csv."
            mistakes.append(positions.mistake(where, rule, fix, name))
            continue
        try:
            tables[where[:2]] = read_table(folder / name, name, sheet if isinstance(sheet, str) else None)
        except InputError as error:
            for found in error.mistakes:
                at_line = positions.mistake(where, found.rule, found.fix, name)
                mistakes.append(found if found.line else at_line)
    return tables


def _lines_that_name_files(tree: dict[str, Any]) -> Iterator[tuple[Where, dict[str, Any]]]:
    """Yield mappings that may name a file, each with the place where its name would be."""
    for section, word in (("patients", "roster"), ("supplies", "inventory"), ("uncertain", "from")):
        lines = tree.get(section)
        for index, line in enumerate(lines if isinstance(lines, list) else []):
            if isinstance(line, dict):
                yield (section, index, word), line
            if section == "uncertain" and isinstance(line, dict) and isinstance(line.get("total"), dict):
                yield (section, index, "total", word), line["total"]


def _inside(folder: pathlib.Path, name: str) -> bool:
    pure = pathlib.PurePosixPath(name.replace("\\", "/"))
    if pure.is_absolute() or ".." in pure.parts or ":" in name:
        return False
    root = folder.resolve()
    return (root / name).resolve().is_relative_to(root)


def _hash(content: bytes, tables: dict[Where, Table]) -> str:
    """Hash the contents of the scenario and of what it names, whatever the files are called."""
    whole = hashlib.sha256(hashlib.sha256(content).digest())
    for where in sorted(tables, key=lambda w: (w[0], w[1])):
        whole.update(hashlib.sha256(tables[where].content).digest())
    return whole.hexdigest()
