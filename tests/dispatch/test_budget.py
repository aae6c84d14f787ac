"""The budget: what the plan draws from every lot by when, and what it leaves."""

from __future__ import annotations

import dataclasses
import math

import pandas as pd
import pytest
from incidents import cylinders, ladder, patients, piped, regulator, scenario

from mci.dispatch.budget import Budget
from mci.dispatch.floor import Floor, Link
from mci.scenario.model import Scenario
from mci.timegrid import make_grid

GRID = make_grid([], 60.0, 10.0)
SERVICE = pd.DataFrame(
    {"area": "a", "start_min": GRID.starts, "end_min": GRID.ends, "flow_lpm": [10.0] * 6, "patients": [1.0] * 6}
)
DRAW = pd.DataFrame({"lot": "lot", "start_min": GRID.starts, "end_min": GRID.ends, "litres": [100.0] * 6})


def _incident(litres: float = 600, late: float = 0) -> Scenario:
    lots = [cylinders(1, litres), piped(1)]
    if late:
        lots.append(cylinders(1, late, key="late", arrive=30))
    return scenario(
        horizon=60,
        ladders=[ladder("l", ("mask", 10, 1.0))],
        patients=[patients(1, "l")],
        lots=lots,
        regulators=[regulator(1)],
    )


def _floor(incident: Scenario) -> Floor:
    floor = Floor(incident)
    floor.put_on(floor.tools["a"][0], floor.lots["lot"][0])
    return floor


def _budget(draw: pd.DataFrame = DRAW) -> Budget:
    budget = Budget(GRID, SERVICE, draw)
    budget.enter(0.0)
    return budget


def test_what_may_be_drawn_is_the_plan_less_what_is_drawn() -> None:
    """100 L planned in 10 min: 10 L/min with nobody on, 4 beside somebody at 6, and later what is behind as well."""
    floor, budget = _floor(_incident()), _budget()
    source = floor.lots["lot"][0]
    assert budget.spare(floor, source) == pytest.approx(10)
    floor.connect("p", Link(0, "mask", 6.0, strong=False, credit=1.0, source=source))
    assert budget.spare(floor, source) == pytest.approx(4)
    floor.pass_time(10.0)  # 60 L drawn, 40 L behind
    budget.enter(10.0)
    assert budget.spare(floor, source) == pytest.approx((200 - 60) / 10 - 6)


def test_a_lot_that_the_plan_never_draws_from_has_nothing_to_spare_and_a_pipe_everything() -> None:
    """0 for stored gas without a plan, no limit for piped gas."""
    floor, budget = _floor(_incident()), _budget(DRAW.iloc[:0])
    assert budget.spare(floor, floor.lots["lot"][0]) == 0
    assert budget.spare(floor, floor.lots["pipe"][0]) == math.inf


def test_a_lot_should_be_empty_when_the_plan_has_drawn_all_of_it() -> None:
    """The last period with a draw ends at T+40; patients there are at 10 L/min."""
    floor, budget = _floor(_incident()), _budget(DRAW.iloc[:4])
    assert budget.empty_by(floor.lots["lot"][0]) == (40.0, 10.0)


@pytest.mark.parametrize(
    ("litres", "late", "left"),
    [(600, 0, 0), (700, 0, 100), (400, 300, 100), (500, 150, 50), (300, 600, 0), (250, 600, -50)],
)
def test_what_is_left_over_can_be_spared_at_every_moment(litres: float, late: float, left: float) -> None:
    """600 L are planned; what comes at T+30 does not help before, and 300 L must last until then."""
    floor, budget = _floor(_incident(litres, late)), _budget()
    assert budget.left_over(floor, "a") == pytest.approx(left)


def test_half_a_period_is_half_of_its_plan() -> None:
    """At T+5 nothing has been drawn: 50 L of this period's plan and 500 L of the others are still to come."""
    floor, budget = _floor(_incident(600)), _budget()
    floor.pass_time(5.0)
    assert budget.left_over(floor, "a") == pytest.approx(50)


def test_cylinders_are_balanced_with_those_that_fit_the_same_regulators() -> None:
    """Two cylinders of one valve are a pool, a single one and a pipe are none."""
    assert _budget().pools(_floor(_incident()), 0.3) == []
    two = dataclasses.replace(_incident(), lots=(cylinders(2, 300),))
    (pool,) = _budget().pools(_floor(two), 0.3)
    assert len(pool.sources) == 2
