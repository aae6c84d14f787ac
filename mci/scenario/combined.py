"""Numbers that stand for several lines of a scenario at once: how many come in all, shares of stocks, delays.

Each says which written numbers it sets, so that one and the same is not set twice.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from mci.scenario.known import Wrong
from mci.scenario.model import CATEGORIES
from mci.scenario.numbers import NumberKind
from mci.scenario.quantity import write_value
from mci.units import parse_moment, parse_pressure

if TYPE_CHECKING:
    from mci.scenario.yaml_positions import Where

__all__ = ["Combined", "Delay", "Filling", "Share", "Sheet", "Total", "find_combined"]

#: Sections whose counts can be scaled, with the key of the count.
_SECTIONS = {"supplies": "count", "regulators": "count", "devices": "count", "staff": "people"}


@dataclass(slots=True)
class Sheet:
    """A scenario while numbers are put in: the tree, the rows of its tables, and lines that are left out.

    ``full_psi`` gives the full pressure [psi] of each kind of cylinder that is named.
    """

    tree: dict[str, Any]
    tables: dict[Where, list[dict[str, str]]]
    start: int | None
    full_psi: Mapping[str, float]
    left_out: set[Where]


@dataclass(frozen=True, slots=True)
class Total:
    """How many patients come in all, of one category or of any; batches share what single patients leave.

    Parameters
    ----------
    category
        Their first category; empty for all.
    single
        How many of them are listed one by one.
    """

    category: str
    single: int

    @classmethod
    def of(cls, category: str, sheet: Sheet) -> Total:
        """Return the total of one category, or of all where it is empty."""
        lines = [line for line in _patients(sheet) if "patient" in line]
        for where, rows in sheet.tables.items():
            if where[0] == "patients":
                lines += [row for row in rows if "change" not in row]
        return cls(category, sum(_is_of(line, category) for line in lines))

    def touches(self, sheet: Sheet) -> set[Where]:
        """Return the places of the numbers that it sets."""
        return {("patients", number, "count") for number, _ in self._batches(sheet)}

    def value(self, sheet: Sheet) -> float:
        """Return how many come as written."""
        return self.single + sum(count for _, count in self._batches(sheet))

    def check(self, value: float) -> None:
        """Refuse fewer than are listed one by one."""
        if value < self.single:
            raise Wrong(f"{self.single} patients are listed one by one", f"Give {self.single} or more.")

    def put(self, sheet: Sheet, value: float) -> None:
        """Hand the total out to the batches in proportion to their counts, by largest remainder."""
        batches = self._batches(sheet)
        rest, written = round(value) - self.single, sum(count for _, count in batches)
        exact = {number: rest * count / written for number, count in batches}
        counts = {number: math.floor(share + 1e-9) for number, share in exact.items()}
        by_remainder = sorted(exact, key=lambda number: (counts[number] - exact[number], number))
        for number in by_remainder[: rest - sum(counts.values())]:
            counts[number] += 1
        for number, count in counts.items():
            if count == 0:
                sheet.left_out.add(("patients", number))
            sheet.tree["patients"][number]["count"] = str(count)

    def _batches(self, sheet: Sheet) -> list[tuple[int, int]]:
        lines = enumerate(_patients(sheet))
        return [(n, int(line["count"])) for n, line in lines if "batch" in line and _is_of(line, self.category)]


@dataclass(frozen=True, slots=True)
class Delay:
    """How much later than written deliveries come [min]; all of them without a number."""

    number: int | None = None

    def touches(self, sheet: Sheet) -> set[Where]:
        """Return the places of the numbers that it sets."""
        return {("deliveries", number, "at") for number in self._numbers(sheet)}

    def value(self, sheet: Sheet) -> float:  # noqa: ARG002
        """Return the delay as written: none."""
        return 0.0

    def put(self, sheet: Sheet, value: float) -> None:
        """Let them come later."""
        for number in self._numbers(sheet):
            line = sheet.tree["deliveries"][number]
            line["at"] = write_value(NumberKind.MOMENT, parse_moment(line["at"], sheet.start) + value)

    def _numbers(self, sheet: Sheet) -> Sequence[int]:
        return range(len(sheet.tree["deliveries"])) if self.number is None else (self.number,)


@dataclass(frozen=True, slots=True)
class Share:
    """The share of a stock that is there, of one section, at one area or at all; counts are rounded down."""

    section: str
    area: str = ""

    def touches(self, sheet: Sheet) -> set[Where]:
        """Return the places of the numbers that it sets."""
        key = _SECTIONS[self.section]
        rows = {(*where, n) for where, rows in self._tables(sheet) for n, row in enumerate(rows) if self._is_mine(row)}
        return rows | {(self.section, number, key) for number in self._lines(sheet)}

    def value(self, sheet: Sheet) -> float:  # noqa: ARG002
        """Return the share as written: all."""
        return 1.0

    def put(self, sheet: Sheet, value: float) -> None:
        """Keep the share of every line, and of the first rows of every inventory."""
        key = _SECTIONS[self.section]
        for number in self._lines(sheet):
            line = sheet.tree[self.section][number]
            count = str(line.get(key, "1"))
            if count != "unlimited":
                kept = math.floor(int(count) * value + 1e-9)
                line[key] = str(kept)
                if kept == 0 and self.section != "devices":
                    sheet.left_out.add((self.section, number))
        for where, rows in self._tables(sheet):
            mine = [row for row in rows if self._is_mine(row)]
            gone = {id(row) for row in mine[math.floor(len(mine) * value + 1e-9) :]}
            sheet.tables[where] = [row for row in rows if id(row) not in gone]

    def _is_mine(self, line: Mapping[str, Any]) -> bool:
        return not self.area or str(line.get("area", "")).strip() == self.area

    def _tables(self, sheet: Sheet) -> list[tuple[Where, list[dict[str, str]]]]:
        return [(where, rows) for where, rows in sheet.tables.items() if where[0] == self.section]

    def _lines(self, sheet: Sheet) -> list[int]:
        kind = "cylinder" if self.section == "supplies" else "area"
        lines = enumerate(sheet.tree.get(self.section, []))
        return [number for number, line in lines if kind in line and self._is_mine(line)]


@dataclass(frozen=True, slots=True)
class Filling:
    """How full the cylinders that are there from the start are: a share of the gauge that is written."""

    def touches(self, sheet: Sheet) -> set[Where]:
        """Return the places of the numbers that it sets."""
        rows = {
            (*where, place, "pressure")
            for where, lines in sheet.tables.items()
            if where[0] == "supplies"
            for place in range(len(lines))
        }
        return rows | {("supplies", number, "pressure") for number, _ in self._lines(sheet)}

    def value(self, sheet: Sheet) -> float:  # noqa: ARG002
        """Return the share as written: all."""
        return 1.0

    def put(self, sheet: Sheet, value: float) -> None:
        """Lower the gauge of each; as written to the last digit where nothing is lower."""
        if value == 1:
            return
        rows = [row for where, rows in sheet.tables.items() if where[0] == "supplies" for row in rows]
        for line in (*(line for _, line in self._lines(sheet)), *rows):
            text = line["pressure"]
            gauge = sheet.full_psi[line["cylinder"]] if text == "full" else parse_pressure(text)
            line["pressure"] = write_value(NumberKind.PRESSURE, gauge * value)

    @staticmethod
    def _lines(sheet: Sheet) -> list[tuple[int, dict[str, str]]]:
        return [(n, line) for n, line in enumerate(sheet.tree.get("supplies", [])) if "cylinder" in line]


Combined = Total | Delay | Share | Filling


def find_combined(sheet: Sheet) -> Iterator[tuple[str, NumberKind, Combined, str]]:
    """Yield path, kind, rule and words of every number that stands for several lines."""
    who = "patients who are listed" if "exercise" in sheet.tree else "patients who come"  # casualties come too
    for category in ("", *CATEGORIES):
        total = Total.of(category, sheet)
        if total.touches(sheet):
            name = f"patients.{category}.count" if category else "patients.count"
            yield name, NumberKind.COUNT, total, f"{category.capitalize() or 'all'} {who}, in all"
    deliveries = sheet.tree.get("deliveries", [])
    for number, line in enumerate(deliveries):
        words = "how much later than written it comes"
        yield f"deliveries.{line['delivery']}.delay", NumberKind.DELAY, Delay(number), words
    if len(deliveries) > 1:
        yield "deliveries.delay", NumberKind.DELAY, Delay(), "how much later than written all deliveries come"
    areas = list(sheet.tree["areas"])
    for section in _SECTIONS:
        if not sheet.tree.get(section):
            continue
        yield (
            f"{section}.share",
            NumberKind.SHARE,
            Share(section),
            f"share of the {section} that is there, rounded down",
        )
        for area in areas if len(areas) > 1 else ():
            words = f"share of the {section} at {area} that is there, rounded down"
            yield f"{section}.{area}.share", NumberKind.SHARE, Share(section, area), words
    if any("cylinder" in line or "inventory" in line for line in sheet.tree.get("supplies", [])):
        yield "supplies.pressure", NumberKind.SHARE, Filling(), "share of the gauge of every cylinder at the start"


def _patients(sheet: Sheet) -> list[dict[str, Any]]:
    return sheet.tree.get("patients") or []


def _is_of(line: Mapping[str, Any], category: str) -> bool:
    return not category or str(line.get("category", "")).strip().lower() == category
