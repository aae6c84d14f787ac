"""A programme while it is being written."""

from __future__ import annotations

import numpy as np

from mci.lp.programme import Resource, RowWriter, left_open

MORE, OTHER = Resource("lot", "a", "more"), Resource("lot", "a", "other")


def _rows():
    writer = RowWriter()
    writer.add([0, 1], np.array([0, 1]), [2.0, 3.0])
    return writer.finish(["content", "units"], [20.0, 4.0], grows={MORE: np.array([10.0, 0.0])})


def test_a_number_left_open_takes_the_place_of_the_units_counted() -> None:
    """``2 a <= 20`` with two units of 10 each becomes ``2 a - 10 n <= 0``; rows without them stay as they are."""
    rows = left_open(_rows(), MORE, counted=2.0, column=7)
    assert rows.rhs.tolist() == [0.0, 4.0]
    assert list(zip(rows.row, rows.column, rows.value, strict=True)) == [(0, 0, 2.0), (1, 1, 3.0), (0, 7, -10.0)]


def test_a_resource_that_rows_do_not_know_changes_nothing() -> None:
    """Rows that one more unit does not widen are returned as they are."""
    rows = _rows()
    assert left_open(rows, OTHER, counted=2.0, column=7) is rows
