"""Decisions that would have gained most: proven again from outside, said in words with marks."""

from __future__ import annotations

import pytest
from small_logs import change, connect, disconnect, incident, one_regulator, patient, with_cylinders

from mci.demand.groups import count_demand
from mci.dispatch.resume import best_from, orders_from
from mci.drills.debriefed import Cause, Missed
from mci.drills.missed import concerning, find_missed, waits
from mci.drills.stretches import Stretch, find_stretches
from mci.drills.symptoms import Symptom, find_symptoms
from mci.lp.allocate import allocate
from mci.plan.orders import Action, Order, Plan
from mci.replay.judge import replay, stand_at
from mci.replay.judged import Judged
from mci.scenario.model import Scenario
from mci.settings import Settings


def _judged(made: Scenario, orders: tuple[Order, ...], name: str) -> Judged:
    return Judged(Plan(name, orders), replay(made, orders))


def _missed(made: Scenario, orders: tuple[Order, ...], best: tuple[Order, ...]) -> tuple[Missed, ...]:
    settings = Settings()
    team = _judged(made, orders, "team")
    bound = allocate(made, count_demand(made), settings).outcome.bound
    stretches = find_stretches(made, orders, team.verdict, bound, settings)
    symptoms = find_symptoms(made, made, orders)
    return find_missed(made, team, _judged(made, best, "best"), stretches, symptoms, settings)


LATE = incident(patient("P1"), patient("P2", category="delayed", arrive=4))
ORDERS = (connect(0, "P1"), disconnect(10, "P1"), connect(18, "P1"), connect(27, "P2"))
BEST = (connect(0, "P1"), connect(4, "P2"))


def test_worth_is_what_solving_again_says() -> None:
    """P2 waits from 4 to 27, P1 is off from 10 to 18: what is possible is asked again from outside."""
    found = _missed(LATE, ORDERS, BEST)
    assert found
    assert [each.worth for each in found] == sorted((each.worth for each in found), reverse=True)
    for each in found:
        ends = [best_from(LATE, stand_at(LATE, ORDERS, at), Settings()) for at in (each.start, each.end)]
        assert each.worth == pytest.approx(ends[0] - ends[1], abs=1e-6)
        reached = []
        for at in (each.start, each.end):
            standing = stand_at(LATE, ORDERS, at)
            later = orders_from(LATE, standing, Settings())
            reached.append(replay(LATE, (*standing.orders, *later)))
        assert each.by_orders == pytest.approx(reached[0].weighted - reached[1].weighted)
        assert each.by_orders == pytest.approx(each.worth, abs=0.05)
        immediate = [float(v.coverage.set_index("category")["credit_min"]["immediate"]) for v in reached]
        assert each.immediate_min == pytest.approx(immediate[0] - immediate[1])


def test_decisions_are_told_with_who_and_what() -> None:
    """The longest wait first: P1 off for 8 min (8.0), in which P2 waits on (4.0)."""
    first = _missed(LATE, ORDERS, BEST)[0]
    assert (first.start, first.end, first.worth) == (10, 18, pytest.approx(12.0))
    assert first.cause is Cause.IDLE_OXYGEN
    assert first.patients == ("P1",)
    assert first.did_rows == (3,)
    assert first.did == (
        "P1 had none or less than prescribed (8.0 patient-min), while an outlet with oxygen was free. "
        "Done for them then: at T+18 connect P1: mask at 10 L/min from S1."
    )
    assert [(each.action, each.patient) for each in first.better_orders] == [
        (Action.CONNECT, "P1"),
        (Action.CONNECT, "P2"),
    ]
    assert first.better == "At T+10 connect P1: mask at 10 L/min from S1."  # P2 is told of where P2 is concerned


def test_the_first_stretch_begins_before_the_first_orders() -> None:
    """Orders of T+0 are part of it, and the best orders are what would have been better."""
    made = incident(lots=with_cylinders(2, 400), regulators=one_regulator(2))
    orders = (change(6, "lot 1", "a-reg 1"), connect(6, "P1", supply="lot 1", tool="a-reg 1"))
    best = (change(0, "lot 1", "a-reg 1"), connect(0, "P1", supply="lot 1", tool="a-reg 1"))
    (only,) = _missed(made, orders, best)
    assert (only.start, only.end, only.worth) == (0, 6, pytest.approx(6))
    assert only.by_orders == pytest.approx(6, abs=0.05)
    assert only.better_orders == best
    assert only.better == "At T+0 put R1 on C1; connect P1: mask at 10 L/min from R1 on C1."
    assert only.did_rows == (1, 2)


