"""A scenario that is read once and built many times, with other numbers."""

from __future__ import annotations

import copy
import dataclasses
import functools
import hashlib
import json
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from mci.errors import InputError, Mistake, UsageError
from mci.scenario.combined import Combined, Sheet, find_combined
from mci.scenario.known import Known, Wrong, nearest
from mci.scenario.leaves import Leaf, find_leaves
from mci.scenario.numbers import Number, NumberKind
from mci.scenario.quantity import UNITS, read_value, write_value
from mci.scenario.read import Files, build, known_of, read_files
from mci.units import UnitError

if TYPE_CHECKING:
    import pathlib
    from collections.abc import Iterator, Mapping

    from mci.scenario.model import Scenario
    from mci.scenario.yaml_positions import Where

__all__ = ["Draft", "read_draft"]


@dataclass(frozen=True, slots=True)
class _Entry:
    """A number, how it is set, and the places in the files that this changes."""

    number: Number
    rule: Leaf | Combined
    touches: frozenset[Where]


@dataclass(frozen=True)
class Draft:
    """A scenario as written, from which variants are built; plain data that can be sent to other processes.

    Parameters
    ----------
    files
        What the files of the scenario hold.
    """

    files: Files

    @property
    def file(self) -> str:
        """Name of the scenario file."""
        return self.files.positions.file

    @property
    def sha256(self) -> str:
        """Hash over the scenario file and every file that it names."""
        return self.files.sha256

    @functools.cached_property
    def numbers(self) -> Mapping[str, Number]:
        """Every number that can be varied, by path: those that stand for several, then each as written.

        Raises
        ------
        InputError
            If the scenario has mistakes.
        """
        return MappingProxyType({entry.number.path: entry.number for entry in self._entries.values()})

    def scenario(self, values: Mapping[str, str] = MappingProxyType({})) -> Scenario:
        """Build a variant.

        Parameters
        ----------
        values
            Texts by path, each as a planner would write it; whatever is not named is as written.

        Raises
        ------
        InputError
            With all mistakes of the variant.
        UsageError
            If a path is unknown, or two paths set the same number.
        """
        if not values:
            return build(self.files)
        return build(self._with(self._find(values)))

    def find(self, path: str) -> Number:
        """Return the number that a path names, whatever its capitals and spaces.

        Raises
        ------
        UsageError
            If there is none, with those most like it.
        """
        return self._entry(path).number

    def __getstate__(self) -> dict[str, Any]:
        """Leave out what is found again where it is asked for."""
        return {"files": self.files}

    @functools.cached_property
    def _entries(self) -> Mapping[str, _Entry]:
        known = known_of(self.files)
        build(self.files, known)
        sheet = self._sheet(known)
        single = {_plain(entry.number.path): entry for entry in _single(self.files, sheet, known)}
        several = {_plain(entry.number.path): entry for entry in _several(sheet)}
        return {**several, **single}  # a line that is called like a category keeps its name

    def _sheet(self, known: Known) -> Sheet:
        tables = {where: copy.deepcopy(table.rows) for where, table in self.files.tables.items()}
        return Sheet(
            copy.deepcopy(self.files.tree), tables, self.files.start, _FullPressures(self.files.tree, known), set()
        )

    def _entry(self, path: str) -> _Entry:
        entry = self._entries.get(_plain(path))
        if entry is None:
            hint = nearest(_plain(path), self.numbers, most=3)
            raise UsageError(f"there is no number {path!r} in {self.file}. {hint} `mci check --numbers` lists them.")
        return entry

    def _find(self, values: Mapping[str, str]) -> list[tuple[_Entry, str]]:
        found = [(self._entry(path), text) for path, text in values.items()]
        taken: dict[Where, str] = {}
        for entry, _ in found:
            for where in entry.touches:
                other = taken.setdefault(where, entry.number.path)
                if other != entry.number.path:
                    raise UsageError(f"{other!r} and {entry.number.path!r} set the same number; vary one of them")
        return found

    def _with(self, found: list[tuple[_Entry, str]]) -> Files:
        """Return the files with other numbers."""
        sheet = self._sheet(known_of(self.files))
        mistakes = []
        for entry, text in found:
            try:
                _put(sheet, entry, text)
            except (UnitError, Wrong) as wrong:
                fix = getattr(wrong, "fix", "")
                mistakes.append(Mistake(str(wrong), fix, self.file, path=entry.number.path, value=text))
        if mistakes:
            raise InputError(mistakes)
        tree, tables = _without_left_out(sheet)
        values = json.dumps(sorted((entry.number.path, text) for entry, text in found))
        whole = hashlib.sha256(f"{self.sha256}{values}".encode())
        kept = {
            where: dataclasses.replace(self.files.tables[before], rows=rows) for where, (before, rows) in tables.items()
        }
        return dataclasses.replace(self.files, tree=tree, tables=kept, sha256=whole.hexdigest())


