"""Casualties by the mean mix of their mechanism: the batches that stand for them until single patients are drawn."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mci.catalogue.mechanisms import load_mechanisms
from mci.scenario.model import Patients, Spell

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from mci.scenario.exercise import Casualties

__all__ = ["mean_patients"]


def mean_patients(group: Casualties) -> Iterator[Patients]:
    """Yield batches for a group by the mean mix of its mechanism, adults first; who needs no oxygen is left out.

    Numbers are whole by largest remainder: first of adults and children, then of each by need.
    """
    mechanism = load_mechanisms()[group.mechanism]
    ages = _parted(group.count, [1 - group.children, group.children])
    for child, number in zip((False, True), ages, strict=True):
        counts = _parted(number, [mechanism.no_oxygen, *(need.share for need in mechanism.needs)])
        for need, count in zip(mechanism.needs, counts[1:], strict=True):
            if count:
                ladder = need.ladder_of(child=child)
                course = (Spell(0.0, group.area, need.category, ladder),)
                label = f"{group.label}, {need.category}, {ladder}"
                yield Patients(label, count, group.arrival, group.stay, group.leave, course, group.mechanism)


def _parted(whole: int, shares: Sequence[float]) -> list[int]:
    """Part a number by shares that sum to 1, by largest remainder; of equal remainders the first gets one."""
    exact = [whole * share for share in shares]
    counts = [math.floor(each) for each in exact]
    by_remainder = sorted(range(len(shares)), key=lambda at: (round(counts[at] - exact[at], 9), at))
    for at in by_remainder[: whole - sum(counts)]:
        counts[at] += 1
    return counts
