"""A regulator that is of no use from a moment on: who hangs on it gets nothing, and it draws nothing."""

from __future__ import annotations

import dataclasses

import pytest
from incidents import cylinders, ladder, patients, regulator, scenario
from quay import change, connect, off, other

from mci.plan.orders import Action, Order
from mci.replay.judge import replay
from mci.replay.verdict import Validity
from mci.scenario.model import RegulatorStock, Scenario

ENDS = 20.0


def _stock(key: str, end: float = float("inf")) -> RegulatorStock:
    return dataclasses.replace(regulator(1), key=key, available_until=end)


@pytest.fixture
def incident() -> Scenario:
    """Two patients at 10 L/min, two cylinders, three regulators of which ``leaks`` ends at T+20."""
    return scenario(
        horizon=60,
        ladders=[ladder("l", ("mask", 10, 1.0))],
        patients=[patients(2, "l")],
        lots=[cylinders(2, 600, key="cyl")],
        regulators=[_stock("leaks", ENDS), _stock("sound"), _stock("spare")],
    )


def _begin() -> list[Order]:
    return [
        change(0, "cyl 1", "leaks", ""),
        change(0, "cyl 2", "sound", ""),
        connect(0, "batch 1", "mask", 10, "cyl 1", "leaks"),
        connect(0, "batch 2", "mask", 10, "cyl 2", "sound"),
    ]


def test_who_hangs_on_it_gets_nothing_and_draws_nothing(incident: Scenario) -> None:
    """20 min of 60, 400 L left, one offence of the last order that connected somebody; the others breathe on."""
    verdict = replay(incident, _begin())
    assert [(each.law, each.row, each.minute) for each in verdict.findings] == [("window", 3, ENDS)]
    assert "leaks is there until T+20 min" in verdict.findings[0].reason
    assert {each.patient: (each.start, each.end) for each in verdict.services} == {
        "batch 1": (0, ENDS),
        "batch 2": (0, 60),
    }
    assert verdict.left == {"cyl 1": 400, "cyl 2": 0}


def test_taking_the_patient_off_afterwards_costs_no_gas(incident: Scenario) -> None:
    """Whoever hung on it without gas is taken off later: nothing more was drawn, and nothing is given back."""
    verdict = replay(incident, [*_begin(), off(30, "batch 1", "seen at last")])
    assert [each.law for each in verdict.findings] == ["window"]
    assert verdict.left["cyl 1"] == 400


def test_at_the_very_moment_the_patient_may_be_taken_off(incident: Scenario) -> None:
    """As with a supply that is taken away."""
    assert replay(incident, [*_begin(), off(ENDS, "batch 1", "regulator leaks")]).validity is Validity.VALID


def test_the_cylinder_under_it_gets_another_one(incident: Scenario) -> None:
    """Another regulator on the same cylinder, and the patient goes on: every minute counts."""
    orders = [
        *_begin(),
        off(ENDS, "batch 1", "regulator leaks"),
        change(ENDS, "cyl 1", "spare", ""),
        connect(ENDS, "batch 1", "mask", 10, "cyl 1", "spare"),
    ]
    verdict = replay(incident, orders)
    assert verdict.validity is Validity.VALID
    assert verdict.weighted == pytest.approx(120)


def test_moved_to_another_regulator_in_one_order(incident: Scenario) -> None:
    """A move to the other outlet at the moment is in time, and the regulator left behind gives way."""
    orders = [
        *_begin(),
        change(ENDS, "cyl 1", "spare", ""),
        other(ENDS, Action.MOVE, "batch 1", supply="cyl 1", regulator="spare"),
    ]
    assert replay(incident, orders).validity is Validity.VALID


def test_it_goes_on_nothing_any_more(incident: Scenario) -> None:
    """Put on after its end it passes nothing, and nothing is drawn through it."""
    verdict = replay(incident, [change(25, "cyl 1", "leaks", ""), connect(25, "batch 1", "mask", 10, "cyl 1", "leaks")])
    assert [(each.law, each.row) for each in verdict.findings] == [("window", 1), ("window", 2)]
    assert verdict.services == ()
    assert verdict.left["cyl 1"] == 600


def test_connected_again_to_one_that_is_gone(incident: Scenario) -> None:
    """Told once; nothing flows, whoever is connected and taken off again."""
    orders = [
        *_begin(),
        off(ENDS, "batch 1", "regulator leaks"),
        connect(30, "batch 1", "mask", 10, "cyl 1", "leaks"),
        off(40, "batch 1", "no gas"),
        connect(45, "batch 1", "mask", 10, "cyl 1", "leaks"),
    ]
    verdict = replay(incident, orders)
    assert [(each.law, each.row) for each in verdict.findings] == [("window", 6)]
    assert sum(each.end - each.start for each in verdict.services if each.patient == "batch 1") == ENDS
    assert verdict.left["cyl 1"] == 400


def test_a_cylinder_moved_off_it_with_its_patient(incident: Scenario) -> None:
    """A regulator that is gone, put on another cylinder with the patient still on it, passes nothing there either."""
    orders = [*_begin()[:1], _begin()[2], change(30, "cyl 2", "leaks", "")]
    verdict = replay(incident, orders)
    assert [each.law for each in verdict.findings] == ["window", "window"]
    assert verdict.left == {"cyl 1": 400, "cyl 2": 600}
