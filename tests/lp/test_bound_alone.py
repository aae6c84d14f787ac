"""The bound alone is the bound of the whole programme."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given
from incidents import cylinders, ladder, patients, regulator, scenario
from properties.common import bound, repeatable
from properties.random_incidents import incidents

from mci.demand.groups import count_demand
from mci.errors import InputError, NoPlanError
from mci.lp.bound import find_bound
from mci.scenario.model import Scenario
from mci.settings import Settings


@repeatable(50)
@given(incidents(memory=True))
def test_it_is_what_allocate_finds(made: Scenario) -> None:
    """Whatever the kinds of supply and limits, to 1e-6."""
    try:
        demand = count_demand(made)
    except InputError:  # nobody comes
        return
    assert find_bound(made, demand, Settings()) == pytest.approx(bound(made), rel=1e-6, abs=1e-6)


def test_what_no_plan_can_meet_is_refused() -> None:
    """A reserve that is more than all there is."""
    made = scenario(
        horizon=60,
        ladders=[ladder("l", ("mask", 10, 1.0))],
        patients=[patients(1, "l")],
        lots=[cylinders(1, 300)],
        regulators=[regulator(1)],
    )
    assert find_bound(made, count_demand(made), Settings()) == pytest.approx(30)
    with pytest.raises(NoPlanError):
        find_bound(dataclasses.replace(made, reserve={"a": 301}), count_demand(made), Settings())
