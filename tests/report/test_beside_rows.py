"""Rows of cases side by side: a change is what a reader gets who subtracts what is shown."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mci.report.beside_page import Row
from mci.report.beside_rows import DIFFERS, NOTHING, count_row, lines_row, moment_row, share_row, time_row
from mci.report.words import PatientTime, at_most, share

shares = st.floats(0.0, 1.0)


def _shown(text: str) -> float:
    return float(text.split(" (")[0].removesuffix(" %").removeprefix("T+").replace(" ", ""))


def _change(text: str) -> float:
    return float(text.split(" ")[0].replace("−", "-")) if text else 0.0


def _subtracts(row: Row) -> None:
    first, here = row.cells
    assert first.change == ""
    assert _change(here.change) == pytest.approx(_shown(here.lines[0]) - _shown(first.lines[0]), abs=1e-9)
    assert (here.change == "") == (here.lines == first.lines)


@given(shares, shares, st.sampled_from([share, at_most]))
def test_change_of_a_share_is_that_of_what_is_shown(first: float, here: float, write: object) -> None:
    """In points, rounded up or down as the shares are."""
    _subtracts(share_row("met", [first, here], write=write))  # type: ignore[arg-type]


@given(st.integers(0, 9000), st.integers(0, 9000))
def test_change_of_patient_time_is_that_of_what_is_shown(first: int, here: int) -> None:
    """Whole minutes in tenths of hours, where nothing is too small to be shown."""
    unit = PatientTime("patient-hours", 60.0)
    _subtracts(time_row("without", [6.0 * first, 6.0 * here], unit))


@given(st.floats(0.0, 9000.0), st.floats(0.0, 9000.0))
def test_change_of_a_moment_is_that_of_what_is_shown(first: float, here: float) -> None:
    """In whole minutes, with clock time or without."""
    _subtracts(moment_row("short", [first, here], [875, 875], ["never"] * 2))


@given(st.integers(0, 900), st.integers(0, 900))
def test_change_of_a_count_is_that_of_what_is_shown(first: int, here: int) -> None:
    """In whole things."""
    _subtracts(count_row("cylinders", [float(first), float(here)]))


def test_what_cannot_be_subtracted_only_differs() -> None:
    """A moment that never comes, a plan that there is not, an amount too small to show, another clock, other words."""
    rows = [
        moment_row("short", [10.0, None], [None, None], ["never"] * 2),
        moment_row("short", [10.0, 10.0], [60, 90], ["never"] * 2),
        share_row("met", [None, 0.5]),
        time_row("without", [0.0, 0.5], PatientTime("patient-hours", 60.0)),
        lines_row("binds", [["regulators"], []]),
    ]
    assert [row.cells[1].change for row in rows] == [DIFFERS] * len(rows)
    assert rows[2].cells[0].lines == rows[4].cells[1].lines == (NOTHING,)


def test_nothing_to_say_in_either_case_is_no_difference() -> None:
    """Both never, both without a plan."""
    rows = [share_row("met", [None, None]), moment_row("short", [None, None], [1, 2], ["never"] * 2)]
    assert all(cell.change == "" for row in rows for cell in row.cells)
