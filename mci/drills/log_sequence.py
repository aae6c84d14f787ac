"""Lines of a log in the order in which they take effect."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from mci.drills.log import NoteKind
from mci.plan.orders import Action

if TYPE_CHECKING:
    from mci.drills.log_lines import Line
    from mci.drills.log_notes import Notes

__all__ = ["in_time", "rank_of"]

_RANK = {action: rank for rank, action in enumerate(Action)}
_JUST_AFTER = 0.01  # min: lines of one minute that follow each other


def rank_of(action: Action | None) -> int:
    """Return when an action takes effect among those of its minute; one that is not written comes first."""
    return -1 if action is None else _RANK[action]


def in_time(lines: Sequence[Line], notes: Notes) -> list[Line]:
    """Return lines in the order in which they take effect; some moments are put right, with a note."""
    _part(lines, notes)
    return sorted(lines, key=lambda line: (line.minute, rank_of(line.action), line.line))


def _part(lines: Sequence[Line], notes: Notes) -> None:
    """Let a line be just after an earlier one of the same minute and patient that would take effect after it.

    On a watch without seconds a patient may be connected and moved at the same time; lines are written one after
    the other.
    """
    last: dict[str, tuple[float, Line]] = {}
    for line in sorted(lines, key=lambda each: each.line):
        written, (at, before) = line.minute, last.get(line.patient, (math.nan, line))
        if not line.patient or line.action in (None, Action.CHANGE):
            continue
        if at == written and written.is_integer() and rank_of(line.action) < rank_of(before.action):
            line.minute = before.minute + _JUST_AFTER
            why = f"It is of the same minute as line {before.line}, and follows it."
            notes.add(NoteKind.CORRECTED, line.line, why, column="time", minute=line.minute)
        last[line.patient] = written, line
