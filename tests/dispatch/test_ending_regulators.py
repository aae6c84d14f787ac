"""Regulators that end: a crew lets nobody hang on them, and the cylinder under one goes on another."""

from __future__ import annotations

import dataclasses
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from incidents import cylinders, ladder, patients, regulator, scenario
from planned import plan_all
from properties.common import bound, repeatable
from properties.random_incidents import incidents

from mci.plan.orders import Action
from mci.scenario.model import RegulatorStock, Scenario

#: Sums over the same minutes differ by rounding only.
SAME = 1e-6


def _stock(key: str, end: float = math.inf, come: float = 0.0) -> RegulatorStock:
    return dataclasses.replace(regulator(1), key=key, available_from=come, available_until=end)


def _one_patient(*stocks: RegulatorStock) -> Scenario:
    return scenario(
        horizon=60,
        ladders=[ladder("l", ("mask", 10, 1.0))],
        patients=[patients(1, "l")],
        lots=[cylinders(2, 600, key="cyl")],
        regulators=list(stocks),
    )


def test_the_next_regulator_goes_on_when_the_first_one_ends() -> None:
    """Two regulators one after the other serve the whole hour, one that ends serves 20 min."""
    both = plan_all(_one_patient(_stock("first", 20), _stock("second")))
    assert both.bound == pytest.approx(60)
    for judged in both.all:
        assert judged.verdict.weighted == pytest.approx(60)
    alone = plan_all(_one_patient(_stock("first", 20)))
    assert alone.bound == pytest.approx(20)
    for judged in alone.all:
        assert judged.verdict.weighted == pytest.approx(20)
        assert any(each.action is Action.DISCONNECT and each.reason for each in judged.plan.orders)


def test_the_cylinder_under_it_gets_another_regulator() -> None:
    """One cylinder only: at T+20 the second regulator, which comes then, is put on it."""
    made = _one_patient(_stock("first", 20), _stock("second", come=20))
    made = dataclasses.replace(made, lots=(cylinders(1, 600, key="cyl"),))
    for judged in plan_all(made).all:
        assert judged.verdict.weighted == pytest.approx(60)
        changes = [(each.minute, each.regulator) for each in judged.plan.orders if each.action is Action.CHANGE]
        assert changes == [(0, "first"), (20, "second")]


def test_of_equal_regulators_the_one_that_stays_is_taken() -> None:
    """Nobody is moved for nothing."""
    for stocks in ([_stock("ends", 20), _stock("stays")], [_stock("stays"), _stock("ends", 20)]):
        for judged in plan_all(_one_patient(*stocks)).all:
            assert {each.regulator for each in judged.plan.orders} == {"stays"}


def test_no_change_begins_that_the_regulator_does_not_see_done() -> None:
    """A change of 10 min from T+15 on, when the cylinders come, on a regulator that ends at T+20 is for nothing."""
    made = _one_patient(_stock("ends", 20))
    late = dataclasses.replace(made, lots=(cylinders(2, 600, key="cyl", arrive=15, change=10),))
    for judged in plan_all(late).all:
        assert judged.verdict.weighted == 0
        assert not judged.plan.orders


@st.composite
def _ending(draw: st.DrawFn) -> Scenario:
    made = draw(incidents(memory=True))
    ends = (10.0, 15.0, 23.0, 40.0, math.inf)
    stocks = tuple(dataclasses.replace(each, available_until=draw(st.sampled_from(ends))) for each in made.regulators)
    return dataclasses.replace(made, regulators=stocks)


@repeatable(60)
@given(_ending())
def test_orders_are_valid_and_within_the_bound(incident: Scenario) -> None:
    """Ours and usual practice, where most regulators end."""
    planned = plan_all(incident)
    for judged in planned.all:
        assert judged.verdict.validity, (judged.name, judged.verdict.findings[:1])
        assert judged.verdict.weighted <= planned.bound * (1 + SAME) + SAME


@repeatable(40)
@given(_ending())
def test_an_end_takes_and_never_gives(incident: Scenario) -> None:
    """The bound without ends is no lower; with an end before the beginning it is that without the regulator."""
    without = tuple(dataclasses.replace(each, available_until=math.inf) for each in incident.regulators)
    assert bound(incident) <= bound(dataclasses.replace(incident, regulators=without)) * (1 + SAME) + SAME
    gone = tuple(dataclasses.replace(each, available_until=0.0) for each in incident.regulators)
    none = dataclasses.replace(incident, regulators=())
    assert bound(dataclasses.replace(incident, regulators=gone)) == pytest.approx(bound(none), rel=SAME, abs=SAME)


@repeatable(25)
@given(incidents(memory=True))
def test_an_end_at_the_horizon_changes_nothing(incident: Scenario) -> None:
    """The same orders, ours and usual practice."""
    always = tuple(dataclasses.replace(each, available_until=math.inf) for each in incident.regulators)
    to_the_end = tuple(dataclasses.replace(each, available_until=incident.horizon) for each in incident.regulators)
    one, other = (plan_all(dataclasses.replace(incident, regulators=each)) for each in (always, to_the_end))
    assert [each.plan for each in one.all] == [each.plan for each in other.all]
    assert all(each.verdict.validity for each in other.all)
