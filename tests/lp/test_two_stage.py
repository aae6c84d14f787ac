"""The mean of the worst share of incidents."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st

from mci.lp.two_stage import Tail, tail_mean, tail_means

Floats = npt.NDArray[np.float64]

HARMS = st.lists(st.tuples(st.integers(-20, 20), st.integers(1, 6)), min_size=1, max_size=8)
SHARES = st.sampled_from([0.01, 0.05, 0.1, 0.25, 1 / 3, 0.5, 0.7, 0.95, 1.0])


def _given(drawn: list[tuple[int, int]]) -> tuple[Floats, Floats]:
    """Return harms and unequal chances."""
    harms, parts = np.array(drawn, dtype=float).T
    return harms, parts / parts.sum()


@given(HARMS, SHARES)
def test_it_is_the_least_value_over_all_edges(drawn: list[tuple[int, int]], worst: float) -> None:
    """Of Rockafellar and Uryasev: ``min over eta of eta + E max(0, h - eta) / w``, attained at a harm that occurs."""
    harms, chances = _given(drawn)
    values = [eta + chances @ np.maximum(0.0, harms - eta) / worst for eta in harms]
    assert tail_mean(harms, chances, worst) == pytest.approx(min(values), abs=1e-9)


@given(HARMS)
def test_worst_of_all_is_the_mean_and_worst_of_few_the_largest(drawn: list[tuple[int, int]]) -> None:
    """At the ends of the share."""
    harms, chances = _given(drawn)
    assert tail_mean(harms, chances, 1.0) == pytest.approx(chances @ harms, abs=1e-9)
    assert tail_mean(harms, chances, float(chances.min()) / 2) == pytest.approx(harms.max())


@given(HARMS, SHARES, SHARES)
def test_fewer_incidents_are_worse(drawn: list[tuple[int, int]], one: float, other: float) -> None:
    """The smaller the share the larger its mean, which is never more than the largest harm."""
    harms, chances = _given(drawn)
    small, large = sorted([one, other])
    assert harms.max() + 1e-9 >= tail_mean(harms, chances, small) >= tail_mean(harms, chances, large) - 1e-9


@given(HARMS, st.data(), SHARES)
def test_it_is_coherent(drawn: list[tuple[int, int]], data: st.DataObject, worst: float) -> None:
    """Of two kinds together no more than apart; scaled and shifted as harms are; no less where harms are no less."""
    harms, chances = _given(drawn)
    more = np.array(data.draw(st.lists(st.integers(0, 9), min_size=len(harms), max_size=len(harms))), dtype=float)
    mean = tail_mean(harms, chances, worst)
    assert tail_mean(harms + more, chances, worst) <= mean + tail_mean(more, chances, worst) + 1e-9
    assert tail_mean(harms + more, chances, worst) >= mean - 1e-9
    assert tail_mean(3 * harms - 5, chances, worst) == pytest.approx(3 * mean - 5, abs=1e-9)


def test_the_last_incident_counts_with_what_is_left_of_the_share() -> None:
    """The worst quarter of three equal ones is the worst of them; the worst half all of it and half of the next."""
    harms, chances = np.array([1.0, 10.0, 4.0]), np.full(3, 1 / 3)
    assert tail_mean(harms, chances, 0.25) == pytest.approx(10)
    assert tail_mean(harms, chances, 0.5) == pytest.approx((10 * 2 + 4 * 1) / 3)


def test_each_tail_is_of_its_own_kind_of_harm() -> None:
    """Kinds are columns."""
    harms = np.array([[1.0, 50.0], [3.0, 10.0]])
    tails = [Tail(1, 0.5), Tail(0), Tail(1)]
    assert tail_means(harms, np.array([0.5, 0.5]), tails).tolist() == [50.0, 2.0, 30.0]
    assert tail_means(harms, np.array([0.5, 0.5]), []).shape == (0,)
