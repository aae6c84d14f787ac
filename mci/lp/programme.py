"""A programme while it is being written: columns, rows, and what one more unit of a resource changes.

Families of columns and rows add blocks of arrays here; :mod:`mci.lp.build` writes them into PuLP.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from mci.lp.names import make_name, read_name

__all__ = ["ABSENT", "Columns", "Resource", "Rows", "join", "left_open"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

#: Stands in a block for a column that does not exist.
ABSENT = -1


@dataclass(frozen=True, slots=True, order=True)
class Resource:
    """Something of which there could be one more: ``kind`` is ``lot``, ``regulator``, ``device``,
    ``staff`` or ``power``; ``key`` names it within the kind and area.
    """

    kind: str
    area: str
    key: str


@dataclass(slots=True)
class Columns:
    """Columns written so far; every one is at least 0."""

    names: list[str] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)

    def add(self, family: str, present: npt.NDArray[np.bool_], upper: Floats | None = None) -> Ints:
        """Add a column wherever ``present`` holds; return their numbers, ``ABSENT`` elsewhere.

        Parameters
        ----------
        family
            First part of the names.
        present
            Any shape; the indices of a column are its place in it.
        upper
            Upper bounds, same shape; none if not given.
        """
        numbers = np.full(present.shape, ABSENT, dtype=np.intp)
        places = np.argwhere(present)
        numbers[present] = len(self.names) + np.arange(len(places))
        self.names.extend(make_name(family, *place) for place in places.tolist())
        self.upper.extend([np.inf] * len(places) if upper is None else upper[present].tolist())
        return numbers


@dataclass(frozen=True, slots=True)
class Rows:
    """A family of rows ``sum(value * column) <= rhs`` (or ``==`` where ``equal``).

    Parameters
    ----------
    names
        One per row.
    row, column, value
        Nonzeros: local row number, column number, coefficient.
    rhs
        Right-hand sides.
    grows
        Per resource: by how much one more unit of it raises each right-hand side.
    """

    names: Sequence[str]
    row: Ints
    column: Ints
    value: Floats
    rhs: Floats
    equal: bool = False
    grows: Mapping[Resource, Floats] = field(default_factory=dict)


def _pick(values: npt.NDArray[Any], here: npt.NDArray[np.bool_]) -> npt.NDArray[Any]:
    """Return values where something is there, broadcast to its shape."""
    if values.ndim == 0:
        return np.full(np.count_nonzero(here), values)  # much faster than to broadcast first
    return values[here] if values.shape == here.shape else np.broadcast_to(values, here.shape)[here]


@dataclass(slots=True)
class RowWriter:
    """Collects the nonzeros of one family, block by block."""

    row: list[Ints] = field(default_factory=list)
    column: list[Ints] = field(default_factory=list)
    value: list[Floats] = field(default_factory=list)

    def add(self, rows: npt.ArrayLike, columns: Ints, values: npt.ArrayLike) -> None:
        """Add ``values * columns`` to ``rows`` (all broadcast to the shape of ``columns``), absent columns left out."""
        here = columns != ABSENT
        self.row.append(_pick(np.asarray(rows), here))
        self.column.append(columns[here])
        self.value.append(_pick(np.asarray(values, dtype=float), here))

    def finish(
        self,
        names: Sequence[str],
        rhs: npt.ArrayLike,
        *,
        equal: bool = False,
        grows: Mapping[Resource, Floats] | None = None,
    ) -> Rows:
        """Return the family; rows that hold by themselves are dropped: those without a nonzero or without a limit.

        Raises
        ------
        ValueError
            If a row without nonzeros could not hold.
        """
        rhs = np.broadcast_to(np.asarray(rhs, dtype=float), (len(names),))
        row = np.concatenate([*self.row, np.zeros(0, dtype=np.intp)])
        limited = rhs[row] < np.inf
        kept, renumbered = np.unique(row[limited], return_inverse=True)
        empty = np.ones(len(names), dtype=bool)
        empty[kept] = False
        if np.any(rhs[empty] < 0) or (equal and np.any(rhs[empty] != 0)):
            raise ValueError(f"row without columns cannot hold: {names[int(np.flatnonzero(empty)[0])]}")
        return Rows(
            names=[names[number] for number in kept.tolist()],
            row=renumbered.astype(np.intp),
            column=np.concatenate([*self.column, np.zeros(0, dtype=np.intp)])[limited],
            value=np.concatenate([*self.value, np.zeros(0)])[limited],
            rhs=rhs[kept],
            equal=equal,
            grows={resource: change[kept] for resource, change in (grows or {}).items()},
        )


def join(families: Iterable[Rows]) -> dict[Resource, tuple[Ints, Floats]]:
    """Return, per resource, the rows of the whole programme that one more unit changes, and by how much."""
    changes: dict[Resource, list[tuple[Ints, Floats]]] = {}
    offset = 0
    for rows in families:
        for resource, change in rows.grows.items():
            touched = np.flatnonzero(change)
            changes.setdefault(resource, []).append((touched + offset, change[touched]))
        offset += len(rows.names)
    return {
        resource: (np.concatenate([rows for rows, _ in parts]), np.concatenate([delta for _, delta in parts]))
        for resource, parts in changes.items()
    }


def left_open(rows: Rows, resource: Resource, counted: float, column: int | Ints) -> Rows:
    """Let a column say how many units of a resource there are, instead of the ``counted`` ones in the limits.

    ``sum(value * column) <= rhs`` becomes ``sum(value * column) - grows * n <= rhs - grows * counted``.  Of several
    columns, one per period, each row takes that of its period, the last index of its name; where it is absent the row
    gets none.
    """
    grows = rows.grows.get(resource)
    if grows is None:
        return rows
    touched = np.flatnonzero(grows)
    if isinstance(column, int):
        columns = np.full(len(touched), column)
    else:
        columns = column[[read_name(rows.names[row])[1][-1] for row in touched.tolist()]]
        touched, columns = touched[columns != ABSENT], columns[columns != ABSENT]
    return replace(
        rows,
        row=np.concatenate([rows.row, touched]),
        column=np.concatenate([rows.column, columns]),
        value=np.concatenate([rows.value, -grows[touched]]),
        rhs=rows.rhs - counted * grows,
    )
