"""Small incidents whose best orders a person can see: the crew finds them, or says why it cannot."""

from __future__ import annotations

import dataclasses
import math
from itertools import pairwise

import pytest
from incidents import concentrators, cylinders, ladder, outlet_set, patients, regulator, scenario
from planned import plan, plan_all

from mci.demand.groups import count_demand
from mci.dispatch.plan import judge_usual
from mci.plan.orders import Action, Order
from mci.replay.judged import Judged
from mci.scenario.model import PowerSupply, Scenario, Spell, StaffShift

INF = math.inf
HIGH = ladder("l", ("mask", 10, 1.0))
LOW = ladder("l", ("cannula", 5, 1.0))


def _of(judged: Judged, *actions: Action) -> list[Order]:
    return [order for order in judged.plan.orders if order.action in actions]


def _served(judged: Judged) -> list[tuple[float, float]]:
    """Return from when to when somebody was served, with stretches that follow each other joined."""
    joined: list[tuple[float, float]] = []
    for each in sorted(judged.verdict.services, key=lambda each: each.start):
        if joined and abs(joined[-1][1] - each.start) < 1e-6:
            joined[-1] = joined[-1][0], each.end
        else:
            joined.append((each.start, each.end))
    return joined


@pytest.mark.parametrize("max_period", [10.0, 20.0])
def test_three_equal_cylinders_for_two_patients(max_period: float) -> None:
    """Each cylinder lasts two thirds of the time: only by changing in turn are both served throughout (McNaughton)."""
    made = scenario(
        horizon=60, ladders=[HIGH], patients=[patients(2, "l")], lots=[cylinders(3, 400)], regulators=[regulator(2)]
    )
    planned = plan_all(made, max_period)
    assert planned.bound == pytest.approx(120)
    assert planned.this.verdict.validity
    assert planned.this.verdict.weighted == pytest.approx(planned.bound)
    assert max(each.verdict.weighted for each in planned.usual) < 110


def test_a_big_cylinder_goes_on_the_manifold() -> None:
    """On a single regulator most of what it holds would be left over."""
    made = scenario(
        horizon=60,
        ladders=[LOW],
        patients=[patients(4, "l")],
        lots=[cylinders(1, 300, key="small"), cylinders(1, 900, key="big")],
        regulators=[regulator(1), regulator(1, outlets=outlet_set("manifold", outlets=3))],
    )
    judged = plan(made)
    assert {(order.supply, order.regulator) for order in _of(judged, Action.CHANGE)} == {
        ("small", "a-reg"),
        ("big", "a-manifold"),
    }
    assert judged.verdict.weighted == pytest.approx(240)


def test_a_change_is_begun_early_enough() -> None:
    """Five minutes before the cylinder is empty, so that nobody is without oxygen in between."""
    made = scenario(
        horizon=65,
        ladders=[HIGH],
        patients=[patients(1, "l")],
        lots=[cylinders(3, 300, change=5)],
        regulators=[regulator(1)],
        staff={"a": 1},
    )
    judged = plan(made)
    assert [(order.begin, order.minute, order.by) for order in _of(judged, Action.CHANGE)] == [
        (0, 5, "s-a"),
        (30, 35, "s-a"),
    ]
    assert _served(judged) == [(5, 65)]


def test_nobody_is_free_and_it_says_so() -> None:
    """With nobody on shift when the cylinder runs out the patient waits, with a reason, until somebody is back."""
    made = scenario(
        horizon=90,
        ladders=[HIGH],
        patients=[patients(1, "l")],
        lots=[cylinders(2, 300, change=5)],
        regulators=[regulator(1)],
    )
    shifts = (StaffShift("early", "a", 1, 0, 10), StaffShift("late", "a", 1, 45, INF))
    made = dataclasses.replace(made, staff=shifts)
    for judged in judge_usual(made, count_demand(made)):
        assert [(order.minute, order.by) for order in _of(judged, Action.CHANGE)] == [(5, "early"), (50, "late")]
        off = _of(judged, Action.DISCONNECT)
        assert [order.minute for order in off] == pytest.approx([35, 80])
        assert [order.reason for order in off] == [
            "the next cylinder is not on yet",
            "no oxygen is left here that could be connected",
        ]
        assert _served(judged) == [(5, 35), (50, 80)]


