"""What the programme maximises, and what it costs among plans of equal coverage."""

from __future__ import annotations

import numpy as np
import pytest
from incidents import cylinders, ladder, outlet_set, patients, scenario

from mci.demand.groups import count_demand
from mci.lp.allocate import allocate
from mci.lp.index import make_index
from mci.lp.objective import LITRE_COST, WAIT_COST, coverage, tidiness
from mci.lp.programme import ABSENT, Columns
from mci.lp.variables import make_variables
from mci.settings import Settings


@pytest.fixture
def written():
    """Return index, variables and number of columns: two categories on one ladder, two periods of 10 and 20 min."""
    incident = scenario(
        horizon=30,
        ladders=[ladder("l", ("mask", 10, 1), ("cannula", 4, 0.5))],
        patients=[
            patients(1, "l", category="immediate"),
            patients(1, "l", category="delayed"),
            patients(1, "l", category="delayed", arrive=10),
        ],
        lots=[cylinders(1, 100, built_in=outlet_set("own", 3, 0, 15, 45))],
        weights={"immediate": 3.0, "delayed": 0.5},
    )
    index = make_index(incident, count_demand(incident))
    columns = Columns()
    return index, make_variables(index, columns), len(columns.names)


def _options(index, category):
    return [n for n, option in enumerate(index.options) if index.demand.groups[option.group].category == category]


def test_a_minute_earns_weight_times_credit(written) -> None:
    """Serving earns weight x credit x length: 3 x 1 x 10 on top for Immediate, 0.5 x 0.5 x 20 below for Delayed."""
    index, variables, size = written
    earns = coverage(index, variables, size)
    top = next(n for n in _options(index, "immediate") if index.options[n].rung == 0)
    low = next(n for n in _options(index, "delayed") if index.options[n].rung == 1)
    assert earns[variables.serve[top]].tolist() == [30, 60]
    assert earns[variables.serve[low]].tolist() == [2.5, 5]
    assert not np.any(earns[variables.connect])


def test_one_category_alone_earns_without_weight(written) -> None:
    """Strict aims count one category, with weight 1."""
    index, variables, size = written
    earns = coverage(index, variables, size, "delayed")
    assert not earns[variables.serve[_options(index, "immediate")]].any()
    top = next(n for n in _options(index, "delayed") if index.options[n].rung == 0)
    assert earns[variables.serve[top]].tolist() == [10, 20]


def test_a_step_down_costs_its_category(written) -> None:
    """Stepping down an Immediate patient costs 3, a Delayed one 0.5: the less urgent is stepped down first."""
    index, variables, size = written
    costs = tidiness(index, variables, size)
    for category, weight in (("immediate", 3.0), ("delayed", 0.5)):
        steps = variables.worse[_options(index, category)]
        assert set(costs[steps[steps != ABSENT]].tolist()) == {weight}


def test_a_litre_costs_the_same_everywhere(written) -> None:
    """A connection costs flow x length x the cost of a litre."""
    index, variables, size = written
    costs = tidiness(index, variables, size)
    for number, link in enumerate(variables.links):
        expected = LITRE_COST * index.levels[link.level].flow * index.grid.lengths
        assert costs[variables.connect[number]] == pytest.approx(expected)


def test_a_minute_late_in_the_plan_costs_more_than_an_early_one(written) -> None:
    """Serving costs weight x credit x length x the middle of the period [h]."""
    index, variables, size = written
    costs = tidiness(index, variables, size)
    top = next(n for n in _options(index, "immediate") if index.options[n].rung == 0)
    assert costs[variables.serve[top]] == pytest.approx(WAIT_COST * np.array([3 * 10 * 5 / 60, 3 * 20 * 20 / 60]))


def _served(incident) -> list[tuple[float, float, float]]:
    service = allocate(incident, count_demand(incident, 30.0), Settings()).outcome.service
    return list(zip(service["start_min"], service["end_min"], service["patients"].round(6), strict=True))


def test_nobody_waits_beside_full_cylinders() -> None:
    """Gas for one of two hours: the patient has it in the first hour, although that means one step-down."""
    incident = scenario(
        horizon=120,
        ladders=[ladder("one", ("mask", 10, 1.0))],
        patients=[patients(1, "one")],
        lots=[cylinders(1, 600, built_in=outlet_set("own"))],
    )
    assert _served(incident) == [(0, 30, 1), (30, 60, 1)]


def test_nobody_is_stepped_down_to_be_served_a_little_earlier() -> None:
    """One patient for 12 min, gas for 10: all of it first is one step-down, for ten credit-minutes a minute earlier.

    That is a sixth of a step-down, so the programme spreads the gas evenly (patients are divisible).
    """
    incident = scenario(
        horizon=12,
        ladders=[ladder("one", ("mask", 10, 1.0))],
        patients=[patients(1, "one")],
        lots=[cylinders(1, 100, built_in=outlet_set("own"))],
    )
    service = allocate(incident, count_demand(incident, 2.0), Settings()).outcome.service
    assert service["patients"].tolist() == pytest.approx([10 / 12] * 6)
