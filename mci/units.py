"""Quantities with their units: text read at the door, text written on the way out.

Inside the program every number is a plain float in one canonical unit: minutes,
litres of free gas, L/min, psi gauge, kg, °C and W.  A misread unit is a
safety matter here, so whatever is not fully understood is refused: every ``parse_``
function raises :class:`UnitError`, with the list of units that would be understood.  This
module imports nothing of ``mci``.

Sources of the factors: NIST SP 811 (2008) appendix B for psi, bar, lb, ft3 and
gallon.  1 psi = 6.894757 kPa, 1 bar = 100 kPa, 1 lb = 0.45359237 kg,
1 ft3 = 28.31685 L, 1 US gallon = 3.785412 L, 1 kgf/cm2 = 98.0665 kPa.
"""

from __future__ import annotations

import itertools
import math
import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = [
    "KPA_PER_PSI",
    "UnitError",
    "format_clock",
    "format_duration",
    "format_flow",
    "format_litres",
    "format_moment",
    "format_pressure",
    "parse_clock",
    "parse_duration",
    "parse_flow",
    "parse_mass",
    "parse_moment",
    "parse_number",
    "parse_power",
    "parse_pressure",
    "parse_share",
    "parse_temperature",
    "parse_volume",
]

KPA_PER_PSI = 6.894757

_PRESSURE: Mapping[str, float] = {
    "psi": 1.0,
    "psig": 1.0,
    "bar": 100 / KPA_PER_PSI,
    "kpa": 1 / KPA_PER_PSI,
    "mpa": 1000 / KPA_PER_PSI,
    "kg/cm2": 98.0665 / KPA_PER_PSI,
}
_FLOW: Mapping[str, float] = {"l/min": 1.0, "lpm": 1.0, "l/h": 1 / 60, "m3/h": 1000 / 60}
_VOLUME: Mapping[str, float] = {"l": 1.0, "litre": 1.0, "litres": 1.0, "liters": 1.0, "m3": 1000.0, "ft3": 28.31685}
_MASS: Mapping[str, float] = {"kg": 1.0, "g": 0.001, "lb": 0.45359237, "lbs": 0.45359237}
_POWER: Mapping[str, float] = {"w": 1.0, "kw": 1000.0}
_TIME: Mapping[str, float] = {
    "s": 1 / 60,
    "sec": 1 / 60,
    "min": 1.0,
    "h": 60.0,
    "hour": 60.0,
    "hours": 60.0,
    "hr": 60.0,
    "d": 1440.0,
    "day": 1440.0,
    "days": 1440.0,
}
_NUMBER = r"\d{1,12}(?:\.\d+)?"  # longer numbers are slips, and could overflow
_CLOCK = r"([01]?\d|2[0-3]):([0-5]\d)"
_DAY = 1440


class UnitError(ValueError):
    """Text that is not a quantity of the kind asked for."""


def _refuse(text: str, kind: str, example: str) -> UnitError:
    if re.search(r"\d,\d", text):
        return UnitError(
            f"is not {kind}: write a point, not a comma, for decimals and nothing for thousands ({example})"
        )
    if re.fullmatch(rf"-?{_NUMBER}", text.strip()):
        return UnitError(f"is not {kind}: the unit is missing ({example})")
    return UnitError(f"is not {kind} ({example})")


def _quantity(text: str, table: Mapping[str, float], kind: str, example: str) -> float:
    if text.strip() == "0":
        return 0.0
    match = re.fullmatch(rf"({_NUMBER})\s*([A-Za-z][A-Za-z0-9/]*)", text.strip())
    factor = table.get(match[2].lower()) if match else None
    if match is None or factor is None:
        raise _refuse(text, kind, example)
    return float(match[1]) * factor


def parse_pressure(text: str) -> float:
    """Read a gauge pressure [psi], as in ``2000 psi``, ``137 bar``, ``13.8 MPa`` or ``13700 kPa``."""
    return _quantity(text, _PRESSURE, "a gauge pressure", "such as 2000 psi, 137 bar, 13700 kPa or 13.7 MPa")


def parse_flow(text: str) -> float:
    """Read a flow of free gas [L/min], as in ``15 L/min``, ``15 lpm`` or ``2 m3/h``."""
    return _quantity(text, _FLOW, "a flow", "such as 15 L/min or 2 m3/h")


def parse_volume(text: str) -> float:
    """Read a volume [L], as in ``3000 L``, ``3 m3`` or ``106 ft3``."""
    return _quantity(text, _VOLUME, "a volume", "such as 3000 L, 3 m3 or 106 ft3")


def parse_mass(text: str) -> float:
    """Read a mass [kg], as in ``37 kg`` or ``80 lb``."""
    return _quantity(text, _MASS, "a mass", "such as 37 kg or 80 lb")


def parse_power(text: str) -> float:
    """Read an electrical power [W], as in ``350 W`` or ``6 kW``."""
    return _quantity(text, _POWER, "a power", "such as 350 W or 6 kW")


