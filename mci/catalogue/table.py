"""Rows of a data file, read cell by cell, with every mistake kept with its file and line."""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from mci.catalogue.model import Basis, Source
from mci.errors import Mistake

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping
    from enum import StrEnum

    Choice = TypeVar("Choice", bound=StrEnum)

__all__ = ["Row", "read_rows"]


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a data file; a cell that cannot be read adds a mistake and gives a stand-in.

    The stand-ins never leave the loader: it raises when there is any mistake.
    """

    file: str
    line: int
    cells: Mapping[str, str]
    mistakes: list[Mistake]

    def wrong(self, column: str, rule: str, fix: str = "") -> None:
        """Record that a cell breaks a rule."""
        value = self.cells.get(column)
        self.mistakes.append(Mistake(rule, fix, self.file, self.line, path=column, value=value))

    def text(self, column: str) -> str:
        """Return a cell that must not be empty."""
        value = self.optional_text(column)
        if not value:
            self.wrong(column, "must not be empty")
        return value

    def optional_text(self, column: str) -> str:
        """Return a cell that may be empty."""
        return self.cells.get(column, "").strip()

    def words(self, column: str) -> tuple[str, ...]:
        """Return the parts of a cell that lists several, separated by semicolons."""
        return tuple(part.strip() for part in self.optional_text(column).split(";") if part.strip())

    def number(self, column: str, low: float = 0.0, high: float = math.inf, *, above: bool = False) -> float:
        """Return a number between ``low`` and ``high``, strictly above ``low`` when ``above``."""
        try:
            value = float(self.text(column))
        except ValueError:
            value = math.nan
        if math.isinf(value) or not (low < value <= high or (value == low and not above)):
            upper = "" if high == math.inf else f" and at most {high:g}"
            self.wrong(column, f"must be a number {'above' if above else 'of at least'} {low:g}{upper}")
        return value

    def optional_number(self, column: str, low: float = 0.0) -> float | None:
        """Return a number above ``low``, or ``None`` where the cell is empty."""
        return self.number(column, low, above=True) if self.optional_text(column) else None

    def count(self, column: str) -> int:
        """Return a whole number of zero or more."""
        value = self.optional_text(column)
        if not value.isdecimal():
            self.wrong(column, "must be a whole number of zero or more")
            return 0
        return int(value)

    def yes_no(self, column: str) -> bool:
        """Return a ``yes`` or ``no`` cell as a truth value."""
        value = self.optional_text(column)
        if value not in ("yes", "no"):
            self.wrong(column, "must be yes or no")
        return value == "yes"

    def choice(self, column: str, kind: type[Choice]) -> Choice:
        """Return a cell that holds one of the words of an enumeration."""
        try:
            return kind(self.optional_text(column))
        except ValueError:
            self.wrong(column, f"must be one of: {'; '.join(kind)}")
            return next(iter(kind))

    def source(self) -> Source:
        """Return the source of the row, from its last two columns."""
        return Source(self.text("source"), self.choice("basis", Basis))


def read_rows(file: str, text: str, columns: Iterable[str], mistakes: list[Mistake]) -> Iterator[Row]:
    """Yield the rows of a CSV text whose header must name exactly ``columns``."""
    reader = csv.reader(io.StringIO(text))
    header = next(reader, [])
    if header != list(columns):
        mistakes.append(Mistake(f"the header must be {','.join(columns)}", file=file, line=1, value=",".join(header)))
        return
    for cells in reader:
        if len(cells) != len(header):
            rule = f"must have {len(header)} cells, has {len(cells)}"
            mistakes.append(Mistake(rule, "Quote text that holds a comma.", file, reader.line_num))
            continue
        yield Row(file, reader.line_num, dict(zip(header, cells, strict=True)), mistakes)
