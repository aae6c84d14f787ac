"""What the programme maximises, and what it costs among plans of equal coverage."""

from __future__ import annotations

import numpy as np
import pytest
from incidents import cylinders, ladder, outlet_set, patients, scenario

from mci.demand.groups import count_demand
from mci.lp.index import make_index
from mci.lp.objective import LITRE_COST, coverage, tidiness
from mci.lp.programme import ABSENT, Columns
from mci.lp.variables import make_variables


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
