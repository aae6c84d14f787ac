"""The log of a team as read: orders, and everything that was corrected, is open or contradicts itself."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from mci.plan.orders import Order

__all__ = ["Log", "Note", "NoteKind"]


class NoteKind(StrEnum):
    """What a note is about."""

    CORRECTED = "corrected"  # read as something else than is written, because only one thing can be meant
    LEFT_OUT = "left out"  # not carried out: nobody can know what is meant
    GAP = "gap"  # something must have happened that is not written
    CONTRADICTION = "contradiction"  # two lines, or a line and the scenario, cannot both be true


@dataclass(frozen=True, slots=True)
class Note:
    """One remark on the log.

    Parameters
    ----------
    line
        Of the file, as a spreadsheet counts; 0 where no line is meant.
    column
        Which; empty where a whole line is meant.
    written, read
        What stands there, and as what it was read; empty where nothing was.
    why
        As a sentence.
    minute
        When [min]; NaN where that is not known.
    """

    kind: NoteKind
    line: int
    column: str
    written: str
    read: str
    why: str
    minute: float


@dataclass(frozen=True, slots=True)
class Log:
    """A log as read.

    Parameters
    ----------
    file
        Its name.
    orders
        What was done, in the order of time.
    lines
        The line of each order, as a spreadsheet counts.
    notes
        Remarks, in the order of lines.
    read, left_out
        How many lines were read, and how many of them could not be used.
    remarks
        Lines that say nothing but a remark, with its text.
    """

    file: str
    orders: tuple[Order, ...]
    lines: tuple[int, ...]
    notes: tuple[Note, ...]
    read: int
    left_out: int
    remarks: tuple[tuple[int, str], ...] = ()
