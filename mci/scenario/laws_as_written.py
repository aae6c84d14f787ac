"""A distribution as written, read in the kind of the number that varies."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.errors import Mistake
from mci.scenario.known import Wrong, nearest
from mci.scenario.numbers import WHOLE, NumberKind
from mci.scenario.quantity import read_value
from mci.scenario.uncertain import Empirical, Fixed, Law, Lognormal, OneOf, Poisson, Triangular, Uniform
from mci.units import UnitError

if TYPE_CHECKING:
    from mci.scenario.schema_uncertain import LawPart, LognormalPart
    from mci.scenario.table import Table
    from mci.scenario.yaml_positions import Where

__all__ = ["Desk", "LawReader", "read_step"]

#: Kinds that are counted.


@dataclass(frozen=True, slots=True)
class Desk:
    """Where the mistakes of one line are noted.

    Parameters
    ----------
    told
        Filled with them.
    place
        ``Positions.mistake``, or the like.
    where
        Place of the line in the file.
    """

    told: list[Mistake]
    place: Callable[..., Mistake]
    where: Where

    def wrong(self, below: Where, rule: str | Exception, fix: str = "", value: str | None = None) -> None:
        """Note a mistake at a place below the line."""
        fix = fix or getattr(rule, "fix", "")
        self.told.append(self.place((*self.where, *below), str(rule), fix, value))


@dataclass(frozen=True, slots=True)
class LawReader:
    """Reads distributions of one number.

    Parameters
    ----------
    kind
        What the number is.
    read
        Reads a value that it can have, and raises ``UnitError`` or ``Wrong``.
    table
        Values that were observed, where the line names a file.
    desk
        Where mistakes are noted.
    """

    kind: NumberKind
    read: Callable[[str], float]
    table: Table | None
    desk: Desk

    def law(self, part: LawPart, below: Where = ()) -> Law | None:
        """Return a distribution, ``None`` where it has mistakes, which are noted.

        Parameters
        ----------
        below
            Where it is written below the line.
        """
        before = len(self.desk.told)
        found = self._law(part, below)
        return found if len(self.desk.told) == before else None

    def _law(self, part: LawPart, below: Where) -> Law | None:
        if part.fixed is not None:
            return self._fixed(part.fixed, (*below, "fixed"))
        if part.one_of is not None:
            return self._one_of(part.one_of, (*below, "one of"))
        if self.kind is NumberKind.WORD:
            self.desk.wrong(below, "is a word, not a number", "Use 'one of' with a chance for each word.")
        elif part.uniform is not None:
            return self._uniform(part.uniform, (*below, "uniform"))
        elif part.triangular is not None:
            return self._triangular(part.triangular, (*below, "triangular"))
        elif part.lognormal is not None:
            return self._lognormal(part.lognormal, (*below, "lognormal"))
        elif part.poisson is not None:
            return self._poisson(part.poisson, (*below, "poisson"))
        else:
            return self._empirical(part.from_ or "", part.column or "", (*below, "column"))
        return None

    def _value(self, text: str, below: Where) -> float:
        """Return a value that is a number; NaN where it is none, which is noted."""
        try:
            value = self.read(text)
        except (UnitError, Wrong) as wrong:
            self.desk.wrong(below, wrong, value=text)
            return math.nan
        if not math.isfinite(value):
            self.desk.wrong(below, "must be a number here", "Use 'one of' for words.", text)
        return value

    def _values(self, texts: Sequence[str], below: Where) -> list[float]:
        return [self._value(text, (*below, number)) for number, text in enumerate(texts)]

    def _fixed(self, text: str, below: Where) -> Law | None:
        try:
            value = self.read(text)
        except (UnitError, Wrong) as wrong:
            self.desk.wrong(below, wrong, value=text)
            return None
        return Fixed(value) if math.isfinite(value) else OneOf((text,), (1.0,))

    def _uniform(self, texts: Sequence[str], below: Where) -> Law:
        low, high = self._values(texts, below)
        if low >= high:
            self.desk.wrong(below, "the first value must be below the second", value=", ".join(texts))
        return Uniform(low, high)

    def _triangular(self, texts: Sequence[str], below: Where) -> Law:
        low, mode, high = self._values(texts, below)
        if low > mode or mode > high or low >= high:
            rule = "must be the lowest, the most likely and the highest value, in this order"
            self.desk.wrong(below, rule, value=", ".join(texts))
        return Triangular(low, mode, high)

    def _lognormal(self, part: LognormalPart, below: Where) -> Law:
        median = self._value(part.median, (*below, "median"))
        if median <= 0:
            self.desk.wrong((*below, "median"), "must be above 0", value=part.median)
        return Lognormal(median, part.spread)

    def _poisson(self, mean: float, below: Where) -> Law:
        if self.kind not in WHOLE:
            self.desk.wrong(
                below, f"counts events, and this number is a {self.kind.value}", "Use another distribution."
            )
        return Poisson(mean)

    def _one_of(self, chances: Mapping[str, float], below: Where) -> Law:
        seen: set[float | str] = set()
        for text in chances:
            try:
                value = self.read(text)
            except (UnitError, Wrong) as wrong:
                self.desk.wrong((*below, text), wrong, value=text)
                continue
            key = text.lower() if math.isnan(value) else value
            if key in seen:
                self.desk.wrong((*below, text), "is there twice", "Add the chances up.", text)
            seen.add(key)
        return OneOf(tuple(chances), tuple(chances.values()))

    def _empirical(self, file: str, column: str, below: Where) -> Law | None:
        if self.table is None:
            return None  # it could not be read, which is told
        name = " ".join(column.lower().split())
        if name not in self.table.columns:
            self.desk.wrong(below, f"there is no such column in {file}", nearest(name, self.table.columns), column)
            return None
        if not any(name in row for row in self.table.rows):
            self.desk.wrong(below, f"this column of {file} is empty", "", column)
        return Empirical(tuple(self._cells(self.table, name)), f"{file}, column {name}")

    def _cells(self, table: Table, name: str) -> Iterator[float]:
        for number, row in enumerate(table.rows):
            text = row.get(name)
            if text is None:
                continue  # columns need not be equally long
            try:
                value = self.read(text)
            except (UnitError, Wrong) as wrong:
                self.desk.told.append(table.mistake((number, name), str(wrong), getattr(wrong, "fix", ""), text))
                continue
            if not math.isfinite(value):
                self.desk.told.append(table.mistake((number, name), "must be a number", "", text))
            yield value


def read_step(kind: NumberKind, text: str, desk: Desk) -> float | None:
    """Return to multiples of what a number is rounded, ``None`` where it has a mistake, which is noted."""
    if kind is NumberKind.WORD:
        desk.wrong(("step",), "a word is not rounded", "Remove 'step'.")
        return None
    if kind is NumberKind.TEMPERATURE and text.strip()[-1:] not in "Cc":
        desk.wrong(("step",), "must be in C", "Such as 1 C.", text)
        return None
    try:
        step = read_value(NumberKind.DELAY if kind is NumberKind.MOMENT else kind, text)
    except UnitError as wrong:
        desk.wrong(("step",), wrong, value=text)
        return None
    if not (math.isfinite(step) and step > 0):
        desk.wrong(("step",), "must be above 0", value=text)
        return None
    return step
