"""Values of numbers as a planner writes them, by kind: read into the program's unit, and written again."""

from __future__ import annotations

import math

from mci import units
from mci.scenario.numbers import WHOLE, NumberKind

__all__ = ["UNITS", "read_value", "write_value"]

#: The program's unit of each kind; those without one are plain.
UNITS = {
    NumberKind.MOMENT: "min",
    NumberKind.DURATION: "min",
    NumberKind.DELAY: "min",
    NumberKind.PRESSURE: "psi",
    NumberKind.FLOW: "L/min",
    NumberKind.VOLUME: "L",
    NumberKind.MASS: "kg",
    NumberKind.POWER: "W",
    NumberKind.TEMPERATURE: "C",
}

_READERS = {
    NumberKind.COUNT: units.parse_number,
    NumberKind.STOCK: units.parse_number,
    NumberKind.NUMBER: units.parse_number,
    NumberKind.SHARE: units.parse_share,
    NumberKind.DURATION: units.parse_duration,
    NumberKind.DELAY: units.parse_duration,
    NumberKind.PRESSURE: units.parse_pressure,
    NumberKind.FLOW: units.parse_flow,
    NumberKind.VOLUME: units.parse_volume,
    NumberKind.MASS: units.parse_mass,
    NumberKind.POWER: units.parse_power,
    NumberKind.TEMPERATURE: units.parse_temperature,
}


def read_value(kind: NumberKind, text: str, start: int | None = None) -> float:
    """Read a value in the program's unit; NaN for words, ``inf`` for ``unlimited``.

    Parameters
    ----------
    start
        Clock time of T+0 [min after midnight], for moments written as clock times.

    Raises
    ------
    UnitError
        If the text is no value of this kind.
    """
    if kind is NumberKind.WORD or text == "full":
        return math.nan
    if text == "unlimited":
        return math.inf
    if kind is NumberKind.MOMENT:
        return units.parse_moment(text, start)
    value = _READERS[kind](text)
    if kind in WHOLE and value != int(value):
        raise units.UnitError("is not a whole number")
    return value


def write_value(kind: NumberKind, value: float) -> str:
    """Write a value of the program's unit so that it reads back the same, to a billionth.

    Not for words.
    """
    if math.isinf(value):
        return "unlimited"
    digits = f"{value:.9f}".rstrip("0").rstrip(".")
    if kind is NumberKind.MOMENT:
        return f"T+{digits}"
    unit = UNITS.get(kind, "")
    return f"{digits} {unit}" if unit else digits
