"""The programme against the same incident with every patient by name, solved by another solver."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from named_model import best_by_name
from random_incidents import incidents

from mci.demand.groups import count_demand
from mci.lp.allocate import allocate
from mci.lp.outcome import Status
from mci.scenario.model import Scenario
from mci.settings import Settings

REPEATABLE = settings(
    deadline=None, derandomize=True, database=None, suppress_health_check=[HealthCheck.too_slow], max_examples=120
)


def bound(scenario: Scenario) -> float:
    """Return the bound of the package."""
    outcome = allocate(scenario, count_demand(scenario), Settings()).outcome
    assert outcome.status is Status.OPTIMAL
    return outcome.bound


@REPEATABLE
@given(incidents())
def test_the_aggregate_equals_the_programme_by_name(scenario: Scenario) -> None:
    """Without a shortage of single-use devices, counting patients gives the optimum of naming them."""
    assert bound(scenario) == pytest.approx(best_by_name(scenario), rel=1e-6, abs=1e-6)


@REPEATABLE
@given(incidents(memory=True))
def test_with_single_use_devices_the_aggregate_is_a_bound(scenario: Scenario) -> None:
    """Where single-use devices run out, no plan by name is better than the aggregated optimum."""
    best = best_by_name(scenario)
    assert bound(scenario) >= best * (1 - 1e-6) - 1e-6
