"""Usual practice: the top rung for whoever comes, until the cylinders run out."""

from __future__ import annotations

import dataclasses

import pytest
from incidents import cylinders, ladder, patients, piped, regulator, scenario
from planned import plan_all

from mci.demand.groups import count_demand
from mci.dispatch.plan import judge_usual
from mci.dispatch.usual import USUAL, usual_practice
from mci.plan.orders import Action
from mci.replay.judged import Judged
from mci.scenario.model import Patients, Scenario

TWO_RUNGS = ladder("l", ("mask", 10, 1.0), ("mask", 5, 0.6))


def _batch(label: str, category: str, arrive: float, **more: float) -> Patients:
    return dataclasses.replace(patients(1, "l", category=category, arrive=arrive, **more), label=label)


def _incident(*batches: Patients, litres: float = 6000) -> Scenario:
    """Return patients for one outlet."""
    return scenario(
        horizon=60,
        ladders=[TWO_RUNGS],
        patients=list(batches),
        lots=[cylinders(1, litres)],
        regulators=[regulator(1)],
    )


def _who_when(judged: Judged) -> list[tuple[str, float, float]]:
    return [(each.patient, each.start, each.end) for each in judged.verdict.services]


ONE_OUTLET = _incident(
    _batch("first", "minimal", 0, stay=20), _batch("second", "delayed", 5), _batch("third", "immediate", 10, stay=30)
)


def test_first_come_first_served() -> None:
    """The outlet goes to whoever has waited longest, however sick others are."""
    judged, _ = judge_usual(ONE_OUTLET, count_demand(ONE_OUTLET))
    assert _who_when(judged) == [("first", 0, 20), ("second", 20, 60)]


def test_sickest_first() -> None:
    """The outlet goes to the sickest of those who wait, but nobody is taken off for that."""
    _, judged = judge_usual(ONE_OUTLET, count_demand(ONE_OUTLET))
    assert _who_when(judged) == [("first", 0, 20), ("third", 20, 40), ("second", 40, 60)]


def test_nobody_looks_ahead() -> None:
    """Both give the last gas to who is there; the plan keeps it for who is sicker and comes later."""
    made = _incident(_batch("mild", "minimal", 0), _batch("sick", "immediate", 30), litres=300)
    planned = plan_all(made)
    for judged in planned.usual:
        assert _who_when(judged) == [("mild", 0, 30)]
    assert {each.patient for each in planned.this.verdict.services} == {"sick"}
    assert planned.this.verdict.weighted > max(judged.verdict.weighted for judged in planned.usual)


def test_the_top_rung_until_it_runs_out() -> None:
    """Nobody is stepped down to make gas last; when it is gone the patient comes off and it says why."""
    made = _incident(_batch("one", "immediate", 0), litres=300)
    for judged in judge_usual(made, count_demand(made)):
        assert [(each.flow_lpm, each.start, each.end) for each in judged.verdict.services] == [(10, 0, 30)]
        (off,) = [order for order in judged.plan.orders if order.action is Action.DISCONNECT]
        assert off.reason == "no oxygen is left here that could be connected"


def test_a_lower_rung_where_the_top_one_cannot_be_had() -> None:
    """An outlet that does not pass the prescribed flow is better than none."""
    made = _incident(_batch("one", "immediate", 0))
    pipe = piped(1, total=6)
    made = dataclasses.replace(made, lots=(pipe,))
    for judged in judge_usual(made, count_demand(made)):
        assert [(each.flow_lpm, each.credit) for each in judged.verdict.services] == [(5, 0.6)]


@pytest.mark.parametrize("number", [0, 1])
def test_plans_are_named(number: int) -> None:
    """In the order of the names, judged and not."""
    assert USUAL == ("first come, first served", "sickest first, first come")
    demand = count_demand(ONE_OUTLET)
    assert usual_practice(ONE_OUTLET, demand)[number].name == USUAL[number]
    assert judge_usual(ONE_OUTLET, demand)[number].name == USUAL[number]
    assert judge_usual(ONE_OUTLET, demand)[number].plan == usual_practice(ONE_OUTLET, demand)[number]
