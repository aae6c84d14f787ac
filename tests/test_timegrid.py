"""The time grid keeps every moment at which something changes, and only ever adds to them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from mci.timegrid import RESOLUTION, make_grid

MOMENTS = st.lists(st.floats(-50, 400, allow_nan=False), max_size=12)
HORIZONS = st.floats(1, 300)
LONGEST = st.one_of(st.just(float("inf")), st.floats(1, 60))


@given(MOMENTS, HORIZONS, LONGEST)
def test_the_grid_runs_from_nought_to_the_horizon_without_a_step_back(
    moments: list[float], horizon: float, longest: float
) -> None:
    """Points increase from exactly 0 to exactly the horizon."""
    grid = make_grid(moments, horizon, longest)
    assert grid.points[0] == 0
    assert grid.points[-1] == horizon
    assert (grid.lengths > 0).all()
    assert grid.periods == len(grid.starts) == len(grid.ends)


@given(MOMENTS, HORIZONS, LONGEST)
def test_every_moment_is_a_breakpoint(moments: list[float], horizon: float, longest: float) -> None:
    """Each moment within the horizon is found within the resolution; later ones are at the end."""
    grid = make_grid(moments, horizon, longest)
    found = grid.points[grid.index(moments)] if moments else np.zeros(0)
    assert np.abs(found - np.clip(moments, 0, horizon)).max(initial=0) <= RESOLUTION * 1.001


@given(MOMENTS, HORIZONS, st.floats(1, 60))
def test_no_period_is_longer_than_asked(moments: list[float], horizon: float, longest: float) -> None:
    """Long periods are split evenly."""
    assert make_grid(moments, horizon, longest).lengths.max() <= longest * (1 + 2 * RESOLUTION)


@given(MOMENTS, HORIZONS, st.floats(1, 60))
def test_splitting_only_adds(moments: list[float], horizon: float, longest: float) -> None:
    """Every breakpoint of the coarse grid is one of the finer."""
    assert set(make_grid(moments, horizon).points) <= set(make_grid(moments, horizon, longest).points)


def test_moments_within_the_resolution_are_one() -> None:
    """Two moments a millionth of a minute apart make no period of their own; the horizon stays exact."""
    grid = make_grid([10, 10 + 5e-7, 60 - 5e-7], 60)
    assert grid.points.tolist() == [0, 10, 60]
    assert grid.index([10, 10 + 5e-7, 60 - 5e-7, 99]).tolist() == [1, 1, 2, 2]


def test_a_moment_that_is_no_breakpoint_is_refused() -> None:
    """Asking for a moment that was not given is a mistake of the caller."""
    with pytest.raises(ValueError, match="not a breakpoint"):
        make_grid([10], 60).index([20])
