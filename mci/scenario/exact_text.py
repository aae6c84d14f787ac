"""Values written as a planner would, in units in which they have few digits, so that they read back the same."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mci import units

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

__all__ = ["duration_text", "exact_text", "moment_text", "pressure_text"]

#: The most decimals that are written, and how close is the same.
_DIGITS = 13
_SAME = 1e-13


def pressure_text(psi: float, *, bar: bool) -> str:
    """Write a pressure [psi], in bar where the planner writes bar and both have as few digits."""
    both = {"psi": psi, "bar": psi * units.KPA_PER_PSI / 100}
    return exact_text(units.parse_pressure, psi, dict(reversed(both.items())) if bar else both)


def duration_text(minutes: float) -> str:
    """Write a length of time [min]."""
    return exact_text(units.parse_duration, minutes, {"min": minutes, "s": 60 * minutes})


def moment_text(minutes: float) -> str:
    """Write a moment in minutes, or in minutes and seconds where that is exact and minutes are not."""
    whole, seconds = divmod(round(60 * minutes), 60)
    in_seconds = f"{whole} min {seconds} s"
    if seconds % 3 and math.isclose(units.parse_duration(in_seconds), minutes, rel_tol=_SAME):
        return f"T+{in_seconds}"
    return "T+" + exact_text(float, minutes, {"": minutes})


def exact_text(read: Callable[[str], float], value: float, amounts: Mapping[str, float]) -> str:
    """Write a value with as few digits as read back the same, in one of several units; else with many digits."""
    for digits in range(_DIGITS):
        for unit, amount in amounts.items():
            text = f"{amount:.{digits}f} {unit}".strip()
            if math.isclose(read(text), value, rel_tol=_SAME):
                return text
    return text
