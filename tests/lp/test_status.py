"""A limit is never called optimal, and what cannot be met is said in words."""

from __future__ import annotations

import dataclasses
from typing import Any

import pytest
from incidents import cylinders, ladder, outlet_set, patients, regulator, scenario

from mci.demand.groups import count_demand
from mci.errors import NoPlanError, SolverLimitError
from mci.lp import allocate as allocation
from mci.lp.allocate import allocate
from mci.lp.outcome import Status
from mci.lp.solve import Solution, lexicographic
from mci.scenario.model import Scenario
from mci.settings import Settings


def _large() -> Scenario:
    """Return an incident that no solver finishes in a microsecond."""
    rungs = [("mask", 15, 1.0), ("simple", 8, 0.7), ("cannula", 4, 0.4)]
    return scenario(
        horizon=600,
        ladders=[ladder(f"l{number}", *rungs) for number in range(3)],
        patients=[
            patients(9, f"l{number % 3}", category=category, arrive=7 * number, over=200, step=5, stay=150)
            for number in range(12)
            for category in ("immediate", "delayed", "minimal")
        ],
        lots=[cylinders(20, 400 + number, key=f"lot-{number}", arrive=20 * number, change=2) for number in range(12)],
        regulators=[regulator(15, outlets=outlet_set("one")), regulator(4, outlets=outlet_set("four", 4))],
        staff={"a": 1.0},
        devices={("a", "mask"): 60},
    )


@pytest.mark.parametrize("limit", [1e-9, 0.003])
def test_a_time_limit_is_never_called_optimal(limit: float) -> None:
    """Stopped early there is either no plan, said as such, or a plan whose bound is only what all would earn."""
    incident = _large()
    demand = count_demand(incident, 5.0)
    try:
        found = allocate(incident, demand, Settings(time_limit=limit)).outcome
    except SolverLimitError as error:
        assert "limit" in str(error)  # noqa: PT017
        return
    assert found.status is Status.LIMIT
    weights = [incident.weights[group.category] for group in demand.groups]
    needed = float(weights @ demand.present @ demand.grid.lengths)
    assert found.bound == pytest.approx(needed)


def test_a_plan_at_a_limit_proves_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where any stage stopped at a limit the outcome says so, and its bound is what full coverage would earn."""

    def stopped(*arguments: Any) -> list[Solution]:
        *stages, last = lexicographic(*arguments)
        return [*stages, dataclasses.replace(last, status=Status.LIMIT)]

    monkeypatch.setattr(allocation, "lexicographic", stopped)
    incident = _small()
    demand = count_demand(incident)
    outcome = allocate(incident, demand, Settings()).outcome
    weights = [incident.weights[group.category] for group in demand.groups]
    assert outcome.status is Status.LIMIT
    assert outcome.bound == pytest.approx(float(weights @ demand.present @ demand.grid.lengths))
    assert outcome.achieved < outcome.bound


def test_enough_time_is_optimal() -> None:
    """The same incident with time is solved."""
    incident = _large()
    assert allocate(incident, count_demand(incident, 20.0), Settings()).outcome.status is Status.OPTIMAL


def _small(**changes: object) -> Scenario:
    small = scenario(
        horizon=60,
        ladders=[ladder("one", ("mask", 10, 1.0))],
        patients=[patients(1, "one")],
        lots=[cylinders(1, 300, built_in=outlet_set("own")), cylinders(1, 500, key="late", arrive=90)],
    )
    return dataclasses.replace(small, **changes)


def test_a_reserve_that_cannot_be_left_is_refused_in_words() -> None:
    """A reserve above what can be there at the end names the area and both amounts."""
    incident = _small(reserve={"a": 400.0})
    with pytest.raises(NoPlanError) as caught:
        allocate(incident, count_demand(incident), Settings())
    assert caught.value.clashes == ("the reserve of 400 L at a: only 300 L can be there at the end",)
    assert caught.value.exit_code == 4


def test_the_whole_stock_may_be_the_reserve() -> None:
    """A reserve of all there is leaves nothing to give, and is no contradiction."""
    incident = _small(reserve={"a": 300.0})
    found = allocate(incident, count_demand(incident), Settings()).outcome
    assert (found.status, found.bound) == (Status.OPTIMAL, 0.0)


def test_without_any_supply_there_is_a_plan_that_gives_nothing() -> None:
    """No gas is a shortage, not an error."""
    incident = _small(lots=())
    found = allocate(incident, count_demand(incident), Settings()).outcome
    assert (found.status, found.bound, found.achieved) == (Status.OPTIMAL, 0.0, 0.0)
    assert found.service.empty
    assert found.draw.empty


def test_a_small_answer_by_hand() -> None:
    """300 L at 10 L/min serve one patient for 30 of 60 min: 30 credit-minutes."""
    found = allocate(_small(), count_demand(_small()), Settings()).outcome
    assert found.bound == pytest.approx(30)
    assert found.draw["litres"].sum() == pytest.approx(300)
