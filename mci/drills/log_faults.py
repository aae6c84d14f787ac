"""What the judge's findings mean in a log: what went wrong, what cannot have been so, what the log leaves open.

The judge knows only that a law is broken.  A cylinder that ran empty while somebody breathed from it broke one, and
happened all the same; two patients on one outlet did not.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from mci.plan.orders import Order
    from mci.replay.verdict import Finding

__all__ = ["Fault", "fault_of", "line_of"]

#: Orders this far before a finding are not its own moment [min].
_SAME = 1e-5
#: Laws that can be broken as written: a flow that the device is not made for, a cylinder that is too low to begin with.
_CAN_BE_BROKEN = frozenset({"content", "range", "in service", "reserve"})


class Fault(StrEnum):
    """What a finding means."""

    WRONG = "went wrong"
    IMPOSSIBLE = "not as written"
    OPEN = "left open"


def fault_of(finding: Finding, orders: Sequence[Order]) -> Fault:
    """Return what a finding of the judge means in a log.

    Parameters
    ----------
    finding
        Its row counts orders from 1.
    orders
        Those of the log, in the order of time.
    """
    if not finding.judged or finding.law == "silent":  # less than before, and no reason is written
        return Fault.OPEN
    order = orders[finding.row - 1] if 0 < finding.row <= len(orders) else None
    later = order is not None and finding.minute > order.minute + _SAME  # the order was right, nobody reacted
    if finding.law == "present":  # nobody stays when the patient has gone: only the line is missing
        return Fault.OPEN if later else Fault.IMPOSSIBLE
    return Fault.WRONG if later or finding.law in _CAN_BE_BROKEN else Fault.IMPOSSIBLE


def line_of(finding: Finding, lines: Sequence[int]) -> int:
    """Return the line of the log that a finding is about; 0 where no single one is to blame."""
    return lines[finding.row - 1] if 0 < finding.row <= len(lines) else 0
