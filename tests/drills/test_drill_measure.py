"""Objectives are measured in the replay of orders: every value here is worked out by hand."""

from __future__ import annotations

import dataclasses
import math

import pytest
from incidents import cylinders, device, ladder, outlet_set, patients, piped, regulator, scenario

from mci.catalogue.model import Rung
from mci.drills.debriefed import Status
from mci.drills.measure import reached
from mci.plan.orders import Action, Order
from mci.replay.judge import replay
from mci.scenario.exercise import Measure, Objective
from mci.scenario.model import Scenario, Spell

NEED = ladder("need", ("mask", 10.0, 1.0), ("cannula", 4.0, 0.5))
MILD = ladder("mild", ("cannula", 2.0, 1.0))


def _two(**changes: object) -> Scenario:
    """Two patients: one Immediate from 0, one Delayed from 10 who is Immediate with a high need from 30; 60 min."""
    first = dataclasses.replace(patients(1, "need"), label="P1")
    worsens = (Spell(20, "a", "immediate", "need"),)
    second = dataclasses.replace(patients(1, "mild", category="delayed", arrive=10, then=worsens), label="P2")
    made = scenario(horizon=60, ladders=[NEED, MILD], patients=[first, second], lots=[piped(4)])
    return dataclasses.replace(made, **changes)


def _on(minute: float, patient: str, thing: str, flow: float, action: Action = Action.CONNECT) -> Order:
    return Order(minute, "a", action, patient, thing, flow, "pipe")


def _measured(made: Scenario, orders: tuple[Order, ...], objective: Objective) -> tuple[Status, float]:
    (found,) = reached(made, replay(made, orders), orders, (objective,))
    assert found.objective == objective
    assert found.words
    return found.status, found.value


ORDERS = (_on(4, "P1", "mask", 10), _on(16, "P2", "cannula", 2), _on(37, "P2", "mask", 10, Action.SET_FLOW))


@pytest.mark.parametrize(
    ("minutes", "share", "status", "value"),
    [(5, 0.5, Status.MET, 0.5), (6, 1.0, Status.MET, 1.0), (5, 1.0, Status.PARTLY, 0.5), (3, 0.2, Status.NOT, 0.0)],
)
def test_on_oxygen_within(minutes: float, share: float, status: Status, value: float) -> None:
    """P1 waits 4 min, P2 6 min."""
    objective = Objective("O1", "", Measure.ON_OXYGEN, minutes=minutes, share=share)
    assert _measured(_two(), ORDERS, objective) == (status, value)


def test_who_comes_too_late_to_tell_is_not_counted() -> None:
    """Of P2, who comes at 10, nobody knows after 15 minutes whether it took 6."""
    made = _two(horizon=15.0)
    objective = Objective("O1", "", Measure.ON_OXYGEN, minutes=6, share=1.0)
    assert _measured(made, ORDERS[:1], objective) == (Status.MET, 1.0)
    nobody = Objective("O1", "", Measure.ON_OXYGEN, "delayed", minutes=6, share=1.0)
    assert _measured(made, ORDERS[:1], nobody) == (Status.MET, 0.0)


@pytest.mark.parametrize(("minutes", "status"), [(7, Status.MET), (6.9, Status.NOT)])
def test_stepped_up_within(minutes: float, status: Status) -> None:
    """P2 worsens at 30 and is at target again at 37; P1 does not worsen."""
    objective = Objective("O1", "", Measure.STEPPED_UP, minutes=minutes, share=1.0)
    assert _measured(_two(), ORDERS, objective) == (status, 1.0 if status is Status.MET else 0.0)


def test_getting_better_is_no_worsening() -> None:
    """The other way round nobody has to be stepped up."""
    better = dataclasses.replace(patients(1, "need", then=(Spell(20, "a", "delayed", "mild"),)), label="P1")
    objective = Objective("O1", "", Measure.STEPPED_UP, minutes=5, share=1.0)
    assert _measured(_two(patients=(better,)), (), objective) == (Status.MET, 0.0)


def test_coverage_by_category_and_area() -> None:
    """Immediate need 60 + 30 min; served 56 + 23 at credit 1, and cannula at 2 L/min reaches no rung of the need."""
    objective = Objective("O1", "", Measure.COVERAGE, "immediate", "a", share=0.95)
    status, value = _measured(_two(), ORDERS, objective)
    assert (status, value) == (Status.PARTLY, pytest.approx((56 + 23) / 90))


