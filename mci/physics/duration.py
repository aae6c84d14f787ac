"""How long a content lasts: ``minutes = litres / flow``, stated in whole minutes and never rounded up.

This module imports nothing of ``mci``.
"""

from __future__ import annotations

import math

__all__ = ["duration_min", "whole_minutes"]


def duration_min(litres: float, flow_lpm: float) -> float:
    """Return the time for which usable litres [L] feed a constant flow [L/min], in minutes.

    Raises
    ------
    ValueError
        If the flow is not above 0.
    """
    if not flow_lpm > 0:
        raise ValueError(f"a duration needs a flow above 0 L/min, not {flow_lpm:g}")
    return litres / flow_lpm


def whole_minutes(minutes: float) -> int:
    """Return a time rounded down, forgiving the last digits of a float: 28.999999999999 is 29."""
    return math.floor(minutes + 1e-9)
