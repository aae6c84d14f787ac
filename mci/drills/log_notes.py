"""Notes on a log, collected while it is read."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from mci.drills.log import Note, NoteKind

__all__ = ["Notes"]


@dataclass(slots=True)
class Notes:
    """Collects notes; ``left_out`` are the lines that could not be used."""

    found: list[Note] = field(default_factory=list)
    left_out: set[int] = field(default_factory=set)

    def add(
        self,
        kind: NoteKind,
        line: int,
        why: str,
        *,
        column: str = "",
        written: str = "",
        read: str = "",
        minute: float = math.nan,
    ) -> None:
        """Note something."""
        note = Note(kind, line, column, written, read, why, minute)
        if str(note) not in {str(each) for each in self.found if each.line == line}:
            self.found.append(note)

    def corrected(self, line: int, why: str, column: str, written: str, read: str, minute: float = math.nan) -> None:
        """Note that something was read as something else than is written."""
        self.add(NoteKind.CORRECTED, line, why, column=column, written=written, read=read, minute=minute)

    def leave_out(self, line: int, why: str, *, kind: NoteKind = NoteKind.LEFT_OUT, minute: float = math.nan) -> None:
        """Note that a line is not carried out."""
        self.left_out.add(line)
        self.add(kind, line, f"{why} The line is left out.", minute=minute)

    def sorted(self) -> tuple[Note, ...]:
        """Return the notes in the order of lines."""
        return tuple(sorted(self.found, key=lambda note: note.line))
