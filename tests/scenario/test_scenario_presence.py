"""How many are there at once, against counting them minute by minute."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from mci.demand.stays import Stay
from mci.scenario.presence import most_at_once

STAYS = st.lists(
    st.builds(
        lambda start, length, count: Stay("b", count, "a", "immediate", "l", start, start + length, False),
        start=st.integers(0, 30),
        length=st.integers(1, 20),
        count=st.integers(1, 9),
    ),
    max_size=8,
)


@given(STAYS)
def test_most_at_once_agrees_with_counting(stays):
    """The peak and its first moment are those of a count at every minute; a stay does not reach into its end."""
    present = [sum(s.count for s in stays if s.start <= minute < s.end) for minute in range(60)]
    most, when = most_at_once(stays)
    assert most == max(present)
    assert when == (present.index(most) if most else 0)
