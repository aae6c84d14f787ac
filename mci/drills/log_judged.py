"""What the judge finds in a log that two lines, or a line and the incident, cannot both be true of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from mci.drills.log import NoteKind
from mci.replay.judge import replay

if TYPE_CHECKING:
    from mci.drills.log_notes import Notes
    from mci.plan.orders import Order
    from mci.scenario.model import Scenario

__all__ = ["note_findings"]

#: What each law of the judge says of a log; laws of how well something was done are not asked here.
_KINDS: Mapping[str, NoteKind] = {
    "present": NoteKind.GAP,
    "content": NoteKind.GAP,
    "known": NoteKind.CONTRADICTION,
    "one device": NoteKind.CONTRADICTION,
    "fits": NoteKind.CONTRADICTION,
    "holds": NoteKind.CONTRADICTION,
    "window": NoteKind.CONTRADICTION,
    "outlets": NoteKind.CONTRADICTION,
    "devices": NoteKind.CONTRADICTION,
    "gauge": NoteKind.CONTRADICTION,
}


def note_findings(scenario: Scenario, orders: Sequence[Order], lines: Sequence[int], notes: Notes) -> None:
    """Carry out orders and note what cannot be so.

    Parameters
    ----------
    orders, lines
        In the order of time, with the line of each.
    """
    for finding in replay(scenario, orders).findings:
        if finding.law in _KINDS and finding.judged:
            line = lines[finding.row - 1] if finding.row else 0
            why = f"{finding.reason[:1].upper()}{finding.reason[1:]}."
            notes.add(_KINDS[finding.law], line, why, minute=finding.minute)
