"""What would have been better, in words."""

from __future__ import annotations

from dataclasses import replace

from small_logs import connect, disconnect

from mci.drills.missed_words import better_words
from mci.plan.marks import Marks


def test_who_is_only_moved_is_said_once() -> None:
    """Off one outlet and on to another is one thing; who stays off is told."""
    orders = [disconnect(5, "P1"), disconnect(5, "P2"), connect(5, "P1")]
    words = better_words(orders, Marks())
    assert "take P1 off" not in words
    assert "ake P2 off oxygen" in words
    assert "onnect P1: mask at 10 L/min from pipe" in words


def test_who_is_taken_off_later_is_told() -> None:
    """A connection before does not hide it."""
    assert "take P1 off oxygen" in better_words([connect(5, "P1"), disconnect(9, "P1")], Marks())


def test_who_leaves_anyway_takes_no_room() -> None:
    """A departure is nothing that was done better, also where it is all there is."""
    leaves = replace(disconnect(9, "P1"), reason="leaves")
    assert better_words([leaves], Marks()) == "Leave everything as it stood."
    assert "P1" not in better_words([leaves, connect(9, "P2")], Marks())


def test_who_gets_something_is_told_before_who_is_taken_off() -> None:
    """Where not all has room, withdrawals are what is only counted; what is told stands in the order of time."""
    orders = [disconnect(5, f"Q{n}") for n in range(4)] + [connect(5 + n, f"P{n}") for n in range(5)]
    words = better_words(orders, Marks())
    assert all(f"onnect P{n}" in words for n in range(5))
    assert words.endswith("and 3 more.")
    assert words.startswith("At T+5 take Q0 off oxygen; connect P0")


def test_no_better_order_is_said_too() -> None:
    """Nothing to do is told as such."""
    assert better_words([], Marks()) == "Leave everything as it stood."
