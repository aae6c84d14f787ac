"""What a planner types is read into axes, and told when it cannot be."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_numbers import number

from mci.errors import UsageError
from mci.scenario.numbers import Number, NumberKind
from mci.scenario.quantity import read_value
from mci.surge.vary import MOST_CASES, parse_vary

KINDS = {
    "patients.immediate.count": NumberKind.COUNT,
    "deliveries.Truck 2, north.delay": NumberKind.DELAY,
    "deliveries.a=b.delay": NumberKind.DELAY,
    "deliveries.a": NumberKind.NUMBER,
    "supplies.pressure": NumberKind.SHARE,
    "supplies.M60.pressure": NumberKind.PRESSURE,
    "room.temperature": NumberKind.TEMPERATURE,
    "x.arrive.pattern": NumberKind.WORD,
    "bridge.closed.from": NumberKind.MOMENT,
}
NUMBERS: dict[str, Number] = {path: number(path, kind) for path, kind in KINDS.items()}
START = 8 * 60


@pytest.mark.parametrize(
    ("text", "texts"),
    [
        ("patients.immediate.count=5..20 step 5", ["5", "10", "15", "20"]),
        ("patients.immediate.count = 5..8", ["5", "6", "7", "8"]),
        ("patients.immediate.count=5..11 step 4", ["5", "9", "11"]),
        ("patients.immediate.count=7..7", ["7"]),
        ("PATIENTS.Immediate.count=3", ["3"]),
        ("deliveries.truck 2,   north.delay=0,30,60 min", ["0 min", "30 min", "60 min"]),
        ("deliveries.truck 2, north.delay=30 min, 1, 1 h 30, 2 h", ["30 min", "1 h", "1 h 30", "2 h"]),
        ("deliveries.truck 2, north.delay=0..2 h step 30 min", ["0 min", "30 min", "60 min", "90 min", "120 min"]),
        ("deliveries.truck 2, north.delay=0..1 h step 0.25 h", ["0 h", "0.25 h", "0.5 h", "0.75 h", "1 h"]),
        ("deliveries.truck 2, north.delay=1 h 30..2 h step 15 min", ["90 min", "105 min", "120 min"]),
        ("supplies.pressure=80..100 % step 10 %", ["80 %", "90 %", "100 %"]),
        ("supplies.pressure=0.7..1 step 0.1", ["0.7", "0.8", "0.9", "1"]),
        ("supplies.M60.pressure=full, 1500, 100 bar", ["full", "1500 bar", "100 bar"]),
        ("room.temperature=-5..5 C step 5 C", ["-5 C", "0 C", "5 C"]),
        ("room.temperature=−40, 14 F", ["−40 F", "14 F"]),
        ("x.arrive.pattern=evenly, early", ["evenly", "early"]),
        ("bridge.closed.from=08:15..09:15 step 30 min", ["08:15", "08:45", "09:15"]),
        ("bridge.closed.from=T+30..T+60 step 15 min", ["T+30 min", "T+45 min", "T+60 min"]),
        ("bridge.closed.from=08:15, T+30", ["08:15", "T+30"]),
        ("deliveries.a=b.delay=5 min", ["5 min"]),
        ("deliveries.a=5", ["5"]),
    ],
)
def test_values_are_written_as_a_planner_would(text: str, texts: list[str]) -> None:
    """Each way to give values is understood, with the planner's own unit, and each text reads back to its value."""
    axis = parse_vary(text, NUMBERS, start=START)
    assert list(axis.texts) == texts
    again = [read_value(KINDS[axis.path], each, START) for each in texts]
    assert repr(again) == repr(list(axis.values))


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("patients.imediate.count=5", "Did you mean 'patients.immediate.count'.*mci check FILE --numbers"),
        ("patients.immediate.count", "does not say what values"),
        ("patients.immediate.count=", "a value is missing"),
        ("patients.immediate.count=5,,6", "a value is missing"),
        ("patients.immediate.count=5, 6, 5", "'5' is asked for twice"),
        ("deliveries.a=b.delay=60 min, 1 h", "'1 h' is asked for twice"),
        ("patients.immediate.count=5..10 step 2.5", "'7.5' is not a whole number"),
        ("patients.immediate.count=-5..10", "is not a number of zero or more"),
        ("patients.immediate.count=10..5", "ends below where it begins"),
        ("patients.immediate.count=5..10 step 0", "must be above 0"),
        ("patients.immediate.count=0..100001", "100,002 cases; at most 100,000"),
        ("patients.immediate.count=0..", "is no range"),
        ("deliveries.a=b.delay=0..60 min", "has no step; write 0..60 min step"),
        ("deliveries.a=b.delay=0, 30", "the unit is missing"),
        ("deliveries.a=b.delay=10..60 min step 10", "the unit is missing"),
        ("deliveries.a=b.delay=10 min..60 step 10", "the unit is missing"),
        ("supplies.pressure=50..100 % step 1", "in one unit"),
        ("supplies.pressure=50..120 % step 10 %", "is not a share"),
        ("supplies.M60.pressure=full..100 bar step 5 bar", "cannot be the end of a range"),
        ("room.temperature=0 C..41 F step 1 C", "in one unit"),
        ("x.arrive.pattern=evenly..early", "list the words"),
        ("bridge.closed.from=08:00..09:00 step 00:30", "must be a length of time"),
    ],
)
def test_what_cannot_be_read_is_told(text: str, told: str) -> None:
    """Nothing is guessed: a wrong path, value, unit or range is refused in words."""
    with pytest.raises(UsageError, match=told):
        parse_vary(text, NUMBERS, start=START)


