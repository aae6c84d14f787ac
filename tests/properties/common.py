"""What the laws share: how Hypothesis is run, and the bound of a scenario."""

from __future__ import annotations

import math

from hypothesis import HealthCheck, settings

from mci.demand.groups import count_demand
from mci.lp.allocate import allocate
from mci.lp.outcome import Outcome, Status
from mci.scenario.model import Scenario
from mci.settings import Settings

__all__ = ["bound", "outcome", "repeatable"]


def repeatable(examples: int) -> settings:
    """Return settings that try the same examples every time."""
    return settings(
        deadline=None,
        derandomize=True,
        database=None,
        max_examples=examples,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
    )


def outcome(scenario: Scenario, *, max_period: float = math.inf, priority: str = "weighted") -> Outcome:
    """Return the outcome, which must be optimal."""
    demand = count_demand(scenario, max_period)
    found = allocate(scenario, demand, Settings(priority=priority)).outcome
    assert found.status is Status.OPTIMAL
    return found


def bound(scenario: Scenario, *, max_period: float = math.inf) -> float:
    """Return the bound [weighted credit-minutes]."""
    return outcome(scenario, max_period=max_period).bound
