"""Looking ahead: whether cylinders that are left still have enough outlets later on."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from incidents import cylinders, ladder, patients, regulator, scenario

from mci.dispatch.balance import TOLERANCE, Pool, Profile
from mci.dispatch.floor import Floor


def _pool(count: int, outlets: int, demand: list[float], minutes: float = 10.0) -> Pool:
    """Return cylinders, each for one patient at 10 L/min, and a demand per period [L/min]."""
    made = scenario(
        horizon=len(demand) * minutes,
        ladders=[ladder("l", ("mask", 10, 1.0))],
        patients=[patients(1, "l")],
        lots=[cylinders(count, 1000)],
        regulators=[regulator(outlets)],
    )
    floor = Floor(made)
    size = len(demand)
    lengths = np.full(size, minutes)
    flow = np.full(size, 10.0)
    profile = Profile(np.arange(size) * minutes, lengths, np.array(demand) * lengths, flow, flow)
    return Pool(floor.sources["a"], floor.tools["a"], profile, 0.0)


def _strain(pool: Pool, *contents: float) -> float:
    return pool._look(np.array(contents), 0).strain()


@pytest.mark.parametrize(
    ("contents", "enough"),
    [
        ((200.0, 200.0, 200.0), True),  # two patients for 30 min on three thirds: McNaughton's wrap-around
        ((300.0, 300.0, 0.0), True),
        ((600.0, 0.0, 0.0), False),  # as much gas behind one outlet
        ((350.0, 150.0, 100.0), False),  # 50 L of the first cannot be drawn in time
    ],
)
def test_two_patients_need_two_outlets_all_the_time(contents: tuple[float, ...], *, enough: bool) -> None:
    """Feasible if and only if ``sum min(c_i, 300) >= 600``: one outlet gives 300 L in 30 min."""
    assert (_strain(_pool(3, 3, [20, 20, 20]), *contents) <= 600 * TOLERANCE) is enough


def test_a_heavy_period_late_asks_for_cylinders_then() -> None:
    """One patient for 20 min, then three for 10: 500 L are enough only while three cylinders hold 100 L at the end."""
    pool = _pool(3, 3, [10, 10, 30])
    assert _strain(pool, 300, 100, 100) == 0
    assert _strain(pool, 350, 150, 0) == pytest.approx(300 * (1 - TOLERANCE) - 200)


def test_cylinders_beyond_the_regulators_are_no_outlets() -> None:
    """Three full cylinders and two regulators give 20 L/min, not 30."""
    assert _strain(_pool(3, 2, [30]), 1000, 1000, 1000) == pytest.approx(300 * (1 - TOLERANCE) - 200)


@given(
    st.lists(st.floats(0, 400), min_size=3, max_size=3),
    st.lists(st.sampled_from([0.0, 10, 20, 30]), min_size=2, max_size=4),
)
def test_the_worst_set_of_periods_is_found(contents: list[float], demand: list[float]) -> None:
    """The strain is that of the worst of all sets of periods, not only of those that begin with the heaviest."""
    lengths = 10.0
    worst = 0.0
    for chosen in range(1, 2 ** len(demand)):
        members = [flow for place, flow in enumerate(demand) if chosen >> place & 1]
        time = lengths * len(members)
        supply = min(sum(min(each, 10 * time) for each in contents), 30 * time)
        worst = max(worst, sum(members) * lengths * (1 - TOLERANCE) - supply)
    assert _strain(_pool(3, 3, demand), *contents) == pytest.approx(worst, abs=1e-6)
