"""The whole way from an incident to orders, for tests of what comes out at the end."""

from __future__ import annotations

import math
from dataclasses import dataclass

from mci.demand.groups import count_demand
from mci.dispatch.plan import dispatch, judge_usual
from mci.lp.allocate import allocate
from mci.lp.whole import plan_whole
from mci.plan.things import find_supplies
from mci.replay.judged import Judged
from mci.replay.verdict import Verdict
from mci.scenario.model import Scenario
from mci.settings import Settings

__all__ = ["Planned", "litres_at_start", "litres_breathed", "plan", "plan_all"]


@dataclass(frozen=True, slots=True)
class Planned:
    """Our plan, usual practice, and the bound [weighted credit-minutes]."""

    this: Judged
    usual: tuple[Judged, ...]
    bound: float

    @property
    def all(self) -> tuple[Judged, ...]:
        """Every plan."""
        return self.this, *self.usual


def plan_all(scenario: Scenario, max_period: float = 10.0) -> Planned:
    """Plan an incident and judge every plan."""
    settings = Settings(max_period=max_period)
    demand = count_demand(scenario, max_period)
    allocation = allocate(scenario, demand, settings)
    whole = plan_whole(allocation, settings)
    this = dispatch(scenario, demand, whole.service, whole.draw)
    return Planned(this, judge_usual(scenario, demand), allocation.outcome.bound)


def plan(scenario: Scenario, max_period: float = 10.0) -> Judged:
    """Plan an incident; the orders must be VALID."""
    this = plan_all(scenario, max_period).this
    assert this.verdict.validity, this.verdict.findings
    return this


def litres_at_start(scenario: Scenario) -> dict[str, float]:
    """Return the litres of every supply that can run empty."""
    return {supply.key: supply.litres for supply in find_supplies(scenario) if math.isfinite(supply.litres)}


def litres_breathed(scenario: Scenario, verdict: Verdict) -> float:
    """Return flow times time over everybody served from a supply that can run empty [L]."""
    stored = litres_at_start(scenario)
    return sum(each.flow_lpm * (each.end - each.start) for each in verdict.services if each.supply in stored)
