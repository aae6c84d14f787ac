"""Every number that is written in a scenario, found by what the schema says each value is, with a path that names it.

Lines are named by their own name where they have one, else by what they are and where, and by a number where that is
not enough: ``patients.lounge.count``, ``regulators.manifold 6 outlets at quay.count``, ``staff.quay #2.people``.
"""

from __future__ import annotations

import typing
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from mci.scenario import fields
from mci.scenario.numbers import NumberKind, plain_path

if TYPE_CHECKING:
    from mci.scenario.yaml_positions import Where

__all__ = ["Leaf", "find_leaves"]

_KINDS: tuple[tuple[Any, NumberKind], ...] = (
    (fields.Count, NumberKind.COUNT),
    (fields.CountOrUnlimited, NumberKind.COUNT),
    (fields.Stock, NumberKind.STOCK),
    (fields.Outlets, NumberKind.STOCK),
    (fields.Number, NumberKind.NUMBER),
    (fields.Rate, NumberKind.NUMBER),
    (fields.Share, NumberKind.SHARE),
    (fields.Moment, NumberKind.MOMENT),
    (fields.Duration, NumberKind.DURATION),
    (fields.Delay, NumberKind.DELAY),
    (fields.Pressure, NumberKind.PRESSURE),
    (fields.PressureOrFull, NumberKind.PRESSURE),
    (fields.FullPressure, NumberKind.PRESSURE),
    (fields.Flow, NumberKind.FLOW),
    (fields.MostFlow, NumberKind.FLOW),
    (fields.Volume, NumberKind.VOLUME),
    (fields.Content, NumberKind.VOLUME),
    (fields.Mass, NumberKind.MASS),
    (fields.Power, NumberKind.POWER),
    (fields.PowerOrUnlimited, NumberKind.POWER),
    (fields.Temperature, NumberKind.TEMPERATURE),
    (fields.PatternName, NumberKind.WORD),
)
_BY_READER = {id(field.__metadata__[0].func): (field, kind) for field, kind in _KINDS}
#: Keys whose value is the name of a line, the first that is there; then what it is, to be told with where.
_NAMES = ("patient", "batch", "delivery", "vehicle", "porters", "road", "path", "depot", "supplier", "fill station",
          "staging", "junction", "liquid", "piped", "id", "cache", "rule", "group", "name")  # fmt: skip
_WHAT = ("cylinder", "regulator", "device", "concentrator", "plant", "empty")


@dataclass(frozen=True, slots=True)
class Leaf:
    """A number as written.

    Parameters
    ----------
    path
        Its name.
    field
        The type of the schema that reads it.
    where
        Keys and list indices to it from the top of the scenario, or of the rows of a table.
    table
        Place of the line that names the table; ``None`` where it is in the scenario itself.
    """

    path: str
    kind: NumberKind
    text: str
    field: Any
    where: Where
    table: Where | None = None


def find_leaves(
    tree: Mapping[str, Any], tables: Mapping[Where, Sequence[Mapping[str, str]]], classes: Mapping[int, type]
) -> Iterator[Leaf]:
    """Yield every number in the order of the file, rows of rosters and inventories where they are named.

    Parameters
    ----------
    tree
        The scenario as read.
    tables
        Rows by the place of the line that names their file.
    classes
        Per ``id`` of a mapping, the class of the schema that it was found to be.
    """
    return _Walk(tables, classes).mapping(tree, (), "", None)


def _kind(annotation: Any, metadata: Sequence[Any] = ()) -> tuple[Any, NumberKind] | None:
    """Return the type of a field and what it is, ``None`` where it holds no number."""
    for part in (*metadata, *getattr(annotation, "__metadata__", ())):
        if id(getattr(part, "func", None)) in _BY_READER:
            return _BY_READER[id(part.func)]
    return next((kind for part in typing.get_args(annotation) if (kind := _kind(part)) is not None), None)


class _Walk:
    """The way through a scenario; every list has names of its own for its lines."""

    def __init__(self, tables: Mapping[Where, Sequence[Mapping[str, str]]], classes: Mapping[int, type]) -> None:
        self._tables = tables
        self._classes = classes

    def mapping(self, written: Mapping[str, Any], where: Where, path: str, table: Where | None) -> Iterator[Leaf]:
        shape = self._classes.get(id(written))
        kinds = {f.alias or name: _kind(f.annotation, f.metadata) for name, f in _fields(shape)}
        for key, value in written.items():
            name = f"{path}.{key}" if path else key
            kind = kinds.get(key)
            if isinstance(value, str) and kind is not None:
                yield Leaf(name, kind[1], value, kind[0], (*where, key), table)
            elif isinstance(value, dict) and id(value) not in self._classes:
                yield from self._by_name(value, (*where, key), name, kind)
            elif isinstance(value, dict):
                yield from self.mapping(value, (*where, key), name, table)
            elif isinstance(value, list):
                yield from self._lines(value, (*where, key), name)

    def _by_name(
        self, written: Mapping[str, Any], where: Where, path: str, kind: tuple[Any, NumberKind] | None
    ) -> Iterator[Leaf]:
        """Yield from a mapping whose keys are names: of numbers, or of kinds of things."""
        for name, value in written.items():
            if isinstance(value, dict) and id(value) not in self._classes:
                yield from self._by_name(value, (*where, name), f"{path}.{name}", kind)
            elif isinstance(value, dict):
                yield from self.mapping(value, (*where, name), f"{path}.{name}", None)
            elif isinstance(value, str) and kind is not None:
                yield Leaf(f"{path}.{name}", kind[1], value, kind[0], (*where, name))

    def _lines(self, lines: Sequence[Any], where: Where, path: str) -> Iterator[Leaf]:
        used: dict[str, int] = {}
        for number, line in enumerate(lines):
            if not isinstance(line, dict):
                continue
            rows = self._tables.get((*where, number))
            if rows is None:
                name = f"{path}.{_numbered(_name(line, number), used)}"
                yield from self.mapping(line, (*where, number), name, None)
                continue
            for place, row in enumerate(rows):
                name = f"{path}.{_numbered(_name(row, place), used)}"
                yield from self.mapping(row, (place,), name, (*where, number))


def _fields(shape: type | None) -> Sequence[tuple[str, Any]]:
    return tuple(getattr(shape, "model_fields", {}).items())


def _name(line: Mapping[str, Any], number: int) -> str:
    """Return what a line is called: by its own name, by what and where, by where alone, or by its number from 1."""
    if "credit" in line:
        return str(number + 1)  # the rungs of a ladder are told by their order
    for key in _NAMES:
        if isinstance(line.get(key), str):
            return str(line[key]).strip()
    if "coverage" in line or "without oxygen" in line:
        return str(line.get("category", number + 1))  # a goal of what caches should achieve
    where = line.get("area") or line.get("at")
    what = next((str(line[key]) for key in _WHAT if isinstance(line.get(key), str)), "")
    if what:
        return f"{what} at {where}" if where else what
    if "people" in line and not where:
        return "people"  # who come with a cache
    return str(where) if where else str(number + 1)


def _numbered(name: str, used: dict[str, int]) -> str:
    """Return a name that is used once: the second of the same gets a number."""
    key = plain_path(name)
    used[key] = used.get(key, 0) + 1
    return name if used[key] == 1 else f"{name} #{used[key]}"