UNITS_OF = {
    "patients.immediate.count": ("", 0),
    "deliveries.a": ("", 3),
    "deliveries.a=b.delay": ("h", 2),
    "supplies.M60.pressure": ("bar", 1),
    "room.temperature": ("F", 1),
    "bridge.closed.from": ("min", 2),
}


@given(st.sampled_from(sorted(UNITS_OF)), st.integers(0, 5000), st.integers(0, 300), st.integers(1, 900))
def test_range_holds_both_ends_and_every_step(path: str, low: int, steps: int, width: int) -> None:
    """A range that its step divides has one value more than steps, both ends exactly, and equal steps in between."""
    unit, digits = UNITS_OF[path]
    first, step = Decimal(low).scaleb(-digits), Decimal(width).scaleb(-digits)
    last = first + steps * step
    axis = parse_vary(f"{path}={first:f}..{last:f} {unit} step {step:f} {unit}", NUMBERS)
    expected = [read_value(KINDS[path], f"{first + n * step:f} {unit}".strip()) for n in range(steps + 1)]
    assert list(axis.values) == expected
    assert [read_value(KINDS[path], text) for text in axis.texts] == expected


@given(st.integers(0, 600), st.integers(0, 600), st.integers(1, 100), st.sampled_from(["s", "min", "h"]))
def test_mixed_units_reach_the_end(low: int, more: int, step: int, unit: str) -> None:
    """In a range in hours with a step in another unit all values lie between the ends, which are values themselves."""
    axis = (
        parse_vary(f"deliveries.a=b.delay={low}..{low + more} h step {step * 60} {unit}", NUMBERS)
        if (more * 3600 <= step * 60 * MOST_CASES * {"s": 1, "min": 60, "h": 3600}[unit] / 2)
        else None
    )
    if axis is None:
        return
    width = read_value(NumberKind.DELAY, f"{step * 60} {unit}")
    assert axis.values[0] == low * 60
    assert axis.values[-1] == (low + more) * 60
    assert len(axis.values) == 1 + math.ceil(more * 60 / width - 1e-6)
    gaps = [b - a for a, b in zip(axis.values, axis.values[1:], strict=False)]
    assert all(gap == pytest.approx(width) for gap in gaps[:-1])
    assert all(0 < gap <= width * (1 + 1e-9) for gap in gaps)
