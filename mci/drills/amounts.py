"""Flows and gauge pressures as people write them: ``15``, ``15 L``, ``15 L/min``, ``1800 psi``, ``124 bar``."""

from __future__ import annotations

import re

from mci.units import UnitError, parse_pressure

__all__ = ["read_flow", "read_gauge"]

_FLOW = re.compile(
    r"@?\s*(\d{1,3}(?:[.,]\d{1,9})?)\s*(?:l|lt|ltr|lit(?:re|er)s?|lpm|lmin|l\s*/\s*m(?:in)?|l\s*per\s*min|l\s*min|"
    r"l\s*pm)?\.?",
    re.IGNORECASE,
)
_PER_HOUR = re.compile(r"(\d{1,5}(?:[.,]\d{1,9})?)\s*l\s*/\s*h", re.IGNORECASE)
_GAUGE = re.compile(r"(\d{1,5}(?:[.,]\d{1,3})?)\s*(psig?|bar|kpa|mpa)?", re.IGNORECASE)


def read_flow(text: str) -> float | None:
    """Return a flow [L/min], in litres a minute where no unit is written; ``None`` where it is none."""
    found = _FLOW.fullmatch(text.strip())
    if found:
        return float(found[1].replace(",", "."))
    hourly = _PER_HOUR.fullmatch(text.strip())
    return float(hourly[1].replace(",", ".")) / 60 if hourly else None


def read_gauge(text: str, unit: str = "") -> float | None:
    """Return a gauge pressure [psi]; ``None`` where it is none.

    Parameters
    ----------
    unit
        What is meant where no unit is written; empty where one must be.
    """
    found = _GAUGE.fullmatch(text.strip())
    if found is None or not (found[2] or unit):
        return None
    try:
        return parse_pressure(f"{found[1].replace(',', '.')} {found[2] or unit}")
    except UnitError:
        return None
