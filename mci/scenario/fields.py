"""The kinds of value that a planner writes, each read from text into the program's unit.

Every field type here is a plain float, int or text after reading; what it cannot fully
understand it refuses in words.  The JSON Schema beside each is what an editor shows.
"""

from __future__ import annotations

import calendar
import datetime
import math
import re
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import PlainValidator, ValidationInfo, WithJsonSchema

from mci import units
from mci.scenario.known import Known, Wrong, nearest
from mci.scenario.model import CATEGORIES

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = [
    "AreaName",
    "Category",
    "ClockTime",
    "Content",
    "Contents",
    "Count",
    "CountOrUnlimited",
    "CylinderName",
    "Date",
    "DateOrNotAsked",
    "Delay",
    "DeviceName",
    "Duration",
    "FileName",
    "Flow",
    "FullPressure",
    "GasModelName",
    "LadderName",
    "MachineName",
    "Mass",
    "MechanismName",
    "Moment",
    "MostFlow",
    "Number",
    "Outlets",
    "Packs",
    "PatternName",
    "PlaceName",
    "Power",
    "PowerOrUnlimited",
    "Pressure",
    "PressureOrFull",
    "PressureUnit",
    "Prose",
    "Rank",
    "Rate",
    "RegulatorName",
    "Share",
    "Stock",
    "Temperature",
    "Text",
    "Volume",
    "YesNo",
    "one_of",
]

_LONGEST_TEXT = 200
_MOST = 1_000_000


def _text(value: Any) -> str:
    if value is None:
        raise Wrong("has no value", "Write a value after the colon, or remove the line.")
    if not isinstance(value, str):
        raise Wrong("must be a single value, not a list or a mapping")
    return value.strip()


def _label(value: Any) -> str:
    text = _text(value)
    if not text:
        raise Wrong("must not be empty")
    if len(text) > _LONGEST_TEXT or not text.isprintable():
        raise Wrong(f"must be one line of at most {_LONGEST_TEXT} printable characters")
    return text


def _prose(value: Any) -> str:
    text = " ".join(_text(value).split())
    if len(text) > 20 * _LONGEST_TEXT or not text.isprintable():
        raise Wrong(f"must be text of at most {20 * _LONGEST_TEXT} printable characters")
    return text


def _quantity(parse: Callable[[str], float], zero: str = "") -> Callable[[Any], float]:
    """Return a reader; ``zero`` says why nothing at all is refused, empty where it is allowed."""

    def read(value: Any) -> float:
        text = _text(value)
        if re.match(r"[-−]\s*\d", text) and parse is not units.parse_temperature:
            raise Wrong("must not be negative")
        number = parse(text)
        if zero and number == 0:
            raise Wrong(zero)
        return number

    return read


def _rank(value: Any) -> float:
    text = _text(value).replace("−", "-")
    if re.fullmatch(r"[-+]?(0(\.\d+)?|\.\d+|1(\.0+)?)", text) is None:
        raise Wrong("is not a rank correlation (a number between -1 and 1)")
    return float(text)


def _count(value: Any) -> int:
    text = _text(value)
    if re.fullmatch(r"[-−]\d+(\.\d+)?", text):
        raise Wrong("must not be negative", "Write a whole number of 1 or more.")
    if re.fullmatch(r"\d{1,9}", text) is None or not 1 <= int(text) <= _MOST:
        raise Wrong(f"must be a whole number from 1 to {_MOST}")
    return int(text)


def _outlets(value: Any) -> int:
    return 0 if value == "0" else _count(value)


def _count_or_unlimited(value: Any) -> float:
    return math.inf if value == "unlimited" else float(_count(value))


def _stock(value: Any) -> float:
    return 0.0 if value == "0" else _count_or_unlimited(value)


def _power_or_unlimited(value: Any) -> float:
    return math.inf if value == "unlimited" else _quantity(units.parse_power)(value)


