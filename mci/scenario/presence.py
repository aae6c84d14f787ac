"""How many patients are present at a moment and how many need a device of their own, from their stays.

A stay is whatever has these names; the room that counts demand makes them, those of one course
one after the other.
"""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, Protocol

from mci.scenario.model import CATEGORIES

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator

    from mci.catalogue.model import Device
    from mci.scenario.model import Scenario

__all__ = ["StayLike", "first_needs", "most_at_once", "peak", "with_before"]


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


def peak(changes: Iterable[tuple[float, float]]) -> tuple[float, float]:
    """Return the largest sum of changes up to one moment, and the first such moment; no less than 0, at 0.

    Parameters
    ----------
    changes
        Moments [min], in any order, and how much more there is from then on.
    """
    change: dict[float, float] = defaultdict(float)
    for moment, more in changes:
        change[moment] += more
    most, when, now = 0.0, 0.0, 0.0
    for moment in sorted(change):
        now += change[moment]
        if now > most:
            most, when = now, moment
    return most, when


def most_at_once(stays: Iterable[StayLike]) -> tuple[int, float]:
    """Return the largest number of patients present at one moment, and the first such moment [min]."""
    most, when = peak((moment, sign * s.count) for s in stays for moment, sign in ((s.start, 1), (s.end, -1)))
    return int(most), when


def with_before(stays: Iterable[StayLike]) -> Iterator[tuple[StayLike, StayLike | None]]:
    """Yield each stay with the stay of the same patients that it follows, if any."""
    before: StayLike | None = None
    for stay in stays:
        yield stay, before if stay.continues else None
        before = stay


def first_needs(
    scenario: Scenario, stays: Iterable[StayLike], categories: Collection[str] = CATEGORIES
) -> Iterator[tuple[StayLike, Device]]:
    """Yield the stays whose patients come to need a device for their top rung that they do not have yet.

    Whoever needed the same device before, on another ladder or at another area, keeps it.  Only needs of the
    given categories count.
    """
    owned: set[str] = set()
    for stay in stays:
        if not stay.continues:
            owned = set()
        device = scenario.ladders[stay.ladder].rungs[0].device
        if stay.category in categories and device.key not in owned:
            owned.add(device.key)
            yield stay, device