def test_orders_of_the_very_beginning_belong_to_the_first_stretch() -> None:
    """P2 is connected at once in the place of P1, who is connected when P2 comes off."""
    made = incident(
        patient("P1"), patient("P2", category="minimal"), lots=with_cylinders(1, 400), regulators=one_regulator()
    )
    tool = {"supply": "lot", "tool": "a-reg"}
    orders = (change(0, "lot"), connect(0, "P2", **tool), disconnect(9, "P2"), connect(9, "P1", **tool))
    (only,) = _missed(made, orders, (change(0, "lot"), connect(0, "P1", **tool)))
    assert only.did_rows == (1, 2, 3, 4)
    assert only.worth == pytest.approx(9 * (1.0 - 0.2))
    later = _missed(LATE, ORDERS, BEST)
    assert [each.did_rows for each in later if each.start == 10] == [(3,)]


def test_three_decisions_at_most() -> None:
    """Five patients, each connected late alone."""
    made = incident(*(patient(f"P{n}", arrive=8.0 * n) for n in range(5)))
    orders = tuple(
        order for n in range(5) for order in (connect(8.0 * n + 1 + n / 2, f"P{n}"), disconnect(8.0 * n + 7, f"P{n}"))
    )
    found = _missed(made, orders, tuple(connect(8.0 * n, f"P{n}") for n in range(5)))
    assert len(found) == 3


def test_no_loss_no_decision() -> None:
    """The best orders have missed nothing."""
    assert _missed(LATE, BEST, BEST) == ()


def _symptom(start: float, end: float, patient_key: str = "P1", cause: Cause = Cause.EMPTY) -> Symptom:
    return Symptom(start, end, cause, patient_key, "immediate", 1.0)


def test_orders_that_concern_somebody() -> None:
    """Their own, and changes of cylinder on what they are on, from before or from then on."""
    earlier = [connect(0, "P1", supply="lot 1", tool="a-reg 1"), connect(0, "P2", supply="lot 2", tool="a-reg 2")]
    orders = [
        change(5, "lot 3", "a-reg 1"),
        change(6, "lot 4", "a-reg 2"),
        change(7, "lot 5", "a-reg 3"),
        connect(7, "P3", supply="lot 5", tool="a-reg 3"),
        disconnect(8, "P2"),
    ]
    assert concerning(orders, earlier, ("P1",)) == (orders[0],)
    assert concerning(orders, earlier, ("P2",)) == (orders[1], orders[4])
    assert concerning(orders, earlier, ("P3",)) == (orders[2], orders[3])
    assert concerning(orders, earlier, ()) == tuple(orders)


def test_one_wait_is_one_decision() -> None:
    """Neighbours with the same cause are one where the same patient waits on, up to 20 minutes in all."""
    three = [Stretch(0, 8, 50, 44), Stretch(8, 16, 44, 40), Stretch(16, 24, 40, 30)]
    same = waits(LATE, three, [_symptom(0, 24)])
    assert [(each.stretch.start, each.stretch.end, each.stretch.lost) for each in same] == [(0, 16, 10), (16, 24, 10)]
    other_patient = waits(LATE, three, [_symptom(0, 8), _symptom(8, 24, "P2")])
    assert [each.stretch.start for each in other_patient] == [0, 8]
    other_cause = waits(LATE, three[:2], [_symptom(0, 8), _symptom(8, 24, cause=Cause.SHORTAGE)])
    assert [(each.stretch.start, each.cause) for each in other_cause] == [(0, Cause.EMPTY), (8, Cause.SHORTAGE)]
    a_break = waits(LATE, three[:2], [_symptom(0, 5), _symptom(12, 16)])
    assert [each.stretch.start for each in a_break] == [0, 8]