def test_two_changes_at_once_with_one_person() -> None:
    """One is made a little before the cylinder is empty or a little after: never two at a time."""
    made = scenario(
        horizon=60,
        ladders=[HIGH],
        patients=[patients(2, "l")],
        lots=[cylinders(4, 300, change=3)],
        regulators=[regulator(2)],
        staff={"a": 1},
    )
    judged = plan(made)
    busy = sorted((order.begin, order.minute) for order in _of(judged, Action.CHANGE))
    assert len(busy) == 4
    assert all(one[1] <= two[0] + 1e-6 for one, two in pairwise(busy))
    assert judged.verdict.weighted >= 120 - 3 - 6 - 3 - 1e-6  # both wait for the first change, one for the second


def test_changes_that_fall_due_together_are_begun_in_time() -> None:
    """Two cylinders that would be empty at the same moment, one person: the first is changed before, and nobody waits.

    Both are opened before the patients come at T+10 and would last to T+30.
    """
    made = scenario(
        horizon=48,
        ladders=[HIGH],
        patients=[patients(2, "l", arrive=10)],
        lots=[cylinders(4, 200, change=4)],
        regulators=[regulator(2)],
        staff={"a": 1},
    )
    judged = plan(made)
    assert judged.verdict.weighted == pytest.approx(2 * 38)
    changes = [(order.begin, order.minute) for order in _of(judged, Action.CHANGE)]
    assert all(one[1] <= two[0] + 1e-6 for one, two in pairwise(changes))


def test_a_queue_for_one_person_is_what_the_bound_does_not_know() -> None:
    """Three patients for six minutes, one person, two minutes a change: the bound is 18 patient-minutes, the best is 6.

    The programme counts a change as its gas is drawn, so three changes in six minutes serve all three throughout.
    But a change comes before its gas: the first is done at T+2, the next at T+4, the third at T+6.  Whoever is
    served has a cylinder of their own by then, so at most 0 + 1 + 2 patients x 2 min are: no orders do better.
    """
    made = scenario(
        horizon=6,
        ladders=[HIGH],
        patients=[patients(3, "l")],
        lots=[cylinders(3, 60, change=2)],
        regulators=[regulator(3)],
        staff={"a": 1},
    )
    planned = plan_all(made, 2.0)
    assert planned.bound == pytest.approx(18)
    assert planned.this.verdict.validity
    assert planned.this.verdict.weighted == pytest.approx(6)


def test_concentrators_come_first() -> None:
    """Gas that is made costs nothing: the cylinder stays full."""
    made = scenario(
        horizon=60,
        ladders=[LOW],
        patients=[patients(1, "l")],
        lots=[cylinders(1, 300, key="cyl"), concentrators(1)],
        regulators=[regulator(1)],
    )
    judged = plan(made)
    assert {each.supply for each in judged.verdict.services} == {"conc"}
    assert _of(judged, Action.CHANGE) == []
    assert judged.verdict.left == {"cyl": 300}


def _power_cut(cylinder_count: int) -> Judged:
    made = scenario(
        horizon=60,
        ladders=[LOW],
        patients=[patients(1, "l")],
        lots=[cylinders(cylinder_count, 300, key="cyl"), concentrators(1)],
        regulators=[regulator(1)],
    )
    return plan(dataclasses.replace(made, power=(PowerSupply("generator", "a", 500, 0, 30),)))


def test_after_a_power_cut_patients_get_cylinders() -> None:
    """Who was on the concentrator goes on a cylinder in the same minute."""
    judged = _power_cut(1)
    assert [(each.supply, each.start, each.end) for each in judged.verdict.services] == [
        ("conc", 0, 30),
        ("cyl", 30, 60),
    ]


def test_after_a_power_cut_without_cylinders_patients_come_off() -> None:
    """At the moment of the cut, with a reason."""
    judged = _power_cut(0)
    (off,) = _of(judged, Action.DISCONNECT)
    assert off.minute == 30
    assert off.reason
    assert _served(judged) == [(0, 30)]


