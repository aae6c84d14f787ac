"""The lines of a log with everything that they name looked up, before anything is completed."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from mci.drills.actions import find_action
from mci.drills.amounts import read_flow, read_gauge
from mci.drills.book import Found, How
from mci.drills.phrases import Kind, cut
from mci.plan.orders import Action

if TYPE_CHECKING:
    from mci.drills.log_columns import Columns
    from mci.drills.log_notes import Notes
    from mci.drills.names import Names

__all__ = ["Line", "Strange", "look_up_line"]

_COLUMNS: Mapping[Kind, str] = {
    Kind.AREA: "area",
    Kind.PATIENT: "patient",
    Kind.ACTION: "action",
    Kind.SUPPLY: "supply",
    Kind.REGULATOR: "regulator",
    Kind.DEVICE: "device",
    Kind.FLOW: "flow",
}
_THOUSANDS = re.compile(r"\d{1,3},\d{3}")


@dataclass(frozen=True, slots=True)
class Strange:
    """A cell of which nothing was understood, and names that are near."""

    column: str
    written: str
    near: tuple[str, ...]

    def __str__(self) -> str:
        return f"{self.column} '{self.written}'" + (f" (near: {', '.join(self.near)})" if self.near else "")


@dataclass(slots=True)
class Line:
    """One line of a log: what is empty was not written; ``strange`` are cells of which nothing was understood.

    ``flow`` [L/min] and ``begin`` [min] are NaN where they are not written; ``action`` is ``None`` then.
    """

    line: int
    minute: float
    begin: float = math.nan
    action: Action | None = None
    area: str = ""
    patient: str = ""
    device: str = ""
    flow: float = math.nan
    supply: str = ""
    regulator: str = ""
    gauge_psi: float | None = None
    by: str = ""
    note: str = ""
    strange: list[Strange] = field(default_factory=list)


@dataclass(slots=True)
class _Reader:
    """Looks up the cells of one line."""

    cells: Mapping[Kind, str]
    line: Line
    names: Names
    notes: Notes
    comma: bool
    found: dict[Kind, Found] = field(default_factory=dict)

    def find(self, kind: Kind, text: str) -> Found:
        """Look a text up as a thing of a kind."""
        names, area = self.names, self._place()
        if kind is Kind.DEVICE:
            patient = self.found[Kind.PATIENT].name if Kind.PATIENT in self.found else ""
            return names.device(text, names.prescribed(patient, self.line.minute))
        if kind is Kind.FLOW:
            flow = None if not self.comma and _THOUSANDS.fullmatch(text) else read_flow(text)
            return Found("", How.NOT) if flow is None else Found(repr(flow), How.WRITTEN)
        if kind is Kind.SUPPLY:
            return names.supply(text, area)
        if kind is Kind.REGULATOR:
            return names.regulator(text, area)
        simple = {Kind.AREA: names.area, Kind.PATIENT: names.patient, Kind.ACTION: find_action}
        return simple[kind](text)

    def _place(self) -> str:
        """Return where the line happens, as far as is known."""
        if Kind.AREA in self.found:
            return self.found[Kind.AREA].name
        if Kind.PATIENT in self.found:
            return self.names.area_of(self.found[Kind.PATIENT].name, self.line.minute)
        for kind, things in ((Kind.SUPPLY, self.names.supplies), (Kind.REGULATOR, self.names.regulators)):
            if kind in self.found:
                thing = things[self.found[kind].name]
                return thing.lot.area if hasattr(thing, "lot") else thing.area
        return ""

    def look_up(self) -> None:
        """Look up every cell in its own column, then those that were not understood in the others."""
        for kind in _COLUMNS:
            self._look_up(kind)
        for kind in (Kind.SUPPLY, Kind.REGULATOR):  # the other of the two may tell the area by now
            if kind not in self.found:
                self._look_up(kind)
        for kind in [each for each in _COLUMNS if self.cells[each] and each not in self.found]:
            self._look_elsewhere(kind)

    def _look_up(self, kind: Kind) -> None:
        text = self.cells[kind]
        found = self.find(kind, text) if text else Found("", How.NOT)
        if found.name:
            self.found[kind] = found
            if not found.is_sure:
                self._corrected(kind, text, found)

    def _corrected(self, kind: Kind, text: str, found: Found) -> None:
        read = f"{float(found.name):g} L/min" if kind is Kind.FLOW else self.names.on_paper(found.name)
        why = "It stands in another column." if found.is_sure else f"Read {found.how}: nothing else is meant."
        self.notes.corrected(self.line.line, why, _COLUMNS[kind], text, read, self.line.minute)

    def _look_elsewhere(self, kind: Kind) -> None:
        """Read a cell that says something of other columns: two in one cell, or in the wrong one."""
        text = self.cells[kind]
        phrases = cut(text, self.names) if len(text) < 200 else ()
        read: dict[Kind, Found] = {}
        for phrase in phrases:
            open_kinds = [each for each in phrase.readings if each in _COLUMNS and each not in {*self.found, *read}]
            sure = {each: found for each in open_kinds if (found := self.find(each, phrase.text)).is_sure}
            if kind in sure:
                read[kind] = sure[kind]
            elif len(sure) == 1:
                read |= sure
        if phrases and len(read) == len(phrases):
            self.found |= read
            for each, found in read.items():
                self._corrected(each, text, found)
        else:
            self.line.strange.append(Strange(_COLUMNS[kind], text, self.find(kind, text).near))


def look_up_line(
    line: Line, row: Mapping[str, str], columns: Columns, names: Names, notes: Notes, *, comma: bool
) -> None:
    """Fill a line with what its cells mean."""
    cells = {kind: columns.cell(row, column) for kind, column in _COLUMNS.items()}
    reader = _Reader(cells, line, names, notes, comma)
    reader.look_up()
    said = {kind: found.name for kind, found in reader.found.items()}
    line.action = Action(said[Kind.ACTION]) if Kind.ACTION in said else None
    line.area, line.patient, line.device = (said.get(kind, "") for kind in (Kind.AREA, Kind.PATIENT, Kind.DEVICE))
    line.supply, line.regulator = said.get(Kind.SUPPLY, ""), said.get(Kind.REGULATOR, "")
    line.flow = float(said[Kind.FLOW]) if Kind.FLOW in said else math.nan
    line.note = columns.cell(row, "note")
    _look_up_gauge(line, row, columns, names, notes)
    _look_up_person(line, columns.cell(row, "by"), names, notes)


def _gauges(row: Mapping[str, str], columns: Columns, *, metric: bool) -> Iterator[tuple[str, str]]:
    """Yield every gauge that is written, with its unit."""
    for column, unit in (("gauge psi", "psi"), ("gauge bar", "bar"), ("gauge", "bar" if metric else "psi")):
        text = columns.cell(row, column)
        if text:
            yield text, unit


def _look_up_gauge(line: Line, row: Mapping[str, str], columns: Columns, names: Names, notes: Notes) -> None:
    for text, unit in _gauges(row, columns, metric=names.scenario.pressures_in_bar):
        line.gauge_psi = read_gauge(text, unit)
        if line.gauge_psi is None:
            why = "It is no gauge pressure, and is not looked at."
            notes.corrected(line.line, why, "gauge", text, "", line.minute)
            continue
        return


def _look_up_person(line: Line, text: str, names: Names, notes: Notes) -> None:
    """Find who changed a cylinder; a text that is no role or mark may be somebody's name, so it is not repeated."""
    if not text:
        return
    thing = names.supplies.get(line.supply)
    found = names.handler(text, line.area or (thing.lot.area if thing is not None else ""))
    line.by = found.name
    if not found.name:
        why = "It is no role or mark of this incident, and is not kept: nobody is scored by name."
        notes.corrected(line.line, why, "by", "", "", line.minute)
    elif not found.is_sure:
        notes.corrected(line.line, f"Read {found.how}.", "by", text, names.on_paper(found.name), line.minute)
