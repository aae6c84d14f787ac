"""How many patients are present at a moment, from their stays.

A stay is whatever has these names; the room that counts demand makes them.
"""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["StayLike", "most_at_once"]


class StayLike(Protocol):
    """A number of alike patients in one area, on one ladder, from ``start`` to ``end`` [min]."""

    @property
    def label(self) -> str:
        """Name of the patient or batch."""

    @property
    def count(self) -> int:
        """Patients."""

    @property
    def area(self) -> str:
        """Area."""

    @property
    def category(self) -> str:
        """Triage category."""

    @property
    def ladder(self) -> str:
        """Ladder."""

    @property
    def start(self) -> float:
        """Begin [min]."""

    @property
    def end(self) -> float:
        """End [min]."""

    @property
    def continues(self) -> bool:
        """Whether they come from another stay."""


def most_at_once(stays: Iterable[StayLike]) -> tuple[int, float]:
    """Return the largest number of patients present at one moment, and the first such moment [min]."""
    change: dict[float, int] = defaultdict(int)
    for stay in stays:
        change[stay.start] += stay.count
        change[stay.end] -= stay.count
    most, when, now = 0, 0.0, 0
    for moment in sorted(change):
        now += change[moment]
        if now > most:
            most, when = now, moment
    return most, when
