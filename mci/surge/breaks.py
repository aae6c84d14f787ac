"""Where coverage breaks as one number moves through its range with all others as written, found by halving."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from mci.scenario.model import CATEGORIES
from mci.scenario.numbers import TIMES, WHOLE, NumberKind
from mci.scenario.quantity import write_value
from mci.surge.cases import PLANNED, Case, Role
from mci.surge.whatif_result import SLACK

if TYPE_CHECKING:
    from mci.scenario.numbers import Number
    from mci.surge.cases import Row
    from mci.surge.means import Evaluate

__all__ = ["Break", "Point", "find_breaks"]

#: What is known at one value of a number: the value in its unit, the text that gave it, the row.
Point = tuple[float, str, "Row"]

#: How closely a break is found, in the unit of the number; of other kinds a part of the range.
_CLOSE = {**dict.fromkeys((*WHOLE, *TIMES), 1.0), NumberKind.SHARE: 0.01}
_PARTS = 64
_NEAR = 1e-9


@dataclass(frozen=True, slots=True)
class Break:
    """Between which values of a number the coverage of a category is lost.

    Parameters
    ----------
    number, category
        Path; lower-case word, or ``all``.
    kept_to, lost_at
        Last value at the goal and first value below it, in the unit of the number; NaN where there is none.
    direction
        ``up`` or ``down``: how the number moves from the one to the other.
    lost_values
        Numbers of the case at ``lost_at``; empty where there is none.
    """

    number: str
    category: str
    kept_to: float
    lost_at: float
    direction: str
    lost_values: Mapping[str, str]


@dataclass(slots=True)
class _Line:
    """What is known along one number: rows by value, each with the text that gave it."""

    number: Number
    step: float
    goal: float
    rows: dict[float, Row] = field(default_factory=dict)
    texts: dict[float, str] = field(default_factory=dict)

    def add(self, value: float, text: str, row: Row) -> None:
        if row["status"] == PLANNED:
            self.rows.setdefault(value, row)
            self.texts.setdefault(value, text)

    def categories(self) -> list[str]:
        return [c for c in (*CATEGORIES, "all") if all(f"best_{c}" in row for row in self.rows.values())]

    def bracket(self, category: str) -> tuple[float, float]:
        """Return the last value kept and the first one lost, from the end of the range at which it is kept."""
        values = sorted(self.rows)
        kept = [float(self.rows[value][f"best_{category}"]) > self.goal - SLACK for value in values]
        if not kept[0]:
            if not kept[-1]:
                return math.nan, values[0]
            values, kept = values[::-1], kept[::-1]
        lost = kept.index(False) if False in kept else None
        return (values[-1], math.nan) if lost is None else (values[lost - 1], values[lost])

    def between(self, category: str) -> float | None:
        """Return the value to look at next; ``None`` where the bracket is close enough."""
        kept, lost = self.bracket(category)
        gap = abs(lost - kept)
        if math.isnan(gap) or gap <= self.step + _NEAR:
            return None
        steps = round(gap / self.step)
        middle = min(kept, lost) + self.step * max(1, steps // 2)  # a gap of a step and a bit has an inside, too
        return round(middle, 9)


def find_breaks(
    numbers: Mapping[str, Number], points: Mapping[str, Sequence[Point]], goal: float, evaluate: Evaluate
) -> tuple[list[Break], list[Case], list[Row]]:
    """Find where coverage breaks, and return the cases that were evaluated for it with their rows.

    Where coverage is kept at both ends of a range, or at neither, nothing between them is looked at.

    Parameters
    ----------
    numbers
        Those that are varied, by path; words have no order and are left out.
    points
        By path, what is known already with all other numbers as written.
    goal
        Coverage that is to be kept, as a share.
    evaluate
        Gives rows of cases.
    """
    lines = {path: _line(numbers[path], goal, known) for path, known in points.items()}
    lines = {path: line for path, line in lines.items() if len(line.rows) > 1}
    cases: list[Case] = []
    rows: list[Row] = []
    dead: set[tuple[str, float]] = set()
    while wanted := sorted(set(_wanted(lines)) - dead):
        batch = [_case(lines[path].number, value) for path, value in wanted]
        found = evaluate(batch, here=True)
        for (path, value), case, row in zip(wanted, batch, found, strict=True):
            lines[path].add(value, case.values[path], row)
            if row["status"] != PLANNED:
                dead.add((path, value))
        cases += batch
        rows += found
    return [each for path, line in lines.items() for each in _breaks(path, line)], cases, rows


def _line(number: Number, goal: float, known: Sequence[Point]) -> _Line:
    values = [value for value, _, _ in known if math.isfinite(value)]
    span = max(values, default=0.0) - min(values, default=0.0)
    line = _Line(number, _CLOSE.get(number.kind, span / _PARTS or 1.0), goal)
    for value, text, row in known:
        if math.isfinite(value):
            line.add(value, text, row)
    return line


def _wanted(lines: Mapping[str, _Line]) -> Iterator[tuple[str, float]]:
    for path, line in lines.items():
        for category in line.categories():
            value = line.between(category)
            if value is not None:
                yield path, value


def _case(number: Number, value: float) -> Case:
    text = write_value(number.kind, value)
    return Case(f"{number.path} = {text}, between", {number.path: text}, Role.BETWEEN)


def _breaks(path: str, line: _Line) -> Iterator[Break]:
    for category in line.categories():
        kept, lost = line.bracket(category)
        values = {} if math.isnan(lost) else {path: line.texts[lost]}
        yield Break(path, category, kept, lost, "down" if lost < kept else "up", values)
