"""Tasks get as many cases as are worth sending, and never more than are left."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from mci.surge.pace import Pace
from mci.surge.seeds import seed_of


@given(
    st.lists(st.tuples(st.integers(1, 500), st.floats(0, 1e4)), max_size=20), st.integers(1, 10**5), st.integers(1, 64)
)
def test_size_is_within_bounds(learned: list[tuple[int, float]], left: int, workers: int) -> None:
    """Whatever was measured, a task has at least one case, at most 500, and no more than there are."""
    pace = Pace()
    for cases, seconds in learned:
        pace.learn(cases, seconds)
    assert 1 <= pace.size(left, workers) <= min(left, 500)


@given(st.floats(1e-5, 100))
def test_task_takes_about_a_second(seconds: float) -> None:
    """After some tasks of equal cases, a task has as many of them as fit into a second, from one to 500."""
    pace = Pace()
    for _ in range(12):
        size = pace.size(10**6, 2)
        pace.learn(size, size * seconds)
    assert abs(pace.size(10**6, 2) - max(1, min(1 / seconds, 500))) <= 1


@given(st.integers(1, 5000), st.integers(1, 8))
def test_last_tasks_are_short(count: int, workers: int) -> None:
    """No task has more than its share of what is left, but for tasks that are an eighth of the usual size anyway."""
    pace, left = Pace(), count
    for _ in range(12):
        pace.learn(500, 0.1)
    while left:
        size = pace.size(left, workers)
        assert size <= max(500 // 8, -(-left // (2 * workers)))
        left -= size


def test_stream_belongs_to_the_case() -> None:
    """Streams of a case do not depend on what was drawn for others, and differ from theirs."""
    draws = [seed_of(7, number).random(4) for number in range(50)]
    again = [seed_of(7, number).random(4) for number in reversed(range(50))][::-1]
    assert np.array_equal(draws, again)
    assert len({tuple(row) for row in draws}) == 50
    assert not np.array_equal(draws[0], seed_of(8, 0).random(4))