def _pressure_or_full(value: Any) -> float | Literal["full"]:
    return "full" if value == "full" else _quantity(units.parse_pressure, "must be above 0, or 'full'")(value)


def _moment(value: Any, info: ValidationInfo) -> float:
    start = info.context.start if isinstance(info.context, Known) else None
    text = _text(value)
    if re.match(r"(T\s*\+\s*)?[-−]\s*\d", text):
        raise Wrong("must not lie before the start of the incident")
    return units.parse_moment(text, start)


def _clock(value: Any) -> int:
    return units.parse_clock(_text(value))


def _contents(value: Any) -> str:
    text = _text(value)
    if re.match(r"[-−]", text):
        raise Wrong("must not be negative")
    for parse in (units.parse_mass, units.parse_volume):
        try:
            parse(text)
        except units.UnitError:
            continue
        if re.search(r"(m3|ft3)$", text, re.IGNORECASE) or text == "0":
            break
        return text
    raise Wrong("is not an amount of liquid oxygen (such as 31 L of liquid, 73 lb or 40 kg)")


def _date(value: Any) -> datetime.date:
    """Read a day, or a month as stamped on a cylinder (its last day counts)."""
    text = _text(value)
    match = re.fullmatch(r"(\d{4})-(\d{2})(?:-(\d{2}))?", text)
    try:
        if match is None:
            raise ValueError
        if match[3]:
            return datetime.date(int(match[1]), int(match[2]), int(match[3]))
        year, month = int(match[1]), int(match[2])
        return datetime.date(year, month, calendar.monthrange(year, month)[1])
    except ValueError:
        raise Wrong("is not a date (such as 2026-05-01, or 2026-05 for a month)") from None


def _date_or_not_asked(value: Any) -> datetime.date | Literal["not asked"]:
    return "not asked" if value == "not asked" else _date(value)


def _yes_no(value: Any) -> bool:
    text = _text(value).lower()
    if text not in ("yes", "no", "y", "n", "x", ""):
        raise Wrong("must be yes or no")
    return text in ("yes", "y", "x")


def _file_name(value: Any) -> str:
    text = _label(value)
    if not text.lower().endswith((".csv", ".xlsx")):
        raise Wrong("must be the name of a .csv or .xlsx file")
    return text


def one_of(words: tuple[str, ...]) -> Callable[[Any], str]:
    """Return a reader of one of a few words, whatever its capitals."""

    def read(value: Any) -> str:
        text = _text(value)
        if text.lower() not in words:
            raise Wrong(f"must be one of {', '.join(words)}", nearest(text, words) if text else "")
        return text.lower()

    return read


def _name_of(kind: str) -> Callable[[Any, ValidationInfo], str]:
    """Return a reader of a reference to something that the scenario or the catalogue names."""

    def read(value: Any, info: ValidationInfo) -> str:
        text = _label(value)
        return info.context.key_of(kind, text) if isinstance(info.context, Known) else text

    return read


def _schema(pattern: str, examples: list[str], **more: Any) -> WithJsonSchema:
    return WithJsonSchema({"type": "string", "pattern": pattern, "examples": examples, **more})


_N = r"[0-9]+(\.[0-9]+)?"
_ZERO_OR = rf"^(0|{_N} ?"
_DURATION = rf"({_N} ?(s|sec|min|h|hr|hour|hours|d|day|days) ?)+|[0-9]+ ?h ?[0-9]{{1,2}}"
_name: dict[str, Any] = {"type": ["string", "number"]}
_whole: dict[str, Any] = {"type": "integer", "minimum": 1, "maximum": _MOST}