@pytest.mark.parametrize(("limit", "status"), [(10, Status.MET), (5, Status.PARTLY), (4.9, Status.NOT)])
def test_without_oxygen(limit: float, status: Status) -> None:
    """P1 is 4 min without, P2 6 min."""
    assert _measured(_two(), ORDERS, Objective("O1", "", Measure.WITHOUT, minutes=limit)) == (
        status,
        pytest.approx(10.0),
    )


def test_longest_time_on_empty() -> None:
    """100 L at 10 L/min last from 5 to 15; the next cylinder comes on at 22, and lasts to 32, where it stays on."""
    only = dataclasses.replace(patients(1, "need", stay=40), label="P1")
    made = scenario(horizon=60, ladders=[NEED], patients=[only], lots=[cylinders(2, 100)], regulators=[regulator(1)])
    orders = (
        Order(5, "a", Action.CHANGE, supply="lot 1", regulator="a-reg"),
        Order(5, "a", Action.CONNECT, "P1", "mask", 10, "lot 1", "a-reg"),
        Order(22, "a", Action.CHANGE, supply="lot 2", regulator="a-reg"),
    )
    found = _measured(made, orders, Objective("O1", "", Measure.EMPTY, minutes=4))
    assert found == (Status.PARTLY, pytest.approx(8.0))
    assert _measured(made, orders[:2], Objective("O1", "", Measure.EMPTY, minutes=4)) == (
        Status.NOT,
        pytest.approx(25.0),
    )
    for each in ("delayed", "immediate"):
        value = _measured(made, orders[:2], Objective("O1", "", Measure.EMPTY, each, minutes=4))[1]
        assert value == pytest.approx(25.0 if each == "immediate" else 0.0)


def test_below_least_flow() -> None:
    """A mask that needs 5 L/min is at 3 L/min for 8 min; a limit of 0 is met or not."""
    mask = dataclasses.replace(device("mask"), min_lpm=5.0)
    need = dataclasses.replace(NEED, rungs=(Rung(mask, 10.0, 1.0, "10 L/min"),))
    made = _two(ladders={"need": need, "mild": MILD})
    orders = (_on(4, "P1", "mask", 3), _on(12, "P1", "mask", 10, Action.SET_FLOW))
    objective = Objective("O1", "", Measure.LEAST_FLOW, minutes=0)
    assert _measured(made, orders, objective) == (Status.NOT, pytest.approx(8.0))
    assert _measured(made, orders[1:], objective) == (Status.MET, 0.0)


def test_words_have_numbers_and_units() -> None:
    """What was found is said with its numbers."""
    asked = (
        Objective("O1", "", Measure.ON_OXYGEN, "immediate", minutes=5, share=0.9),
        Objective("O2", "", Measure.COVERAGE, share=0.9),
        Objective("O3", "", Measure.WITHOUT, "delayed", "a", minutes=5),
    )
    made = _two()
    words = [each.words for each in reached(made, replay(made, ORDERS), ORDERS, asked)]
    assert words == [
        "1 of 1 Immediate patient on oxygen within 5 min of arrival (100.0 %)",
        "84.5 % of the need of patients (93.0 of 110.0 credit-min)",
        "6.0 patient-min without oxygen, Delayed patients at a",
    ]
    assert math.isnan(asked[2].share)


def test_two_on_one_empty_cylinder() -> None:
    """A dry regulator with two patients counts both once: the longest, not the sum."""
    both = dataclasses.replace(patients(2, "need"), label="P")
    made = scenario(
        horizon=30,
        ladders=[NEED],
        patients=[both],
        lots=[cylinders(1, 200)],
        regulators=[regulator(1, outlets=outlet_set("reg", 2))],
    )
    orders = (
        Order(0, "a", Action.CHANGE, supply="lot", regulator="a-reg"),
        *(Order(0, "a", Action.CONNECT, f"P {n}", "mask", 10, "lot", "a-reg") for n in (1, 2)),
    )
    objective = Objective("O1", "", Measure.EMPTY, minutes=100)
    assert _measured(made, orders, objective) == (Status.MET, pytest.approx(20.0))