def read_draft(path: str | pathlib.Path) -> Draft:
    """Read a scenario to build variants of it.

    Raises
    ------
    InputError
        If it cannot be read at all; other mistakes are told when it is built.
    """
    return Draft(read_files(path))


def _plain(path: str) -> str:
    return " ".join(path.lower().split())


class _FullPressures(dict[str, float]):
    """Full pressure [psi] of each kind of cylinder, looked up when it is first asked for."""

    def __init__(self, tree: Mapping[str, Any], known: Known) -> None:
        super().__init__()
        self._own, self._known = tree.get("cylinder kinds") or {}, known

    def __missing__(self, name: str) -> float:
        if name in self._own:
            self[name] = read_value(NumberKind.PRESSURE, self._own[name]["full pressure"])
        else:
            self[name] = self._known.catalogue.cylinders[self._known.key_of("cylinder", name)].full_psi
        return self[name]


def _single(files: Files, sheet: Sheet, known: Known) -> Iterator[_Entry]:
    tables = {where: table.rows for where, table in files.tables.items()}
    for leaf in find_leaves(files.tree, tables, known.classes):
        value = read_value(leaf.kind, leaf.text, sheet.start)
        what = leaf.kind.value + (f" in {files.tables[leaf.table].file}" if leaf.table else "")
        number = Number(leaf.path, leaf.kind, leaf.text, value, UNITS.get(leaf.kind, ""), what)
        yield _Entry(number, leaf, frozenset({(*(leaf.table or ()), *leaf.where)}))


def _several(sheet: Sheet) -> Iterator[_Entry]:
    for path, kind, rule, what in find_combined(sheet):
        value = rule.value(sheet)
        text = "100 %" if kind is NumberKind.SHARE else write_value(kind, value)
        yield _Entry(Number(path, kind, text, value, UNITS.get(kind, ""), what), rule, frozenset(rule.touches(sheet)))


def _put(sheet: Sheet, entry: _Entry, text: str) -> None:
    rule = entry.rule
    if not isinstance(rule, Leaf):
        rule.put(sheet, read_value(entry.number.kind, text, sheet.start))
        return
    node: Any = sheet.tree if rule.table is None else sheet.tables[rule.table]
    for part in rule.where[:-1]:
        node = node[part]
    node[rule.where[-1]] = text


def _without_left_out(sheet: Sheet) -> tuple[dict[str, Any], dict[Where, tuple[Where, list[dict[str, str]]]]]:
    """Return the tree without the lines left out, and the tables at their new places, each with the old one."""
    tree, tables = dict(sheet.tree), {where: (where, rows) for where, rows in sheet.tables.items()}
    for section in {where[0] for where in sheet.left_out}:
        kept = [n for n in range(len(tree[section])) if (section, n) not in sheet.left_out]
        tree[section] = [tree[section][n] for n in kept]
        moved = {(section, old): (section, new) for new, old in enumerate(kept)}
        tables = {moved.get(where, where): each for where, each in tables.items()}
    return tree, tables