Text = Annotated[str, PlainValidator(_label), WithJsonSchema(_name)]
Prose = Annotated[str, PlainValidator(_prose), WithJsonSchema({"type": "string"})]
Number = Annotated[
    float, PlainValidator(_quantity(units.parse_number)), WithJsonSchema({"type": "number", "minimum": 0})
]
Rate = Annotated[
    float,
    PlainValidator(_quantity(units.parse_number, "must be above 0")),
    WithJsonSchema({"type": "number", "exclusiveMinimum": 0}),
]
Share = Annotated[
    float,
    PlainValidator(_quantity(units.parse_share)),
    WithJsonSchema(
        {"anyOf": [{"type": "number", "minimum": 0, "maximum": 1}, {"type": "string", "pattern": rf"^{_N} ?%$"}]}
    ),
]
Rank = Annotated[float, PlainValidator(_rank), WithJsonSchema({"type": "number", "minimum": -1, "maximum": 1})]
Count = Annotated[int, PlainValidator(_count), WithJsonSchema(_whole)]
CountOrUnlimited = Annotated[
    float, PlainValidator(_count_or_unlimited), WithJsonSchema({"anyOf": [_whole, {"const": "unlimited"}]})
]
Stock = Annotated[
    float,
    PlainValidator(_stock),
    WithJsonSchema({"anyOf": [{"type": "integer", "minimum": 0, "maximum": _MOST}, {"const": "unlimited"}]}),
]
Outlets = Annotated[int, PlainValidator(_outlets), WithJsonSchema({"type": "integer", "minimum": 0, "maximum": _MOST})]
Packs = Outlets
Pressure = Annotated[
    float,
    PlainValidator(_quantity(units.parse_pressure)),
    _schema(_ZERO_OR + r"(psi|psig|bar|kPa|MPa|kg/cm2))$", ["200 psi", "14 bar"]),
]
PressureOrFull = Annotated[
    float | Literal["full"],
    PlainValidator(_pressure_or_full),
    _schema(rf"^(full|{_N} ?(psi|psig|bar|kPa|MPa|kg/cm2))$", ["2000 psi", "137 bar", "full"]),
]
Flow = Annotated[
    float,
    PlainValidator(_quantity(units.parse_flow)),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "string", "pattern": rf"^{_N} ?(L/min|lpm|L/h|m3/h)$", "examples": ["15 L/min"]},
                {"const": 0},
            ]
        }
    ),
]
MostFlow = Annotated[
    float,
    PlainValidator(_quantity(units.parse_flow, "must be above 0")),
    _schema(rf"^{_N} ?(L/min|lpm|L/h|m3/h)$", ["15 L/min"]),
]
Content = Annotated[
    float,
    PlainValidator(_quantity(units.parse_volume, "must be above 0")),
    _schema(rf"^{_N} ?(L|litres|liters|m3|ft3)$", ["680 L", "1.5 m3"]),
]
FullPressure = Annotated[
    float,
    PlainValidator(_quantity(units.parse_pressure, "must be above 0")),
    _schema(rf"^{_N} ?(psi|psig|bar|kPa|MPa|kg/cm2)$", ["2015 psi", "137 bar"]),
]
Volume = Annotated[
    float,
    PlainValidator(_quantity(units.parse_volume)),
    _schema(_ZERO_OR + r"(L|litres|liters|m3|ft3))$", ["500 L", "2 m3"]),
]
Contents = Annotated[
    str, PlainValidator(_contents), _schema(rf"^{_N} ?(L|litres|liters|kg|g|lb|lbs)$", ["31 L", "73 lb", "40 kg"])
]
Mass = Annotated[
    float,
    PlainValidator(_quantity(units.parse_mass, "must be above 0")),
    _schema(rf"^{_N} ?(kg|g|lb|lbs)$", ["16 kg", "2000 lb"]),
]
Temperature = Annotated[
    float, PlainValidator(_quantity(units.parse_temperature)), _schema(rf"^[-+]?{_N} ?°?[CF]$", ["21 C", "70 F"])
]
Duration = Annotated[
    float,
    PlainValidator(_quantity(units.parse_duration, "must be longer than 0")),
    _schema(rf"^({_DURATION})$", ["90 min", "2 h", "1 h 30"]),
]
Delay = Annotated[
    float, PlainValidator(_quantity(units.parse_duration)), _schema(rf"^(0|{_DURATION})$", ["10 min", "0"])
]
Moment = Annotated[
    float,
    PlainValidator(_moment),
    WithJsonSchema(
        {
            "anyOf": [
                {
                    "type": "string",
                    "pattern": rf"^([Tt] ?\+ ?({_N}|{_DURATION})|{_DURATION}|[0-9]{{1,2}}:[0-9]{{2}})$",
                    "examples": ["T+90", "1 h 30", "14:35"],
                },
                {"const": 0},
            ]
        }
    ),
]
Power = Annotated[
    float, PlainValidator(_quantity(units.parse_power)), _schema(_ZERO_OR + r"(W|kW))$", ["350 W", "6 kW"])
]
PowerOrUnlimited = Annotated[
    float, PlainValidator(_power_or_unlimited), _schema(rf"^(unlimited|{_N} ?(W|kW))$", ["6 kW", "unlimited"])
]
ClockTime = Annotated[int, PlainValidator(_clock), _schema(r"^([01]?[0-9]|2[0-3]):[0-5][0-9]$", ["14:35"])]
Date = Annotated[
    datetime.date, PlainValidator(_date), _schema(r"^[0-9]{4}-[0-9]{2}(-[0-9]{2})?$", ["2026-05-01", "2026-05"])
]
DateOrNotAsked = Annotated[
    datetime.date | Literal["not asked"],
    PlainValidator(_date_or_not_asked),
    _schema(r"^([0-9]{4}-[0-9]{2}(-[0-9]{2})?|not asked)$", ["2026-05", "not asked"]),
]
YesNo = Annotated[bool, PlainValidator(_yes_no), WithJsonSchema({"type": ["string", "boolean"]})]
FileName = Annotated[str, PlainValidator(_file_name), _schema(r"\.([cC][sS][vV]|[xX][lL][sS][xX])$", ["patients.csv"])]
Category = Annotated[
    str, PlainValidator(one_of(CATEGORIES)), WithJsonSchema({"type": "string", "enum": list(CATEGORIES)})
]
_PATTERNS = ("evenly", "early", "waves")
PatternName = Annotated[
    str, PlainValidator(one_of(_PATTERNS)), WithJsonSchema({"type": "string", "enum": list(_PATTERNS)})
]
_PRESSURE_UNITS = ("psi", "bar")
PressureUnit = Annotated[
    str, PlainValidator(one_of(_PRESSURE_UNITS)), WithJsonSchema({"type": "string", "enum": list(_PRESSURE_UNITS)})
]
_MODELS = ("published factor", "rated content", "real gas")
GasModelName = Annotated[
    str, PlainValidator(one_of(_MODELS)), WithJsonSchema({"type": "string", "enum": list(_MODELS)})
]
AreaName = Annotated[str, PlainValidator(_name_of("area")), WithJsonSchema(_name)]
PlaceName = Annotated[str, PlainValidator(_name_of("place")), WithJsonSchema(_name)]
LadderName = Annotated[str, PlainValidator(_name_of("ladder")), WithJsonSchema({**_name, "$comment": "ladder"})]
DeviceName = Annotated[str, PlainValidator(_name_of("device")), WithJsonSchema({**_name, "$comment": "device"})]
CylinderName = Annotated[str, PlainValidator(_name_of("cylinder")), WithJsonSchema({**_name, "$comment": "cylinder"})]
RegulatorName = Annotated[
    str, PlainValidator(_name_of("regulator")), WithJsonSchema({**_name, "$comment": "regulator"})
]
MachineName = Annotated[str, PlainValidator(_name_of("machine")), WithJsonSchema({**_name, "$comment": "machine"})]
MechanismName = Annotated[
    str, PlainValidator(_name_of("mechanism")), WithJsonSchema({"type": "string", "$comment": "mechanism"})
]