def parse_temperature(text: str) -> float:
    """Read a temperature [°C], as in ``-5 C`` or ``41 F``."""
    match = re.fullmatch(rf"([-+−]?{_NUMBER})\s*°?\s*([CFcf])", text.strip())
    if match is None:
        raise _refuse(text, "a temperature", "such as 21 C or 70 F")
    degrees = float(match[1].replace("−", "-"))
    celsius = degrees if match[2] in "Cc" else (degrees - 32) / 1.8
    if celsius < -273.15:
        raise UnitError("is colder than absolute zero")
    return celsius


def parse_number(text: str) -> float:
    """Read a plain number without a unit, such as a weight."""
    if re.fullmatch(_NUMBER, text.strip()) is None:
        raise UnitError("is not a number of zero or more (such as 3 or 0.5)")
    return float(text)


def parse_share(text: str) -> float:
    """Read a share between 0 and 1, as in ``0.85`` or ``85 %``."""
    match = re.fullmatch(rf"({_NUMBER})\s*(%?)", text.strip())
    share = float(match[1]) / (100 if match[2] else 1) if match else math.nan
    if not 0 <= share <= 1:
        raise UnitError("is not a share (between 0 and 1, or 0 % and 100 %)")
    return share


def parse_duration(text: str) -> float:
    """Read a length of time [min], as in ``90 min``, ``2 h``, ``1 h 30`` or ``1.5 h``."""
    stripped = text.strip()
    example = "such as 90 min, 2 h or 1 h 30"
    if stripped == "0":
        return 0.0
    after_hours = re.fullmatch(r"(\d{1,12})\s*h\s*([0-5]?\d)(?:\s*min)?", stripped)
    if after_hours:
        return 60.0 * int(after_hours[1]) + int(after_hours[2])
    parts = re.findall(rf"({_NUMBER})\s*([A-Za-z]+)\s*", stripped)
    units = [_TIME.get(unit.lower()) for _, unit in parts]
    whole = re.sub(rf"{_NUMBER}\s*[A-Za-z]+\s*", "", stripped) == ""
    known = [factor for factor in units if factor is not None]
    if not parts or not whole or len(known) != len(units) or any(a <= b for a, b in itertools.pairwise(known)):
        raise _refuse(text, "a length of time", example)
    return sum(float(number) * factor for (number, _), factor in zip(parts, known, strict=True))


def parse_clock(text: str) -> int:
    """Read a clock time [min after midnight], as in ``14:35``."""
    clock = re.fullmatch(_CLOCK, text.strip())
    if clock is None:
        raise UnitError("is not a clock time (such as 14:35)")
    return 60 * int(clock[1]) + int(clock[2])


def parse_moment(text: str, start: int | None = None) -> float:
    """Read a moment [min after the start of the incident].

    Parameters
    ----------
    text
        ``T+90``, ``T+1 h 30``, any length of time, or a clock time ``14:35``.
    start
        Clock time at which the incident starts [min after midnight]; without it
        a clock time is refused.  A clock time before the start means the next day.
    """
    stripped = text.strip()
    if re.fullmatch(_CLOCK, stripped):
        if start is None:
            raise UnitError("is a clock time, but the incident has no start (give incident.start, or write T+90 min)")
        return float((parse_clock(stripped) - start) % _DAY)
    after = re.fullmatch(r"[Tt]\s*\+\s*(.+)", stripped)
    if after:
        bare = re.fullmatch(_NUMBER, after[1])
        return float(after[1]) if bare else parse_duration(after[1])
    try:
        return parse_duration(stripped)
    except UnitError:
        raise _refuse(
            text, "a moment", "such as T+90, 90 min, 1 h 30, or 14:35 where the incident has a start"
        ) from None


def format_duration(minutes: float) -> str:
    """Write a length of time, rounded down to whole minutes: ``2 h 05 min`` or ``48 min``."""
    whole = math.floor(minutes + 1e-9)
    hours, rest = divmod(whole, 60)
    return f"{hours} h {rest:02d} min" if hours else f"{rest} min"


def format_moment(minutes: float) -> str:
    """Write a moment as minutes after the start, ``T+38`` (whole minutes, rounded down)."""
    return f"T+{math.floor(minutes + 1e-9)}"


def format_clock(minutes: float, start: int | None) -> str:
    """Write a moment as clock time ``14:35``, with ``+1 d`` on later days; empty without a start."""
    if start is None:
        return ""
    day, minute = divmod(start + math.floor(minutes + 1e-9), _DAY)
    return f"{minute // 60:02d}:{minute % 60:02d}" + (f" +{day} d" if day else "")


def format_flow(flow_lpm: float) -> str:
    """Write a flow with its unit, to three digits or whole litres: ``15 L/min``, ``1 234 L/min``."""
    text = f"{flow_lpm:.3g}" if flow_lpm < 100 else f"{flow_lpm:,.0f}".replace(",", " ")
    return f"{text} L/min"


def format_litres(litres: float) -> str:
    """Write a volume of free gas with its unit: ``12 400 L`` (whole litres, thin groups)."""
    text = f"{litres:,.0f}".replace(",", " ")
    return "0 L" if text == "-0" else f"{text} L"


def format_pressure(psi: float, *, metric: bool = False, digits: int = 0) -> str:
    """Write a gauge pressure: ``1500 psi``, or ``103 bar`` when ``metric``; ``digits`` after the point."""
    return f"{psi * KPA_PER_PSI / 100:.{digits}f} bar" if metric else f"{psi:.{digits}f} psi"
