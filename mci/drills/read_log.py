"""The log of a team read: a table of what was done when, forgiving, and never guessing silently."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from mci.drills.log import Log, NoteKind
from mci.drills.log_columns import Columns, find_columns
from mci.drills.log_judged import note_findings
from mci.drills.log_lines import Line, look_up_line
from mci.drills.log_notes import Notes
from mci.drills.log_orders import order_lines
from mci.drills.moments import Clock, NoStartError, NotAMomentError
from mci.drills.names import Names
from mci.errors import InputError, Mistake
from mci.plan.numbers import has_decimal_comma
from mci.plan.orders import sort_orders
from mci.scenario.table import read_table, sheet_names

if TYPE_CHECKING:
    from pathlib import Path

    from mci.scenario.model import Scenario
    from mci.scenario.table import Table

__all__ = ["read_log"]

_DITTO = ('"', "''", "〃", "ditto", "do.", "same", "same time")


def read_log(file: Path, scenario: Scenario) -> Log:
    """Read the log of a team: a CSV file or a workbook, one line for whatever was done.

    Parameters
    ----------
    scenario
        As read; what its exercise lets happen is applied here, so that patients of a second wave are known.

    Raises
    ------
    InputError
        The file cannot be read, has no column for time or action, or has clock times where nobody knows the clock
        time of T+0; with all mistakes.
    """
    from mci.drills.happen import happened

    actual = happened(scenario, scenario.injects)
    table = _open(file)
    columns, names, notes = find_columns(table), Names(actual), Notes()
    _note_columns(columns, notes)
    lines, remarks = [], []
    comma = has_decimal_comma(table)
    for row, line in _timed(table, columns, scenario, notes):
        if _is_remark(row, columns):
            remarks.append((line.line, columns.cell(row, "note")))
        elif not math.isnan(line.minute):
            look_up_line(line, row, columns, names, notes, comma=comma)
            lines.append(line)
    quiet = frozenset({"area"}) - columns.written.keys()
    pairs = order_lines([each for each in lines if _is_inside(each, actual, notes)], names, notes, quiet=quiet)
    line_of = {id(order): line for order, line in pairs}
    orders = sort_orders([order for order, _ in pairs])
    of_orders = tuple(line_of[id(order)] for order in orders)
    note_findings(names, orders, of_orders, notes)
    return Log(file.name, orders, of_orders, notes.sorted(), len(table.rows), len(notes.left_out), tuple(remarks))


def _open(file: Path) -> Table:
    """Open the sheet of the log, or of orders, or else the first one."""
    name = str(file)
    sheet = None
    if name.lower().endswith(".xlsx"):
        sheets = {each.lower(): each for each in reversed(sheet_names(file, name))}
        sheet = sheets.get("log") or sheets.get("log-sheet") or sheets.get("orders")  # a packet's orders are the key
    return read_table(file, name, sheet)


def _note_columns(columns: Columns, notes: Notes) -> None:
    for written, read in columns.slips:
        notes.corrected(1, "Nothing else is meant.", written, written, read)
    if "area" not in columns.written:
        why = "No column says where: every line is where its patient or its cylinder is."
        notes.corrected(1, why, "area", "", "")
    for written in columns.strange:
        notes.add(NoteKind.LEFT_OUT, 1, "Nobody knows what this column means; it is not read.", column=written)


def _is_remark(row: dict[str, str], columns: Columns) -> bool:
    """Tell whether a line says nothing but a remark."""
    said = ("action", "patient", "device", "flow", "supply", "regulator", "gauge", "gauge psi", "gauge bar")
    return not any(columns.cell(row, column) for column in said)


def _is_inside(line: Line, scenario: Scenario, notes: Notes) -> bool:
    """Tell whether a line lies in the incident."""
    if math.isnan(line.minute):
        return False
    if -1e-5 <= line.minute <= scenario.horizon + 1e-5:
        return True
    where = "before T+0" if line.minute < 0 else f"after the end at T+{scenario.horizon:g}"
    notes.leave_out(line.line, f"It is {where}.", minute=line.minute)
    return False


# --- moments --------------------------------------------------------------------------------------


def _timed(table: Table, columns: Columns, scenario: Scenario, notes: Notes) -> Iterator[tuple[dict[str, str], Line]]:
    """Yield every row with its line and moment, NaN where that is not known."""
    clock, plain = _clocks(table, columns, scenario)
    mistakes: list[Mistake] = []
    found: list[tuple[dict[str, str], Line]] = []
    last = math.nan
    for row, number in zip(table.rows, table.lines, strict=True):
        minutes, text = columns.cell(row, "minutes"), columns.cell(row, "time")
        line = Line(number, math.nan)
        found.append((row, line))
        try:
            line.minute = _moment(plain if minutes else clock, minutes or text, last, line, notes)
            begin = columns.cell(row, "begin")
            line.begin = plain.read(begin) if begin and minutes else clock.read(begin) if begin else math.nan
        except NoStartError:
            fix = "Give incident.start in the scenario, or write T+12 or minutes after T+0."
            mistakes.append(Mistake("a clock time, but the incident has no start", fix, table.file, number, value=text))
        except NotAMomentError as error:
            if not _is_remark(row, columns):
                notes.leave_out(number, f"{error}.")
        if line.minute < last - 1e-5:
            why = f"It stands after a line of T+{last:.4g}, and is taken at its own time."
            notes.add(NoteKind.CONTRADICTION, number, why, column="time", minute=line.minute)
        last = last if math.isnan(line.minute) else line.minute
    if mistakes:
        raise InputError(mistakes)
    yield from found


def _clocks(table: Table, columns: Columns, scenario: Scenario) -> tuple[Clock, Clock]:
    """Return who reads moments and who reads minutes; dots are clock times where all of them can be."""
    clock = Clock(scenario.start, scenario.horizon)
    texts = [columns.cell(row, "time") for row in table.rows]
    dotted = [text for text in texts if "." in text and text.replace(".", "").isdigit()]
    clock.dotted = all(map(clock.may_be_clock, dotted))
    return clock, Clock(scenario.start, scenario.horizon, plain=True)


def _moment(clock: Clock, text: str, last: float, line: Line, notes: Notes) -> float:
    if text.strip().lower() in _DITTO and not math.isnan(last):
        notes.corrected(line.line, "The same as on the line before.", "time", text, f"T+{last:g}", last)
        return last
    if not text:
        raise NotAMomentError("It does not say when")
    return clock.read(text)
