"""The numbers of one scenario with how each is read and set, and which places in the files that changes."""

from __future__ import annotations

import copy
import functools
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from pydantic import TypeAdapter, ValidationError

from mci.scenario.combined import Combined, Sheet, Total, find_combined
from mci.scenario.known import nearest
from mci.scenario.leaves import Leaf, find_leaves
from mci.scenario.numbers import Number, NumberKind, plain_path
from mci.scenario.quantity import UNITS, read_value, write_value

if TYPE_CHECKING:
    from mci.scenario.known import Known
    from mci.scenario.table import Table
    from mci.scenario.yaml_positions import Where

__all__ = ["Entry", "blank_sheet", "find_entries", "hint"]


@dataclass(frozen=True, slots=True)
class Entry:
    """A number, how it is set, and the places in the files that this changes."""

    number: Number
    rule: Leaf | Combined
    touches: frozenset[Where]

    def read(self, text: str, known: Known) -> float:
        """Read a value that this number can have; NaN for words and for ``full``.

        Raises
        ------
        UnitError, Wrong
            If it is none.
        """
        if isinstance(self.rule, Leaf):
            try:
                _reader(self.rule.field).validate_python(text, context=known)
            except ValidationError as error:
                raise error.errors()[0]["ctx"]["error"] from None
        value = read_value(self.number.kind, text, known.start)
        if isinstance(self.rule, Total):
            self.rule.check(value)
        return value

    def put(self, sheet: Sheet, text: str, known: Known) -> None:
        """Put a value into a scenario.

        Raises
        ------
        UnitError, Wrong
            If the number cannot have it.
        """
        value = self.read(text, known)
        if not isinstance(self.rule, Leaf):
            self.rule.put(sheet, value)
            return
        node: Any = sheet.tree if self.rule.table is None else sheet.tables[self.rule.table]
        for part in self.rule.where[:-1]:
            node = node[part]
        node[self.rule.where[-1]] = text


def find_entries(tree: Mapping[str, Any], tables: Mapping[Where, Table], known: Known) -> Mapping[str, Entry]:
    """Return every number that can be varied, by plain path: those that stand for several, then each as written.

    Where a line is called so that both have the same path, such as a batch ``immediate``, the path is that of the line.

    Parameters
    ----------
    tree, tables
        The scenario as read, and its rosters and inventories.
    known
        As it was left by the schema, which says what each mapping is.
    """
    sheet = blank_sheet(tree, tables, known)
    single = {plain_path(entry.number.path): entry for entry in _single(tables, sheet, known, tree)}
    several = {plain_path(entry.number.path): entry for entry in _several(sheet)}
    return {**several, **single}


def blank_sheet(tree: Mapping[str, Any], tables: Mapping[Where, Table], known: Known) -> Sheet:
    """Return a copy of a scenario to put numbers in.

    What is uncertain does not belong to it, nor do injects, which name single things that a variant may not have.
    """
    rows = {where: copy.deepcopy(table.rows) for where, table in tables.items() if where[0] != "uncertain"}
    kept = {key: copy.deepcopy(value) for key, value in tree.items() if key not in ("uncertain", "exercise")}
    casualties = (tree.get("exercise") or {}).get("casualties")
    if casualties:
        kept["exercise"] = {"casualties": copy.deepcopy(casualties)}
    return Sheet(kept, rows, known.start, _FullPressures(tree, known), set())


def hint(path: str, entries: Mapping[str, Entry]) -> str:
    """Return a hint at the numbers whose paths are most like one that there is not."""
    told = nearest(plain_path(path), [entry.number.path for entry in entries.values()], most=3)
    lists = "`mci check --numbers` lists them."
    return f"{told} {lists}" if told.startswith("Did") else lists


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


def _single(tables: Mapping[Where, Table], sheet: Sheet, known: Known, tree: Mapping[str, Any]) -> Iterator[Entry]:
    rows = {where: table.rows for where, table in tables.items()}
    for leaf in find_leaves(tree, rows, known.classes):
        if leaf.where[0] == "uncertain" or (leaf.where[0] == "exercise" and leaf.where[1] != "casualties"):
            continue  # how numbers vary is no number of the incident, nor is what players are not told or should show
        value = read_value(leaf.kind, leaf.text, sheet.start)
        what = leaf.kind.value + (f" in {tables[leaf.table].file}" if leaf.table else "")
        number = Number(leaf.path, leaf.kind, leaf.text, value, UNITS.get(leaf.kind, ""), what)
        yield Entry(number, leaf, frozenset({(*(leaf.table or ()), *leaf.where)}))


def _several(sheet: Sheet) -> Iterator[Entry]:
    for path, kind, rule, what in find_combined(sheet):
        value = rule.value(sheet)
        text = "100 %" if kind is NumberKind.SHARE else write_value(kind, value)
        yield Entry(Number(path, kind, text, value, UNITS.get(kind, ""), what), rule, frozenset(rule.touches(sheet)))


@functools.cache
def _reader(field: Any) -> TypeAdapter[Any]:
    return TypeAdapter(field)
