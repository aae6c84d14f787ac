"""What is found up to a moment is what a whole replay finds, as far as that."""

from __future__ import annotations

import pytest
from quay import incident, orders

from mci.replay.judge import found_by, replay


@pytest.mark.parametrize("minute", [0.0, 5.0, 20.0, 31.5, 47.0, 60.0])
@pytest.mark.parametrize("left_out", range(16))
def test_as_far_as_a_moment(left_out: int, minute: float) -> None:
    """With any one order left out: law, row and moment are the same; what comes later is not looked at."""
    some = [order for row, order in enumerate(orders()) if row != left_out]
    whole = [each for each in replay(incident(), some).findings if each.judged and each.law != "reserve"]
    found = found_by(incident(), some, minute)
    assert [(each.law, each.row, each.minute) for each in found] == [
        (each.law, each.row, each.minute) for each in whole if each.minute <= minute
    ]
