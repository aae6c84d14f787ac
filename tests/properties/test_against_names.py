"""The programme against the same incident with every patient by name, solved by another solver."""

from __future__ import annotations

import dataclasses

import pytest
from common import bound, repeatable
from hypothesis import given
from incidents import cylinders, ladder, outlet_set, patients, scenario
from named_model import best_by_name, least_cost_by_name
from random_incidents import incidents

from mci.demand.groups import count_demand
from mci.lp.allocate import allocate
from mci.lp.objective import LITRE_COST, WAIT_COST, tidiness
from mci.scenario.model import Scenario, Spell
from mci.settings import Settings


@repeatable(150)
@given(incidents())
def test_the_aggregate_equals_the_programme_by_name(incident: Scenario) -> None:
    """Without a shortage of single-use devices, counting patients gives the optimum of naming them."""
    assert bound(incident) == pytest.approx(best_by_name(incident), rel=1e-6, abs=1e-6)


@repeatable(100)
@given(incidents(memory=True))
def test_with_single_use_devices_the_aggregate_is_a_bound(incident: Scenario) -> None:
    """Where single-use devices run out, no plan by name is better than the aggregated optimum."""
    best = best_by_name(incident)
    assert bound(incident) >= best * (1 - 1e-6) - 1e-6


def _least_cost(incident: Scenario) -> tuple[float, float]:
    """Return the coverage of the plan and what its step-downs, waiting and litres cost, in the aggregate."""
    allocation = allocate(incident, count_demand(incident), Settings())
    cost = sum(
        float(tidiness(part.index, part.variables, len(part.earns)) @ part.plan.values) for part in allocation.parts
    )
    return allocation.outcome.achieved, cost


@repeatable(60)
@given(incidents())
def test_with_continuity_the_aggregate_is_a_bound(incident: Scenario) -> None:
    """Held to the same coverage, no plan by name costs less than the aggregate counts."""
    achieved, cost = _least_cost(incident)
    assert cost <= least_cost_by_name(incident, WAIT_COST, LITRE_COST, achieved) + 1e-4


def test_a_step_down_that_nobody_can_avoid_is_counted() -> None:
    """100 L that are gone at T+10, then 40 L for 10 min: from 10 to 4 L/min, one step-down of weight 1."""
    rungs = ladder("two", ("mask", 10, 1.0), ("cannula", 4, 0.5))
    first = dataclasses.replace(cylinders(1, 100, key="first", built_in=outlet_set("own")), available_until=10)
    second = cylinders(1, 40, key="second", built_in=outlet_set("own"), arrive=10)
    incident = scenario(horizon=20, ladders=[rungs], patients=[patients(1, "two")], lots=[first, second])
    achieved, cost = _least_cost(incident)
    assert achieved == pytest.approx(15)
    waiting = (10 * 5 + 0.5 * 10 * 15) / 60  # credit-minutes x middle of the period [h]
    assert cost - WAIT_COST * waiting - LITRE_COST * 140 == pytest.approx(1, abs=1e-5)
    assert cost == pytest.approx(least_cost_by_name(incident, WAIT_COST, LITRE_COST, achieved), abs=1e-5)


MASK = ladder("wear", ("mask", 10, 1.0), single_use=True)
GAS = [cylinders(2, 1000, built_in=outlet_set("own"))]


def test_the_bound_is_not_always_attained() -> None:
    """One mask, one patient from T+0 to T+20 and one from T+10 to T+30: who leaves takes the mask along.

    By name one of them has it for 20 min.  The aggregate knows that one of the two leaves, not that
    it is the one with the mask: 30 min.
    """
    incident = scenario(
        horizon=30,
        ladders=[MASK],
        patients=[patients(1, "wear", stay=20), patients(1, "wear", arrive=10, stay=20)],
        lots=GAS,
        devices={("a", "mask"): 1},
    )
    assert best_by_name(incident) == pytest.approx(20)
    assert bound(incident) == pytest.approx(30)


def test_a_change_of_need_hands_nobody_a_mask() -> None:
    """One mask and two patients whose ladder changes at T+10: one of them has it, before and after."""
    again = dataclasses.replace(MASK, key="again")
    incident = scenario(
        horizon=20,
        ladders=[MASK, again],
        patients=[patients(2, "wear", then=(Spell(10, "a", "immediate", "again"),))],
        lots=GAS,
        devices={("a", "mask"): 1},
    )
    assert bound(incident) == pytest.approx(best_by_name(incident)) == pytest.approx(20)


@pytest.mark.parametrize(("masks", "served"), [(0, 0.0), (1, 20.0), (3, 40.0)])
def test_who_moves_brings_only_what_there_was(masks: int, served: float) -> None:
    """Two patients move to an area without masks at T+10: only those handed out before come along."""
    incident = scenario(
        horizon=20,
        ladders=[MASK],
        patients=[patients(2, "wear", then=(Spell(10, "b", "immediate", "wear"),))],
        lots=[*GAS, dataclasses.replace(GAS[0], area="b", key="b")],
        devices={("a", "mask"): masks, ("b", "mask"): 0},
        areas=("a", "b"),
    )
    assert bound(incident) == pytest.approx(best_by_name(incident)) == pytest.approx(served)
