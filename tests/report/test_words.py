"""Numbers put into words: shortages never shrink and coverage never grows by rounding."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from mci.report.words import PatientTime, about, count, join_words, moment, patients, share, span, tie


@given(st.floats(0, 500))
def test_a_shortage_is_never_told_smaller(number: float) -> None:
    """The whole number told is at least the shortage, less than one above it, and says "about" if it is a fraction."""
    told = about(number)
    whole = int(told.removeprefix("about "))
    assert number - 1e-6 <= whole < number + 1
    assert told.startswith("about ") == (abs(number - whole) > 1e-6)


@given(st.floats(0, 1))
def test_coverage_is_never_told_larger(value: float) -> None:
    """The percentage told is at most the coverage, up to what a solver may give away."""
    told = float(share(value).removesuffix(" %"))
    assert told <= 100 * value + 0.006
    assert told >= 100 * value - 0.11


def test_full_coverage_means_all() -> None:
    """Only what is full up to the solver's rounding reads 100 %."""
    assert share(1 - 1e-5) == "100.0 %"
    assert share(0.9999) == "99.9 %"


def test_moments_carry_the_clock_where_there_is_one() -> None:
    """T+ and clock time go together; a stretch is widened to whole minutes."""
    assert moment(38.0, 14 * 60) == "T+38 (14:38)"
    assert moment(38.9, None) == "T+38"
    assert span(38.2, 70.1, 14 * 60) == "T+38 to T+71 (14:38 to 15:11)"
    assert span(38.0, 71.0, None) == "T+38 to T+71"


def test_patient_time_never_reads_as_nothing() -> None:
    """A trace of shortage is told as less than a tenth, not as zero; a small incident is told in minutes."""
    hours = PatientTime.for_total(6000)
    assert (hours.unit, hours.write(90), hours.write(0.5), hours.write(0)) == ("patient-hours", "1.5", "< 0.1", "0.0")
    assert PatientTime.for_total(60).unit == "patient-minutes"
    assert (hours.signed(72), hours.signed(-2), hours.signed(3000)) == ("+1.2", "−0.03", "+50")


def test_lists_and_counts() -> None:
    """Words are joined as in a sentence; what must be there is rounded up."""
    assert join_words(["a"]) == "a"
    assert join_words(["a", "b", "c"]) == "a, b and c"
    assert count(3.2) == "4"
    assert count(1200) == "1 200"


def test_patients_are_written_out() -> None:
    """A large crowd is written in digits, never as a power of ten."""
    assert patients(1_000_001) == "1000001"
    assert patients(4.5) == "4.5"


def test_a_number_is_tied_to_its_thousands_and_its_unit() -> None:
    """Only the space inside a number with its unit holds a line together."""
    assert tie("holds 12 691 L of oxygen at 2000 psi") == "holds 12\u00a0691\u00a0L of oxygen at 2000\u00a0psi"
    assert tie("6 by T+41, 8 by T+50, 1 Lamp") == "6 by T+41, 8 by T+50, 1 Lamp"
