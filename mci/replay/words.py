"""Moments in the sentences of the judge."""

from __future__ import annotations

__all__ = ["at", "counted"]


def at(minute: float) -> str:
    """Write a moment to a hundredth of a minute: ``T+38.25 min``."""
    return f"T+{round(minute, 2):.10g} min"


def counted(number: float, thing: str) -> str:
    """Write a number with what it counts: ``1 patient``, ``2 patients``."""
    return f"{number:.10g} {thing}{'' if number == 1 else 's'}"
