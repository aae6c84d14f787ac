"""Quantities survive the way in and out, units convert as published, and nothing half understood gets in."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from mci import units

if TYPE_CHECKING:
    from collections.abc import Callable

PARSERS: list[Callable[[str], float]] = [
    units.parse_pressure,
    units.parse_flow,
    units.parse_volume,
    units.parse_mass,
    units.parse_power,
    units.parse_number,
    units.parse_share,
    units.parse_duration,
    units.parse_moment,
    units.parse_clock,
]
numbers = st.floats(0, 1e9).map(lambda x: float(f"{x:.6f}"))


@pytest.mark.parametrize(
    ("parse", "text", "value", "tolerance"),
    [
        # NIST SP 811 (2008), appendix B
        (units.parse_pressure, "2000 psi", 2000, 0),
        (units.parse_pressure, "100 kPa", 14.503774, 1e-5),
        (units.parse_pressure, "137 bar", 1987.017, 0.001),
        (units.parse_pressure, "13.7 MPa", 1987.017, 0.001),
        (units.parse_pressure, "1 kg/cm2", 14.22334, 1e-4),
        (units.parse_volume, "1 ft3", 28.31685, 0),
        (units.parse_mass, "1 lb", 0.45359237, 0),
        (units.parse_temperature, "70 F", 21.1111, 1e-4),
        (units.parse_temperature, "-40 F", -40, 1e-9),
        (units.parse_temperature, "−5 °C", -5, 0),
        (units.parse_temperature, "21 c", 21, 0),
        # Arithmetic
        (units.parse_flow, "24 m3/h", 400, 1e-9),  # 1000 beds x 20 % x 2 L/min, published as 24 m3/h
        (units.parse_flow, "9 m3/h", 150, 1e-9),  # 15 beds x 10 L/min, published as 9 m3/h
        (units.parse_flow, "15lpm", 15, 0),
        (units.parse_volume, "3 m3", 3000, 0),
        (units.parse_power, "6 kW", 6000, 0),
        (units.parse_share, "85 %", 0.85, 1e-12),
        (units.parse_share, "0.85", 0.85, 0),
        (units.parse_duration, "1 h 30", 90, 0),
        (units.parse_duration, "1h30", 90, 0),
        (units.parse_duration, "1 h 30 min", 90, 0),
        (units.parse_duration, "1.5 h", 90, 0),
        (units.parse_duration, "1 d 2 h", 1560, 0),
        (units.parse_duration, "90 s", 1.5, 0),
        (units.parse_moment, "T+90", 90, 0),
        (units.parse_moment, "t + 1 h 30", 90, 0),
        (units.parse_clock, "9:05", 545, 0),
    ],
)
def test_known_quantities(parse: Callable[[str], float], text: str, value: float, tolerance: float) -> None:
    """Published conversion factors, and every way of writing that the messages offer."""
    assert parse(text) == pytest.approx(value, abs=tolerance or 1e-12)


@pytest.mark.parametrize(
    ("parse", "text"),
    [
        (units.parse_pressure, "2000"),
        (units.parse_pressure, "2,000 psi"),
        (units.parse_pressure, "2 000 psi"),
        (units.parse_pressure, "-5 psi"),
        (units.parse_pressure, "1e3 psi"),
        (units.parse_pressure, "nan psi"),
        (units.parse_pressure, "15 L/min"),
        (units.parse_pressure, "9" * 400 + " psi"),
        (units.parse_pressure, ""),
        (units.parse_flow, "15 L"),
        (units.parse_flow, "1.5.5 L/min"),
        (units.parse_temperature, "21"),
        (units.parse_temperature, "0"),
        (units.parse_temperature, "-300 C"),
        (units.parse_share, "101 %"),
        (units.parse_share, "1.1"),
        (units.parse_number, "1_000"),
        (units.parse_number, "inf"),
        (units.parse_duration, "90"),
        (units.parse_duration, "90 m"),
        (units.parse_duration, "30 min 1 h"),
        (units.parse_duration, "1 h 90"),
        (units.parse_duration, "2 h 2 h"),
        (units.parse_duration, "1.5.5 h"),
        (units.parse_duration, "9" * 400 + " h 30"),
        (units.parse_duration, "14:35"),
        (units.parse_moment, "14:35"),
        (units.parse_moment, "T+-5"),
        (units.parse_clock, "24:00"),
        (units.parse_clock, "14:60"),
        (units.parse_clock, "14.35"),
    ],
)
def test_what_is_not_fully_understood_is_refused(parse: Callable[[str], float], text: str) -> None:
    """A misread unit is a safety matter."""
    with pytest.raises(units.UnitError):
        parse(text)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("2,000 psi", "write a point, not a comma"),
        ("2000", "the unit is missing"),
        ("2000 foo", "is not a gauge pressure (such as 2000 psi"),
    ],
)
def test_a_refusal_says_what_to_write(text: str, words: str) -> None:
    """The message names the likely slip."""
    with pytest.raises(units.UnitError, match=words.replace("(", r"\(")):
        units.parse_pressure(text)


quantity_like = st.from_regex(
    r"[-+]?\d{0,6}[.,]?\d{0,4} ?(psi|bar|L/min|min|h|L|kg|W|%|C|F|s|d|:\d\d)?( \d+)?", fullmatch=True
)


@pytest.mark.parametrize("parse", [*PARSERS, units.parse_temperature], ids=lambda p: p.__name__)
@given(text=st.one_of(st.text(max_size=12), quantity_like))
@example(text="0")
@example(text="٣ psi")
def test_any_text_is_a_finite_quantity_or_a_refusal(parse: Callable[[str], float], text: str) -> None:
    """No other error, nothing infinite, and nothing negative but a temperature."""
    try:
        value = parse(text)
    except units.UnitError:
        return
    assert math.isfinite(value)
    assert value >= 0 or parse is units.parse_temperature


@given(numbers)
def test_the_same_pressure_in_any_unit(bar: float) -> None:
    """bar, kPa, MPa and psi agree."""
    psi = units.parse_pressure(f"{bar:.6f} bar")
    assert units.parse_pressure(f"{bar * 100:.6f} kPa") == pytest.approx(psi, rel=1e-9, abs=1e-5)
    assert psi * units.KPA_PER_PSI == pytest.approx(bar * 100, rel=1e-9, abs=1e-5)


@given(numbers, st.sampled_from(["psi", "PSI", " psig"]))
def test_the_canonical_unit_is_kept_exactly(value: float, unit: str) -> None:
    """What is written in psi is the same number of psi."""
    assert units.parse_pressure(f"{value:.6f} {unit}") == value


@given(st.integers(0, 100_000))
def test_durations_come_back(minutes: int) -> None:
    """What is written can be read, for any whole number of minutes."""
    assert units.parse_duration(units.format_duration(minutes)) == minutes
    assert units.parse_moment(units.format_moment(minutes)) == minutes


@given(st.integers(0, 1439), st.integers(0, 1439))
def test_clock_times_come_back(minutes: int, start: int) -> None:
    """Within a day of the start, a clock time names one moment."""
    clock = units.format_clock(minutes, start).removesuffix(" +1 d")
    assert units.parse_moment(clock, start) == minutes
    assert units.parse_clock(clock) == (start + minutes) % 1440


def test_later_days_are_marked() -> None:
    """A clock time on a later day says so, and without a start there is none."""
    assert units.format_clock(60, 23 * 60 + 30) == "00:30 +1 d"
    assert units.format_clock(2 * 1440, 0) == "00:00 +2 d"
    assert units.format_clock(60, None) == ""


@given(st.floats(0, 1e5))
def test_times_are_never_rounded_up(minutes: float) -> None:
    """A duration that is written never promises more than there is."""
    assert units.parse_duration(units.format_duration(minutes)) <= minutes + 1e-6


@given(st.floats(0.01, 1e5))
def test_flows_come_back_to_three_digits(flow: float) -> None:
    """Never in powers of ten, and near what went in."""
    text = units.format_flow(flow).replace(" L/min", "")
    assert "e" not in text
    assert float(text.replace(" ", "")) == pytest.approx(flow, rel=0.006)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (units.format_flow(15), "15 L/min"),
        (units.format_flow(29.6203), "29.6 L/min"),
        (units.format_flow(1234.4), "1 234 L/min"),
        (units.format_flow(999.6), "1 000 L/min"),
        (units.format_litres(12400.4), "12 400 L"),
        (units.format_litres(-0.2), "0 L"),
        (units.format_pressure(1500), "1500 psi"),
        (units.format_pressure(1500, metric=True), "103 bar"),
        (units.format_duration(125.9), "2 h 05 min"),
        (units.format_duration(48), "48 min"),
        (units.format_moment(38.99), "T+38"),
    ],
)
def test_how_quantities_are_written(text: str, expected: str) -> None:
    """One way of writing each."""
    assert text == expected
