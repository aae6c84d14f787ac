"""What a device at a flow is worth to a patient: the credit of the best rung that it reaches."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from mci.catalogue.model import Ladder, Rung

__all__ = ["ROUNDED", "reached_rung"]

#: What a flow may lack of its rung [L/min]: half of the last digit that tables show, and spreadsheets save.
ROUNDED = 0.005 + 1e-9


def reached_rung(ladder: Ladder, device: str, flow_lpm: float) -> Rung | None:
    """Return the best rung of a ladder that has this device and needs no more than this flow; ``None`` if none.

    A flow between two rungs counts as the lower one, a device that is not on the ladder as nothing.
    """
    reached = [rung for rung in ladder.rungs if rung.device.key == device and rung.flow_lpm <= flow_lpm + ROUNDED]
    return max(reached, key=lambda rung: rung.credit, default=None)
