"""What a planner types after ``--vary``, read into an axis: a number of the scenario and the values that it takes.

::

    patients.immediate.count=5..40 step 5           a range, both ends among the values
    patients.immediate.count=5..40                  whole numbers: steps of 1
    deliveries.county truck.delay=0, 30, 60 min     a list; a unit serves those before it that have none
    network.roads.bridge.closed.1.from=08:00..10:00 step 30 min
    patients.lounge.arrive.pattern=evenly, early    words
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from mci.errors import UsageError
from mci.scenario.known import nearest
from mci.scenario.numbers import WHOLE, Number, NumberKind, part_at_path, plain_path
from mci.scenario.quantity import UNITS, read_value
from mci.units import UnitError, format_clock

__all__ = ["MOST_CASES", "Axis", "parse_vary", "refuse_more"]

#: More cases than this are refused: a slip of the step, most likely.
MOST_CASES = 100_000

_ONE_UNIT = (NumberKind.SHARE, NumberKind.TEMPERATURE)  # 1 is 100 %, and a step of 1 C is no temperature of 1 C
_SIMPLE = re.compile(r"(T\s*\+\s*)?([-+−]?\d+(?:\.\d+)?)\s*(%|°?[A-Za-z][A-Za-z0-9/]*)?", re.IGNORECASE)
_NEAR = Decimal("1e-6")  # of a step: two values closer than this are one, told apart by rounding only


@dataclass(frozen=True, slots=True)
class Axis:
    """A number of the scenario and the values that it takes, in the order asked for.

    Parameters
    ----------
    path
        Which number.
    texts
        Its values as a planner would write them.
    values
        The same in the unit of the number; NaN for words and for ``full``.
    """

    path: str
    texts: tuple[str, ...]
    values: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class _Quantity:
    """A value as typed, taken apart where it is one number with one unit."""

    text: str
    digits: str = ""
    unit: str = ""
    since_start: bool = False  # written with T+

    @property
    def bare(self) -> bool:
        return bool(self.digits) and not self.unit and not self.since_start


def refuse_more(count: int) -> None:
    """Refuse more cases than :data:`MOST_CASES`.

    Raises
    ------
    UsageError
        Saying how many there would be.
    """
    if count > MOST_CASES:
        raise UsageError(f"that would be {count:,} cases; at most {MOST_CASES:,} can be asked for at once")


def parse_vary(text: str, numbers: Mapping[str, Number], *, start: int | None = None) -> Axis:
    """Read which number varies and how.

    Parameters
    ----------
    text
        ``PATH=A..B step S`` or ``PATH=A, B, C``.  Where the step does not fit into a range, the last step is shorter.
    numbers
        The numbers of the scenario, by path.
    start
        Clock time of T+0 [min after midnight], for moments written as clock times.

    Raises
    ------
    UsageError
        The path is unknown, or a value cannot be read.
    """
    number, values = _split(text, numbers)

    def read(value: str) -> float:
        try:
            return read_value(number.kind, value, start)
        except UnitError as error:
            raise UsageError(f"{number.path}: {value!r} {error}") from None

    if ".." in values:
        texts = _range(values, number, read, start)
    else:
        texts = [" ".join(each.text.split()) for each in _with_units([_take_apart(t) for t in values.split(",")])]
    if "" in texts:
        raise UsageError(f"{number.path}: a value is missing in {values!r}")
    refuse_more(len(texts))
    axis = Axis(number.path, tuple(texts), tuple(map(read, texts)))
    _refuse_twice(axis)
    return axis


def _split(text: str, numbers: Mapping[str, Number]) -> tuple[Number, str]:
    """Part the text where the longest known path ends; names may hold ``=`` themselves."""
    known = {plain_path(path): number for path, number in numbers.items()}
    parted = part_at_path(text, known)
    if parted is not None:
        return known[parted[0]], parted[1]
    path, sign, _ = text.partition("=")
    if not sign:
        raise UsageError(
            f"{text!r} does not say what values the number takes: write PATH=5..40 step 5, or PATH=1, 2, 3"
        )
    hint = nearest(plain_path(path), numbers)
    raise UsageError(
        f"there is no number {path.strip()!r}. {hint} `mci check FILE --numbers` lists them.".replace("  ", " ")
    )


def _refuse_twice(axis: Axis) -> None:
    seen: set[float | str] = set()
    for text, value in zip(axis.texts, axis.values, strict=True):
        key = text.lower() if math.isnan(value) else value
        if key in seen:
            raise UsageError(f"{axis.path}: {text!r} is asked for twice")
        seen.add(key)


def _take_apart(text: str) -> _Quantity:
    match = _SIMPLE.fullmatch(text.strip())
    if match is None:
        return _Quantity(text.strip())
    return _Quantity(text.strip(), match[2].replace("−", "-").lstrip("+"), match[3] or "", bool(match[1]))


def _with_units(quantities: Sequence[_Quantity]) -> list[_Quantity]:
    """Give those without a unit that of the next one that has one."""
    told: list[_Quantity] = []
    unit = ""
    for each in reversed(quantities):
        unit = each.unit or unit
        told.append(_Quantity(f"{each.text} {unit}", each.digits, unit) if each.bare and unit else each)
    return told[::-1]


def _range(values: str, number: Number, read: Callable[[str], float], start: int | None) -> list[str]:
    """Return the texts of a range, both ends among them."""
    low, high, step = _ends_and_step(values, number)
    unit = step.unit if step.digits else UNITS.get(number.kind, "")
    first, last, width = (_numeral(each, unit, read) for each in (low, high, step))
    if width <= 0:
        raise UsageError(f"{number.path}: the step of {values!r} must be above 0")
    if last < first:
        raise UsageError(f"{number.path}: {values!r} ends below where it begins")
    write = _writer(low, high, unit, start)
    texts = [write(each) for each in _points(first, last, width)]
    for place, end in ((0, low), (-1, high)):
        if read(texts[place]) != read(end.text):
            texts[place] = end.text  # what it is in the unit of the step cannot be written exactly
    return texts


def _ends_and_step(values: str, number: Number) -> list[_Quantity]:
    """Take a range apart, each part with its unit."""
    if number.kind is NumberKind.WORD:
        raise UsageError(f"{number.path} is a word: list the words, with commas between them")
    match = re.fullmatch(r"(.+?)\.\.(.+?)(?:\bstep\b(.+))?", values, re.IGNORECASE)
    if match is None:
        raise UsageError(f"{number.path}: {values!r} is no range (such as 5..40 step 5)")
    if match[3] is None and number.kind not in WHOLE:
        raise UsageError(f"{number.path}: the range {values!r} has no step; write {values} step ...")
    parts = _with_units([_take_apart(part) for part in (match[1], match[2], match[3] or "1")])
    if number.kind in _ONE_UNIT and len({part.unit.lower() for part in parts}) > 1:
        raise UsageError(f"{number.path}: write both ends and the step of {values!r} in one unit")
    if ":" in parts[2].text:
        raise UsageError(f"{number.path}: the step of {values!r} must be a length of time (such as 30 min)")
    return parts


def _numeral(quantity: _Quantity, unit: str, read: Callable[[str], float]) -> Decimal:
    """Return a value as a multiple of a unit, exactly as typed where it has that unit."""
    if quantity.digits and quantity.unit.lower() == unit.lower() and not quantity.since_start:
        return Decimal(quantity.digits)
    value = read(quantity.text)
    if not math.isfinite(value):
        raise UsageError(f"{quantity.text!r} cannot be the end of a range")
    return Decimal(repr(round(value / (read(f"1 {unit}") if unit else 1.0), 9)))


def _points(first: Decimal, last: Decimal, width: Decimal) -> list[Decimal]:
    """Return the points of a range; a shorter step leads to the last one where need be."""
    refuse_more(int((last - first) / width) + 1)
    steps = int((last - first) / width + _NEAR)
    points = [first + width * n for n in range(steps + 1)]
    return [*points, last] if last - points[-1] > width * _NEAR else points


def _writer(low: _Quantity, high: _Quantity, unit: str, start: int | None) -> Callable[[Decimal], str]:
    """Return how the points of a range are written: the way its ends are."""
    clock = all(re.fullmatch(r"\d?\d:\d\d", each.text) for each in (low, high)) and unit.lower() == "min"
    since_start = "T+" if low.since_start or high.since_start or ":" in low.text + high.text else ""

    def write(point: Decimal) -> str:
        if clock and 0 <= point < 24 * 60 and point == int(point):
            return format_clock(int(point), start).split()[0]
        digits = f"{point:f}"
        digits = digits.rstrip("0").rstrip(".") if "." in digits else digits
        return f"{since_start}{digits} {unit}".strip()

    return write
