"""What the judge finds in a log that two lines, or a line and the incident, cannot both be true of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from mci.drills.log import NoteKind
from mci.plan.orders import Action
from mci.replay.judge import replay

if TYPE_CHECKING:
    from mci.drills.log_notes import Notes
    from mci.drills.names import Names
    from mci.plan.orders import Order

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


def note_findings(names: Names, orders: Sequence[Order], lines: Sequence[int], notes: Notes) -> None:
    """Carry out orders and note what cannot be so.

    Parameters
    ----------
    orders, lines
        In the order of time, with the line of each.
    """
    for finding in replay(names.scenario, orders).findings:
        order = orders[finding.row - 1] if finding.row else None
        if finding.law not in _KINDS or not finding.judged or (finding.law == "window" and _may_be(order, names)):
            continue
        reason = finding.reason
        for name in (order.supply, order.regulator) if order is not None else ():
            reason = reason.replace(name, names.on_paper(name)) if name else reason
        line = lines[finding.row - 1] if finding.row else 0
        notes.add(_KINDS[finding.law], line, f"{reason}.", minute=finding.minute)


def _may_be(order: Order | None, names: Names) -> bool:
    """Tell whether a change is right but for its beginning, which is not written, or for less than a minute."""
    if order is None or order.action is not Action.CHANGE or order.begin < order.minute:
        return False
    supply, regulator = names.supplies[order.supply], names.regulators.get(order.regulator)
    there = max(supply.lot.available_from, regulator.available_from if regulator is not None else 0.0)
    return there - 1.0 < order.minute <= supply.lot.available_until
