"""Columns and rows handed over to HiGHS as they are, against the same ones written into PuLP."""

from __future__ import annotations

import dataclasses
import math

import highspy
import numpy as np
import numpy.typing as npt
import pytest
from golden import families as families_of
from hypothesis import given, settings
from hypothesis import strategies as st
from incidents import cylinders, ladder, patients, regulator, scenario

from mci.lp.build import write
from mci.lp.handover import hand_over, load
from mci.lp.programme import ABSENT, Columns, Rows, RowWriter

Floats = npt.NDArray[np.float64]


def _dense(highs: highspy.Highs) -> Floats:
    model = highs.getLp()
    matrix, found = model.a_matrix_, np.zeros((model.num_row_, model.num_col_))
    starts = np.array(matrix.start_)
    major = np.repeat(np.arange(len(starts) - 1), np.diff(starts)).astype(np.intp)
    minor, values = np.array(matrix.index_, dtype=np.intp), np.array(matrix.value_)
    by_row = matrix.format_ == highspy.MatrixFormat.kRowwise
    np.add.at(found, (major, minor) if by_row else (minor, major), values)
    return found


def _by_pulp(columns: Columns, families: list[Rows]) -> tuple[highspy.Highs, npt.NDArray[np.intp]]:
    """Load the same by PuLP; every column costs something, so that none is left out."""
    return load(write(columns, families, [np.ones(len(columns.names))]).problem, columns.names)


def _check_same(columns: Columns, families: list[Rows]) -> None:
    ours = hand_over(columns, families)
    theirs, places = _by_pulp(columns, families)
    one, other = ours.getLp(), theirs.getLp()
    rows = sum(len(each.names) for each in families)
    assert (one.num_row_, one.num_col_) == (rows, len(columns.names))
    assert _dense(ours) == pytest.approx(_dense(theirs)[:rows, places])
    for name in ("row_lower_", "row_upper_"):
        ours_there, theirs_there = np.array(getattr(one, name)), np.array(getattr(other, name))[:rows]
        big = np.abs(theirs_there) >= 1e20
        assert np.array_equal(np.abs(ours_there) >= 1e20, big)
        assert ours_there[~big] == pytest.approx(theirs_there[~big])
    assert np.array(one.col_lower_).tolist() == [0.0] * len(columns.names)
    assert np.array(one.col_upper_).tolist() == np.array(other.col_upper_)[places].tolist()
    assert not np.any(np.array(one.col_cost_))


@st.composite
def programmes(draw: st.DrawFn) -> tuple[Columns, list[Rows]]:
    """Draw columns, some with bounds, and families of rows: equalities too, empty families."""
    columns = Columns()
    present = np.array(draw(st.lists(st.booleans(), min_size=1, max_size=5)))
    upper = np.array(draw(st.lists(st.sampled_from([1.0, 4.0, math.inf]), min_size=5, max_size=5)))
    numbers = columns.add("first", present, upper[: len(present)])
    numbers = np.concatenate([numbers, columns.add("second", np.ones(2, dtype=bool))])
    families = []
    for number in range(draw(st.integers(1, 3))):
        writer, count = RowWriter(), draw(st.integers(0, 3))
        for row in range(count):
            values = draw(st.lists(st.integers(-2, 3), min_size=len(numbers), max_size=len(numbers)))
            used = np.where(np.array(values) != 0, numbers, ABSENT)
            writer.add(row, used, np.array(values, dtype=float))
        limits = np.array(draw(st.lists(st.integers(0, 9), min_size=count, max_size=count)), dtype=float)
        equal = draw(st.booleans())
        names = [f"family{'abc'[number]}_{row}" for row in range(count)]
        families.append(writer.finish(names, 0.0 * limits if equal else limits, equal=equal))
    return columns, families


@given(programmes())
def test_rows_are_those_of_pulp(programme: tuple[Columns, list[Rows]]) -> None:
    """Row by row and column by column, in our order, with their limits and bounds."""
    _check_same(*programme)


@given(programmes(), st.data())
@settings(max_examples=60)
def test_optimum_is_that_of_pulp(programme: tuple[Columns, list[Rows]], data: st.DataObject) -> None:
    """Of any aim, with all columns bounded so that there is one."""
    columns, families = programme
    size = len(columns.names)
    aim = np.array(data.draw(st.lists(st.integers(-5, 5), min_size=size, max_size=size)), dtype=float)
    found = []
    for highs, places in ((hand_over(columns, families), np.arange(size)), _by_pulp(columns, families)):
        highs.changeColsCost(size, places.astype(np.int32), aim)
        for place in places.tolist():
            highs.changeColBounds(place, 0.0, min(9.0, highs.getLp().col_upper_[place]))
        highs.run()
        assert highs.getModelStatus() == highspy.HighsModelStatus.kOptimal
        found.append(highs.getInfo().objective_function_value)
    assert found[0] == pytest.approx(found[1], abs=1e-6)


@given(programmes(), st.data())
def test_nonzeros_written_twice_are_added(programme: tuple[Columns, list[Rows]], data: st.DataObject) -> None:
    """In whatever order they are written; PuLP 3 would keep the last one, so no family that it gets has any."""
    columns, families = programme
    twice = []
    for rows in families:
        count = len(rows.value)
        order = np.array(data.draw(st.permutations(range(2 * count))), dtype=np.intp)
        part = rows.value * data.draw(st.sampled_from([0.25, 1.5]))
        values = np.concatenate([part, rows.value - part])
        row, column = np.tile(rows.row, 2), np.tile(rows.column, 2)
        twice.append(dataclasses.replace(rows, row=row[order], column=column[order], value=values[order]))
    assert _dense(hand_over(columns, twice)) == pytest.approx(_dense(hand_over(columns, families)))


def test_rows_of_care_are_those_of_pulp() -> None:
    """A real programme: single-use devices, cylinders, people."""
    incident = scenario(
        horizon=60,
        ladders=[ladder("mask", ("mask", 10, 1), ("mask", 5, 0.5), single_use=True)],
        patients=[patients(3, "mask", over=30, stay=20)],
        lots=[cylinders(3, 300, change=5)],
        regulators=[regulator(2)],
        devices={("a", "mask"): 2},
        staff={"a": 0.5},
    )
    _check_same(*families_of(incident))
