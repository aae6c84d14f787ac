"""Moments as people write them: one moment in every style, and no guess between two."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mci.drills.moments import Clock, NoStartError, NotAMomentError
from mci.units import format_clock

START, HORIZON = 14 * 60 + 35, 240.0


def _styles(minute: int, start: int) -> list[str]:
    day, clock = divmod(start + minute, 1440)
    hour, rest = divmod(clock, 60)
    styles = [f"T+{minute}", f"t + {minute}.0", f"T+{minute // 60}:{minute % 60:02d}", f"{minute} min", str(minute)]
    styles += [f"{hour:02d}:{rest:02d}", f"{hour:02d}.{rest:02d}", f"{hour}h{rest:02d}", f"{hour:02d}:{rest:02d}:00"]
    styles += [
        format_clock(minute, start),
        f"{hour:02d}{rest:02d} h",
        f"2026-05-{1 + day:02d} {hour:02d}:{rest:02d}:00",
    ]
    return [*styles, f"{(hour - 1) % 12 + 1}:{rest:02d} {'pm' if hour >= 12 else 'am'}"]


@given(st.integers(0, int(HORIZON)), st.sampled_from([START, 23 * 60 + 20, 0]))
def test_every_style_is_the_same_moment(minute: int, start: int) -> None:
    """Minutes, hours, clocks with and without sign, also past midnight."""
    for text in _styles(minute, start):
        if start == 0 and "." in text and not text.startswith("t"):
            continue  # 0.05 may well be minutes then
        assert Clock(start, HORIZON).read(text) == pytest.approx(minute), text


@given(st.lists(st.integers(0, 300), min_size=1, max_size=12))
def test_clocks_follow_each_other_over_days(steps: list[int]) -> None:
    """In an incident of a week, each clock time is the one that comes next."""
    clock, now = Clock(6 * 60, 10080.0), 0
    for step in [0, *steps]:
        now += step
        assert clock.read(f"{(360 + now) // 60 % 24:02d}:{(360 + now) % 60:02d}") == now


def test_a_clock_time_before_the_start_is_told_as_such() -> None:
    """Five minutes before T+0 are not most of a day after it."""
    assert Clock(START, HORIZON).read("14:30") == -5
    assert Clock(START, HORIZON).read("T-5") == -5


def test_a_clock_time_without_a_start_is_a_question() -> None:
    """Nobody knows when 14:47 is; 1447 neither, unless the incident lasts that long."""
    for text in ("14:47", "14h47", "0905", "1447", "2:47 pm"):
        with pytest.raises(NoStartError):
            Clock(None, HORIZON).read(text)
    assert Clock(None, HORIZON).read("14.47") == 14.47
    assert Clock(None, 3000.0).read("1447") == 1447


def test_four_digits_that_may_be_both_are_not_read() -> None:
    """A clock time and minutes of a week."""
    with pytest.raises(NotAMomentError, match="may be a clock time or minutes: write 14:47 or T\\+1447"):
        Clock(START, 10080.0).read("1447")
    assert Clock(START, 10080.0, plain=True).read("1447") == 1447


@pytest.mark.parametrize("text", ["", "soon", "14:75", "25:00", "1:2:3:4", "T+", "13:00 pm", "12 mins ago"])
def test_what_is_no_moment_is_not_read(text: str) -> None:
    """An error that says what to write."""
    with pytest.raises(NotAMomentError):
        Clock(START, HORIZON).read(text)


def test_dots_are_minutes_where_they_cannot_be_a_clock() -> None:
    """14.47 is a clock time at 14:35, 20.5 and 3.47 are minutes then."""
    assert Clock(START, HORIZON).read("14.47") == 12
    assert Clock(START, HORIZON).read("20.5") == 20.5
    assert Clock(START, HORIZON).read("3.47") == 3.47
    assert Clock(START, HORIZON, dotted=False).read("14.47") == 14.47
    assert Clock(START, HORIZON).read("14,5") == 14.5
