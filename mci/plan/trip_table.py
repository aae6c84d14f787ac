"""Trips as a table, written and read: one row per stop and thing, units in the headers."""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from mci.cells import safe_text
from mci.errors import InputError, Mistake
from mci.plan.numbers import has_decimal_comma, parse_number, write_number
from mci.plan.open_table import open_table
from mci.plan.trips import Cargo, Stop, Trip
from mci.units import format_clock

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from pathlib import Path

__all__ = ["TRIP_HEADERS", "TripRow", "read_trips", "read_trips_with_lines", "trip_rows", "trips_text"]

TRIP_HEADERS = (
    "trip",
    "vehicle",
    "stop",
    "place",
    "arrive_min",
    "arrive_clock",
    "depart_min",
    "depart_clock",
    "action",
    "item",
    "quantity",
    "via",
)
_NOT_READ = ("arrive_clock", "depart_clock")
_LOAD, _UNLOAD = "load", "unload"
_ROADS = ">"  # between the roads of a way
_SAME = "Write the same on all of them."


class TripRow(NamedTuple):
    """One row of the table: a stop, and a thing that is loaded or unloaded there.

    Parameters
    ----------
    number
        Of the stop in its trip, counted from 1.
    action
        ``load`` or ``unload``; empty for a stop where neither is done.
    """

    trip: Trip
    number: int
    stop: Stop
    action: str
    cargo: Cargo | None


def trip_rows(trips: Iterable[Trip]) -> Iterator[TripRow]:
    """Yield the rows in their order: trips as they come, their stops in turn, at each what is unloaded first."""
    for trip in trips:
        for number, stop in enumerate(trip.stops, start=1):
            yield from (TripRow(trip, number, stop, _UNLOAD, cargo) for cargo in stop.unload)
            yield from (TripRow(trip, number, stop, _LOAD, cargo) for cargo in stop.load)
            if not (stop.unload or stop.load):
                yield TripRow(trip, number, stop, "", None)


