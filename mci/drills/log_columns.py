"""The columns of a log, under the names that people give them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.drills.book import Book, Entry, Found, How
from mci.errors import InputError, Mistake

if TYPE_CHECKING:
    from mci.scenario.table import Table

__all__ = ["Columns", "find_columns"]

#: What each column is called: our own tables, and common practice, no source.
_HEADERS: Mapping[str, tuple[str, ...]] = {
    "minutes": ("time_min", "minutes", "minute", "min", "minutes after T+0", "T+"),
    "time": ("time", "clock", "when", "moment", "clock time", "time of day", "at", "T", "done at"),
    "begin": ("begin_min", "begin", "began", "begins", "begun", "from"),
    "area": ("area", "place", "where", "location", "ward", "treatment area"),
    "action": ("action", "what", "order", "event", "task", "done", "activity", "what was done"),
    "patient": ("patient", "pt", "casualty", "who", "patient name", "patient no", "patient id", "tag", "patient tag"),
    "device": ("device", "mask", "interface", "oxygen device", "delivery device", "mask or cannula"),
    "flow": (
        "flow_L_per_min",
        "flow",
        "flow L/min",
        "flow lpm",
        "L/min",
        "lpm",
        "rate",
        "flow rate",
        "litres",
    ),
    "supply": (
        "supply",
        "cylinder",
        "source",
        "tank",
        "bottle",
        "cylinder no",
        "cyl",
        "cylinder or supply",
        "oxygen source",
    ),
    "regulator": ("regulator", "manifold", "reg", "regulator no", "regulator or manifold", "outlet"),
    "gauge psi": ("gauge_psi", "gauge psi", "pressure psi", "psi"),
    "gauge bar": ("gauge bar", "pressure bar", "bar"),
    "gauge": ("gauge", "pressure", "gauge reading", "cylinder pressure"),
    "by": ("by", "done by", "changed by", "staff", "person", "role", "crew", "by whom"),
    "note": ("note", "notes", "remark", "remarks", "comment", "comments", "reason", "why", "observation"),
}
_DITTO = ('"', "''", "〃")
_BOOK = Book(tuple(Entry(column, short=words) for column, words in _HEADERS.items()))
_NEEDED = (
    "Name at least the columns time and action; besides them patient, device, flow, cylinder, regulator, by, note."
)


@dataclass(frozen=True, slots=True)
class Columns:
    """Which columns of a table are which.

    Parameters
    ----------
    written
        What each is called in the table.
    slips
        Those that were read by their spelling or first word: as written, and as what.
    strange
        Those that nobody reads.
    """

    written: Mapping[str, tuple[str, ...]]
    slips: Sequence[tuple[str, str]]
    strange: Sequence[str]

    def cell(self, row: Mapping[str, str], column: str) -> str:
        """Return what a row says in a column, nothing for a dash; the first that is filled where several are alike."""
        texts = (row[name] for name in self.written.get(column, ()) if row.get(name))
        return next((text for text in texts if any(map(str.isalnum, text)) or text in _DITTO), "")


def find_columns(table: Table) -> Columns:
    """Return which columns are which.

    Raises
    ------
    InputError
        None says when, or none says what was done.
    """
    written: dict[str, tuple[str, ...]] = {}
    slips: list[tuple[str, str]] = []
    strange: list[str] = []
    for name in table.columns:
        found = _find(name)
        if not found.name:
            strange += [name] if name else []
            continue
        if not found.is_sure:
            slips.append((name, found.name))
        written[found.name] = (*written.get(found.name, ()), name)
    _check(table, written)
    return Columns(written, slips, strange)


def _find(name: str) -> Found:
    """Return what a column means: by its name, by a slip of the pen in it, or by its first word."""
    found = _BOOK.find(name)
    if found.name and found.how is not How.PART:
        return found
    first = _BOOK.find(name.split()[0]) if name else found
    return Found(first.name, How.PART) if first.is_sure else Found("", How.NOT)


def _check(table: Table, written: Mapping[str, tuple[str, ...]]) -> None:
    missing = []
    if not written.keys() & {"minutes", "time"}:
        missing.append("no column says when")
    if "action" not in written:
        missing.append("no column says what was done")
    found = ", ".join(name for name in table.columns if name)
    if missing:
        raise InputError([Mistake(rule, _NEEDED, table.file, line=1, value=found) for rule in missing])
    if not table.rows:
        raise InputError([Mistake("holds no lines", "Write one line for whatever was done.", table.file)])
