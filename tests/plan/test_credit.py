"""What a device at a flow is worth."""

from __future__ import annotations

import pytest
from incidents import ladder

from mci.plan.credit import reached_rung

LADDER = ladder("l", ("mask", 15, 1.0), ("mask", 10, 0.8), ("cannula", 4, 0.4))


@pytest.mark.parametrize(
    ("device", "flow", "credit"),
    [
        ("mask", 15, 1.0),
        ("mask", 12, 0.8),
        ("mask", 20, 1.0),
        ("mask", 6, None),
        ("mask", 14.995, 1.0),
        ("mask", 14.99, 0.8),
        ("cannula", 15, 0.4),
        ("vent", 15, None),
    ],
)
def test_the_best_rung_that_is_reached_counts(device: str, flow: float, credit: float | None) -> None:
    """A flow between two rungs counts as the lower one; too little, or a device not on the ladder, as nothing.

    What a table with two decimals loses is forgiven.
    """
    rung = reached_rung(LADDER, device, flow)
    assert (rung.credit if rung else None) == credit