def trips_text(trips: Iterable[Trip], start: int | None) -> str:
    """Write trips as CSV; ``start`` is the clock time of T+0 [min after midnight]."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(TRIP_HEADERS)
    writer.writerows(_cells(row, start) for row in trip_rows(trips))
    return out.getvalue()


def _cells(row: TripRow, start: int | None) -> list[str]:
    stop, cargo = row.stop, row.cargo
    return [
        safe_text(row.trip.key),
        safe_text(row.trip.vehicle),
        str(row.number),
        safe_text(stop.place),
        write_number(stop.arrive),
        format_clock(stop.arrive, start),
        write_number(stop.depart),
        format_clock(stop.depart, start),
        row.action,
        safe_text(cargo.item) if cargo is not None else "",
        str(cargo.quantity) if cargo is not None else "",
        safe_text(f" {_ROADS} ".join(stop.via)),
    ]


def read_trips(file: Path) -> tuple[Trip, ...]:
    """Read trips from a table, ours or a person's; clocks are not read.

    Rows may be in any order; trips come in that of their first rows.  CSV with commas, semicolons or tabs, where a
    number may have a decimal comma if commas do not part the cells; or the sheet ``trips`` of a workbook.

    Raises
    ------
    InputError
        The file cannot be read, or with all its mistakes and their lines.
    """
    return read_trips_with_lines(file)[0]


def read_trips_with_lines(file: Path) -> tuple[tuple[Trip, ...], tuple[int, ...]]:
    """Read trips as :func:`read_trips` does, and the row of the file for each of :func:`trip_rows`.

    Raises
    ------
    InputError
        The file cannot be read, or with all its mistakes and their lines.
    """
    name = str(file)
    table = open_table(file, "trips", TRIP_HEADERS, _NOT_READ, "stop and thing")
    comma = has_decimal_comma(table)
    found = [_Read(name, line, row, comma) for row, line in zip(table.rows, table.lines, strict=True)]
    mistakes = [mistake for each in found for mistake in each.mistakes]
    visits: dict[str, dict[int, list[_Read]]] = {}
    for each in found:
        if not each.mistakes:
            visits.setdefault(each.trip, {}).setdefault(each.number, []).append(each)
    if not mistakes:
        mistakes = [mistake for stops in visits.values() for mistake in _disagreements(stops)]
    if mistakes:
        raise InputError(mistakes)
    trips = tuple(_trip(stops) for stops in visits.values())
    return trips, tuple(line for stops in visits.values() for number in sorted(stops) for line in _lines(stops[number]))


@dataclass(slots=True)
class _Read:
    """One row as read; what is wrong with it is in ``mistakes``."""

    file: str
    line: int
    cells: dict[str, str]
    comma: bool
    mistakes: list[Mistake] = field(default_factory=list)
    trip: str = ""
    number: int = 0
    arrive: float = 0.0
    depart: float = 0.0
    cargo: Cargo | None = None

    def __post_init__(self) -> None:
        for column in ("trip", "vehicle", "place"):
            if column not in self.cells:
                self.wrong(column, "is missing", f"Name the {column}.")
        self.trip = self.cells.get("trip", "")
        self.number = self._whole("stop", "Number the stops of a trip 1, 2, ...")
        self.arrive, self.depart = self._minute("arrive_min"), self._minute("depart_min")
        if self.action not in ("", _LOAD, _UNLOAD):
            self.wrong("action", "no such action", f"Write {_LOAD}, {_UNLOAD}, or nothing for a mere stop.")
        elif self.action:
            if "item" not in self.cells:
                self.wrong("item", "is missing", f"Name what to {self.action}.")
            quantity = self._whole("quantity", "Write a whole number above 0, such as 12.")
            self.cargo = Cargo(self.cells.get("item", ""), quantity)
        elif "item" in self.cells or "quantity" in self.cells:
            self.wrong("action", "is missing", f"Write {_LOAD} or {_UNLOAD}.")

    @property
    def action(self) -> str:
        return self.cells.get("action", "").lower()

    @property
    def via(self) -> tuple[str, ...]:
        return tuple(road.strip() for road in self.cells.get("via", "").split(_ROADS) if road.strip())

    @property
    def visit(self) -> dict[str, object]:
        """What all rows of one stop must agree on, by column."""
        return {
            "place": self.cells["place"],
            "arrive_min": self.arrive,
            "depart_min": self.depart,
            "via": self.via,
        }

    def mistake(self, column: str, rule: str, fix: str) -> Mistake:
        """Return a mistake in a column."""
        return Mistake(rule, fix, self.file, line=self.line, path=column, value=self.cells.get(column))

    def wrong(self, column: str, rule: str, fix: str) -> None:
        """Note a mistake in a column."""
        self.mistakes.append(self.mistake(column, rule, fix))

    def _minute(self, column: str) -> float:
        value = parse_number(self.cells.get(column, ""), comma=self.comma)
        if not (math.isfinite(value) and value >= 0):
            self.wrong(column, "not a number", "Write minutes after T+0 as a number, 0 or more, such as 12 or 12.5.")
        return value

    def _whole(self, column: str, fix: str) -> int:
        value = parse_number(self.cells.get(column, ""), comma=self.comma)
        if math.isfinite(value) and value >= 1 and value == int(value):
            return int(value)
        self.wrong(column, "not a whole number above 0", fix)
        return 0


def _disagreements(stops: dict[int, list[_Read]]) -> Iterator[Mistake]:
    """Yield what the rows of one trip say differently, and stops that are left out."""
    first = next(iter(stops.values()))[0]
    for number, rows in stops.items():
        one = rows[0]
        for row in rows:
            if row.cells["vehicle"] != first.cells["vehicle"]:
                yield row.mistake("vehicle", f"another vehicle than on row {first.line} of the same trip", _SAME)
            for column, value in row.visit.items():
                if value != one.visit[column]:
                    yield row.mistake(column, f"another {column} than on row {one.line} of the same stop", _SAME)
        if number > 1 and number - 1 not in stops:
            yield one.mistake("stop", f"stop {number - 1} of {one.trip} is missing", "Number the stops 1, 2, ...")
    if len(stops) == 1:
        yield first.mistake("stop", f"{first.trip} has one stop only", "A trip has two stops or more.")


def _trip(stops: dict[int, list[_Read]]) -> Trip:
    first = next(iter(stops.values()))[0]
    return Trip(first.trip, first.cells["vehicle"], tuple(_stop(stops[number]) for number in sorted(stops)))


def _stop(rows: Sequence[_Read]) -> Stop:
    one = rows[0]
    unload, load = (tuple(row.cargo for row in rows if row.cargo and row.action == way) for way in (_UNLOAD, _LOAD))
    return Stop(one.cells["place"], one.arrive, one.depart, unload, load, one.via)


def _lines(rows: Sequence[_Read]) -> list[int]:
    """Return the rows of the file in the order of :func:`trip_rows`; a mere stop has one only where nothing is done."""
    done = [row.line for way in (_UNLOAD, _LOAD) for row in rows if row.action == way]
    return done or [rows[0].line]