def test_the_reserve_is_left() -> None:
    """Half of the gas is not touched, and the patient comes off with a reason."""
    made = scenario(
        horizon=60,
        ladders=[HIGH],
        patients=[patients(1, "l")],
        lots=[cylinders(1, 600)],
        regulators=[regulator(1)],
        reserve={"a": 300},
    )
    judged = plan(made)
    assert judged.verdict.left["lot"] == pytest.approx(300)
    assert judged.verdict.weighted == pytest.approx(30)
    assert all(order.reason for order in _of(judged, Action.DISCONNECT))


def _one_mask(*, single_use: bool) -> Scenario:
    """Return two patients one after the other, and one mask."""
    return scenario(
        horizon=60,
        ladders=[ladder("l", ("mask", 10, 1.0), single_use=single_use)],
        patients=[patients(1, "l", stay=30), dataclasses.replace(patients(1, "l", arrive=30), label="second")],
        lots=[cylinders(1, 900)],
        regulators=[regulator(1)],
        devices={("a", "mask"): 1},
    )


def test_a_single_use_device_serves_one_patient() -> None:
    """The second patient finds none, though the outlet is free and gas is left."""
    judged = plan(_one_mask(single_use=True))
    assert len({each.patient for each in judged.verdict.services}) == 1
    assert judged.verdict.weighted == pytest.approx(30)


def test_a_reusable_device_comes_back_in_the_same_minute() -> None:
    """The second patient is connected when the first one leaves."""
    judged = plan(_one_mask(single_use=False))
    assert [(each.patient, each.start, each.end) for each in judged.verdict.services] == [
        ("batch", 0, 30),
        ("second", 30, 60),
    ]


def test_who_moves_takes_a_single_use_device_along() -> None:
    """There is no mask at the second area: the patient's own is used on."""
    made = scenario(
        horizon=60,
        ladders=[ladder("l", ("mask", 10, 1.0), single_use=True)],
        patients=[patients(1, "l", then=(Spell(30, "b", "delayed", "l"),))],
        lots=[cylinders(1, 300), cylinders(1, 300, area="b", key="other")],
        regulators=[regulator(1), regulator(1, area="b")],
        devices={("a", "mask"): 1, ("b", "mask"): 0},
        areas=("a", "b"),
    )
    judged = plan(made)
    assert [(each.area, each.supply, each.start, each.end) for each in judged.verdict.services] == [
        ("a", "lot", 0, 30),
        ("b", "other", 30, 60),
    ]


def test_who_is_on_oxygen_stays_on_it() -> None:
    """Of equal patients the later one waits: nobody is taken off for somebody alike."""
    made = scenario(
        horizon=60,
        ladders=[HIGH],
        patients=[patients(1, "l"), dataclasses.replace(patients(1, "l", arrive=10), label="later")],
        lots=[cylinders(1, 600)],
        regulators=[regulator(1)],
    )
    judged = plan(made)
    assert [(each.patient, each.start, each.end) for each in judged.verdict.services] == [("batch", 0, 60)]


def test_nothing_to_give_is_no_order() -> None:
    """Without gas there is nothing to write down, and that is VALID."""
    made = scenario(horizon=60, ladders=[HIGH], patients=[patients(2, "l")], lots=[cylinders(1, 0)])
    assert plan(made).plan.orders == ()


def test_who_has_plenty_is_stepped_down_for_who_comes() -> None:
    """The manifold passes 10 L/min in all: from 30 min on each of the two gets half, and the order says why."""
    made = scenario(
        horizon=60,
        ladders=[ladder("l", ("mask", 10, 1.0), ("mask", 5, 0.7))],
        patients=[patients(1, "l"), dataclasses.replace(patients(1, "l", arrive=30), label="later")],
        lots=[cylinders(1, 900)],
        regulators=[regulator(1, outlets=outlet_set("manifold", outlets=2, total=10))],
    )
    judged = plan(made)
    (down,) = _of(judged, Action.STEP_DOWN)
    assert (down.minute, down.patient, down.flow_lpm) == (30, "batch", 5)
    assert down.reason
    assert judged.verdict.weighted == pytest.approx(30 + 2 * 30 * 0.7)
