"""A scenario that is read once and built many times, with other numbers."""

from __future__ import annotations

import dataclasses
import functools
import hashlib
import json
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from mci.errors import InputError, Mistake, UsageError
from mci.scenario.entries import Entry, blank_sheet, find_entries, hint
from mci.scenario.known import Wrong
from mci.scenario.leaves import Leaf
from mci.scenario.numbers import plain_path
from mci.scenario.read import Files, build, known_of, read_files
from mci.units import UnitError

if TYPE_CHECKING:
    import pathlib
    from collections.abc import Mapping

    from mci.scenario.combined import Sheet
    from mci.scenario.model import Scenario
    from mci.scenario.numbers import Number
    from mci.scenario.uncertain import Uncertainty
    from mci.scenario.yaml_positions import Where

__all__ = ["Draft", "read_draft"]


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
        return MappingProxyType({entry.number.path: entry.number for entry in self.entries.values()})

    @property
    def entries(self) -> Mapping[str, Entry]:
        """The same by plain path, with how each is read and set."""
        return self._checked[0]

    @property
    def uncertainty(self) -> Uncertainty | None:
        """What the scenario says is uncertain; ``None`` where nothing is."""
        return self._checked[1]

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
            return self._checked[2]
        return dataclasses.replace(build(self.varied(values)), uncertainty=self.uncertainty)

    def varied(self, values: Mapping[str, str]) -> Files:
        """Return what the files of a variant would hold; parameters and mistakes as for :meth:`scenario`."""
        return self._with(self._find(values)) if values else self.files

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
    def _checked(self) -> tuple[Mapping[str, Entry], Uncertainty | None, Scenario]:
        known = known_of(self.files)
        scenario = build(self.files, known)
        return find_entries(self.files.tree, self.files.tables, known), scenario.uncertainty, scenario

    def _entry(self, path: str) -> Entry:
        entry = self.entries.get(plain_path(path))
        if entry is None:
            raise UsageError(f"there is no number {path!r} in {self.file}. {hint(path, self.entries)}")
        return entry

    def _find(self, values: Mapping[str, str]) -> list[tuple[Entry, str]]:
        found = [(self._entry(path), text) for path, text in values.items()]
        taken: dict[Where, str] = {}
        for entry, _ in found:
            for where in entry.touches:
                other = taken.setdefault(where, entry.number.path)
                if other != entry.number.path:
                    raise UsageError(f"{other!r} and {entry.number.path!r} set the same number; vary one of them")
        return found

    def _with(self, found: list[tuple[Entry, str]]) -> Files:
        """Return the files with other numbers; those of single lines first, while every row is at its place."""
        known = known_of(self.files)
        sheet = blank_sheet(self.files.tree, self.files.tables, known)
        mistakes = []
        for entry, text in sorted(found, key=lambda each: not isinstance(each[0].rule, Leaf)):
            try:
                entry.put(sheet, text, known)
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


def _without_left_out(sheet: Sheet) -> tuple[dict[str, Any], dict[Where, tuple[Where, list[dict[str, str]]]]]:
    """Return the tree without the lines left out, and the tables at their new places, each with the old one."""
    tree, tables = dict(sheet.tree), {where: (where, rows) for where, rows in sheet.tables.items()}
    for section in {where[0] for where in sheet.left_out}:
        kept = [n for n in range(len(tree[section])) if (section, n) not in sheet.left_out]
        tree[section] = [tree[section][n] for n in kept]
        moved = {(section, old): (section, new) for new, old in enumerate(kept)}
        tables = {moved.get(where, where): each for where, each in tables.items()}
    return tree, tables
