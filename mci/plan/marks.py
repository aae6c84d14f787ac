"""Short marks for regulators, supplies and people, for paper: what is written on tape and stuck on the thing.

Full names such as ``west threaded regulator 0-15 L/min 3`` do not fit a line that somebody reads at arm's length.
Marks are numbered within an area: ``R`` regulators and manifolds, ``C`` cylinders, ``S`` other supplies; a cylinder
that has a number of its own keeps it.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from itertools import count
from typing import TYPE_CHECKING

from mci.plan.things import find_handlers, find_regulators, find_supplies
from mci.scenario.names import lot_names, numbered
from mci.units import format_moment

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from mci.plan.things import Handler
    from mci.scenario.model import Lot, Scenario

__all__ = ["Legend", "Marks", "find_marks", "shorten"]


@dataclass(frozen=True, slots=True)
class Legend:
    """Marks that stand for things alike: ``R1 to R7``, what they are, and from when they are there."""

    marks: str
    what: str


@dataclass(frozen=True, slots=True)
class Marks:
    """Marks by full name, and what they stand for by area; a name without a mark stands for itself."""

    by_name: dict[str, str] = field(default_factory=dict)
    legends: dict[str, list[Legend]] = field(default_factory=dict)

    def of(self, name: str) -> str:
        """Return the mark of a name."""
        return self.by_name.get(name, name)


class _Area:
    """Gives out the marks of one area; one that a cylinder already bears is passed over."""

    def __init__(self, taken: frozenset[str]) -> None:
        self._taken = taken
        self._numbers: dict[str, Iterator[int]] = {}

    def next(self, letter: str) -> str:
        numbers = self._numbers.setdefault(letter, count(1))
        return next(mark for number in numbers if (mark := f"{letter}{number}") not in self._taken)


def shorten(marks: Sequence[str]) -> str:
    """Write marks in words, runs of numbers as ranges: ``C1 to C4, C7, K-101``."""
    runs: list[list[str]] = []
    for mark in marks:
        letters, number = _parts(mark)
        if runs and _parts(runs[-1][-1]) == (letters, number - 1) and number > 0:
            runs[-1].append(mark)
        else:
            runs.append([mark])
    return ", ".join(_range(run) for run in runs)


def _parts(mark: str) -> tuple[str, int]:
    match = re.fullmatch(r"(.*?)([1-9]\d{0,8})", mark)
    return (match[1], int(match[2])) if match else (mark, -1)


def _range(marks: list[str]) -> str:
    last = marks[-1].removeprefix("Staff ")
    return marks[0] if len(marks) == 1 else f"{marks[0]}{', ' if len(marks) == 2 else ' to '}{last}"


def _since(minutes: float, delivery: str) -> str:
    since = f", from {format_moment(minutes)}" if minutes > 0 else ""
    return f"{since} ({delivery})" if delivery else since


def _hours(handler: Handler, horizon: float) -> str:
    ends = handler.available_until
    until = f" until {format_moment(ends)}" if math.isfinite(ends) and ends < horizon else ""
    since = f" from {format_moment(handler.available_from)}" if handler.available_from > 0 else ""
    return f"{since}{until}"


def _bears_marks(lot: Lot) -> bool:
    """Tell whether the cylinders of a lot bear marks of their own, and are not just counted one by one."""
    return bool(lot.units) and lot_names(lot) != numbered(lot.key, lot.quantity)


def find_marks(scenario: Scenario) -> Marks:
    """Mark every regulator, supply and person of an incident."""
    made = Marks()
    taken = frozenset(unit.id for lot in scenario.lots for unit in lot.units if _bears_marks(lot))
    areas = {area.key: _Area(taken) for area in scenario.areas}
    groups: dict[tuple[str, str], list[str]] = {}

    def mark(name: str, area: str, letter: str, what: str) -> None:
        made.by_name[name] = areas[area].next(letter)
        groups.setdefault((area, what), []).append(made.by_name[name])

    for regulator in find_regulators(scenario):
        names = (regulator.key, regulator.key.rpartition(" ")[0])
        stock = next(s for s in scenario.regulators if s.key in names)
        since = _since(regulator.available_from, stock.delivery)
        ends = regulator.available_until
        until = f" until {format_moment(ends)}" if ends < scenario.horizon else ""
        mark(regulator.key, regulator.area, "R", f"{regulator.outlets.key}{since}{until}")
    for supply in find_supplies(scenario):
        if not _bears_marks(supply.lot):
            since = _since(supply.lot.available_from, supply.lot.delivery)
            letter = "C" if supply.must_be_opened else "S"
            mark(supply.key, supply.lot.area, letter, f"{supply.lot.label}{since}")
    shifts: dict[tuple[str, str], list[str]] = {}
    for handler in find_handlers(scenario):
        if handler.key != "anyone":
            shifts.setdefault((handler.key, handler.area), []).append(_hours(handler, scenario.horizon))
    for (name, area), hours in shifts.items():
        mark(name, area, "Staff ", f"changes cylinders{' and'.join(hours)}")
    for (area, what), marks in groups.items():
        made.legends.setdefault(area, []).append(Legend(_range(marks), what))
    return made
