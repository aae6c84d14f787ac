"""Losses known in closed form, each at its cause; they sum to the bound less what was reached."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import pytest
from incidents import cylinders, device, ladder
from small_logs import (
    NEED,
    change,
    connect,
    disconnect,
    incident,
    one_regulator,
    patient,
    reset,
    with_cylinders,
)

from mci.catalogue.model import Rung
from mci.demand.groups import count_demand
from mci.drills.debriefed import Cause
from mci.drills.losses import cause_table, divide, loss_table, stretch_table
from mci.drills.stretches import Stretch, find_stretches
from mci.drills.symptoms import Symptom, find_symptoms
from mci.lp.allocate import allocate
from mci.replay.judge import replay
from mci.settings import Settings

if TYPE_CHECKING:
    import pandas as pd

    from mci.plan.orders import Order
    from mci.scenario.model import Scenario


def _causes(made: Scenario, *orders: Order, told: Scenario | None = None) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return losses and causes, having held the law of sums."""
    settings = Settings()
    bound = allocate(made, count_demand(made), settings).outcome.bound
    verdict = replay(made, orders)
    stretches = find_stretches(made, orders, verdict, bound, settings)
    symptoms = find_symptoms(made, told or made, orders)
    losses = loss_table(made, stretches, symptoms)
    causes = cause_table(losses, symptoms)
    whole = bound - verdict.weighted
    assert all(stretch.lost >= 0 for stretch in stretches)
    for table in (stretch_table(stretches), losses, causes):
        assert table["lost"].sum() == pytest.approx(whole, rel=1e-9, abs=1e-9)
    return losses, causes


def _lost(causes: pd.DataFrame) -> dict[Cause, float]:
    """Return what was lost to each cause, without what is nothing."""
    pairs = zip(causes["cause"], causes["lost"], strict=True)
    return {Cause(cause): pytest.approx(lost, abs=1e-6) for cause, lost in pairs if abs(lost) > 1e-6}


def _minutes(causes: pd.DataFrame) -> dict[Cause, float]:
    return {Cause(c): pytest.approx(m) for c, m in zip(causes["cause"], causes["patient_min"], strict=True) if m}


@pytest.mark.parametrize(("category", "weight"), [("immediate", 1.0), ("delayed", 0.5)])
@pytest.mark.parametrize("late", [1.0, 7.5])
def test_connected_late_loses_the_minutes_by_weight(category: str, weight: float, late: float) -> None:
    """A free outlet, and nobody connects the patient who came at 10: late recognition."""
    made = incident(patient("P1", category=category, arrive=10))
    losses, causes = _causes(made, connect(10 + late, "P1"))
    assert _lost(causes) == {Cause.RECOGNITION: late * weight}
    assert _minutes(causes) == {Cause.RECOGNITION: late}
    (row,) = losses.itertuples()
    assert (row.start_min, row.end_min, row.category) == (10, 10 + late, category)


def test_never_connected_loses_all() -> None:
    """Nothing was done at all."""
    assert _lost(_causes(incident())[1]) == {Cause.RECOGNITION: 40}


def test_taken_off_for_a_while_is_idle_oxygen() -> None:
    """Off from 12 to 17 while the outlet is free."""
    _, causes = _causes(incident(), connect(0, "P1"), disconnect(12, "P1"), connect(17, "P1"))
    assert _lost(causes) == {Cause.IDLE_OXYGEN: 5}


def test_an_empty_cylinder_left_on() -> None:
    """100 L last from 0 to 10; changed at 16."""
    made = incident(lots=with_cylinders(4, 100), regulators=one_regulator())
    orders = [change(0, "lot 1"), connect(0, "P1", supply="lot 1", tool="a-reg"), change(16, "lot 2")]
    orders += [change(26, "lot 3"), change(36, "lot 4")]
    _, causes = _causes(made, *orders)
    assert _lost(causes) == {Cause.EMPTY: 6}
    assert _minutes(causes) == {Cause.EMPTY: 6}


def test_twice_the_flow_is_lost_where_it_is_drawn() -> None:
    """200 L are what 20 minutes need; at 15 instead of 10 L/min to the end a third is gone, and lost by 13:20."""
    made = incident(lots=with_cylinders(1, 200), regulators=one_regulator(), horizon=20)
    losses, causes = _causes(made, change(0, "lot"), connect(0, "P1", 15, "lot", "a-reg"))
    assert _lost(causes) == {Cause.HIGH_FLOW: 20 / 3}
    assert losses["end_min"].max() == pytest.approx(40 / 3)
    assert _minutes(causes) == {Cause.HIGH_FLOW: 40 / 3, Cause.EMPTY: 20 / 3}


def test_an_idle_regulator() -> None:
    """The second regulator and cylinder are fitted only at 9."""
    made = incident(
        patient("P1"), patient("P2", category="delayed"), lots=with_cylinders(2, 400), regulators=one_regulator(2)
    )
    first = [change(0, "lot 1", "a-reg 1"), connect(0, "P1", supply="lot 1", tool="a-reg 1")]
    second = [change(9, "lot 2", "a-reg 2"), connect(9, "P2", supply="lot 2", tool="a-reg 2")]
    _, causes = _causes(made, *first, *second)
    assert _lost(causes) == {Cause.IDLE_REGULATOR: 4.5}


def test_nobody_to_fit_it_is_no_idle_regulator() -> None:
    """The only one who changes cylinders is at another change from 2 to 8: nothing that lies idle could be brought in.

    With any number of people it could: from 0 to 2, and from 2 to 8; then the regulator is being fitted.
    """
    made = incident(
        patient("P1"), patient("P2", arrive=2), lots=with_cylinders(3, 400, change_min=2), regulators=one_regulator(2)
    )
    made = dataclasses.replace(made, staff=(dataclasses.replace(made.staff[0], people=1.0),))
    slow = dataclasses.replace(change(8, "lot 3", "a-reg 1"), begin=2.0, by="s-a")
    orders = [
        dataclasses.replace(change(2, "lot 1", "a-reg 1"), begin=0.0, by="s-a"),
        connect(2, "P1", supply="lot 1", tool="a-reg 1"),
        slow,
        dataclasses.replace(change(10, "lot 2", "a-reg 2"), begin=8.0, by="s-a"),
        connect(10, "P2", supply="lot 2", tool="a-reg 2"),
    ]
    _, causes = _causes(made, *orders)
    assert _minutes(causes) == {Cause.SHORTAGE: 2 + 6 + 2}
    both = incident(*made.patients, lots=with_cylinders(3, 400, change_min=2), regulators=one_regulator(2))
    assert _minutes(_causes(both, *orders)[1]) == {Cause.IDLE_REGULATOR: 2 + 6, Cause.SHORTAGE: 2}


def test_below_the_least_flow() -> None:
    """The mask needs 6 L/min, and is at 4 for 8 minutes."""
    mask = dataclasses.replace(device("mask"), min_lpm=6.0)
    need = dataclasses.replace(NEED, rungs=(Rung(mask, 10.0, 1.0, "10 L/min"),))
    made = dataclasses.replace(incident(), ladders={"need": need})
    _, causes = _causes(made, connect(0, "P1", 4), reset(8, "P1", 10))
    assert _lost(causes) == {Cause.LEAST_FLOW: 8}


def test_a_lower_rung_while_the_upper_was_free() -> None:
    """Five minutes at half the credit, though the outlet passes the full flow."""
    rungs = ladder("need", ("mask", 10.0, 1.0), ("mask", 4.0, 0.5))
    made = dataclasses.replace(incident(), ladders={"need": rungs})
    _, causes = _causes(made, connect(0, "P1", 4), reset(5, "P1", 10))
    assert _lost(causes) == {Cause.IDLE_OXYGEN: 2.5}


def test_the_wrong_one_first_is_how_it_was_shared() -> None:
    """One outlet: the Delayed patient has it for 6 minutes, and the Immediate one waits: 6 x (1 - 0.5) are lost.

    Seen are 6 weighted minutes missing (nothing left to give), and 3 that somebody less urgent had.
    """
    made = incident(
        patient("P1"), patient("P2", category="delayed"), lots=with_cylinders(1, 600), regulators=one_regulator()
    )
    orders = [change(0, "lot"), connect(0, "P2", supply="lot", tool="a-reg"), disconnect(6, "P2")]
    losses, causes = _causes(made, *orders, connect(6, "P1", supply="lot", tool="a-reg"))
    assert _lost(causes) == {Cause.SHORTAGE: 2.0, Cause.HIGH_FLOW: 1.0}
    of = {(row.cause, row.category) for row in losses.itertuples() if row.lost > 1e-6}
    assert of == {(Cause.SHORTAGE, "immediate"), (Cause.HIGH_FLOW, "delayed")}


def test_a_late_delivery_is_seen_and_costs_nothing_that_was_possible() -> None:
    """Told for 10, there at 18: nobody could have given oxygen before, so nothing is lost; 8 minutes are seen."""
    told = incident(lots=[cylinders(1, 400, arrive=10)], regulators=one_regulator())
    made = dataclasses.replace(told, lots=(dataclasses.replace(told.lots[0], available_from=18.0),))
    _, causes = _causes(made, change(18, "lot"), connect(18, "P1", supply="lot", tool="a-reg"), told=told)
    assert _lost(causes) == {}
    assert _minutes(causes) == {Cause.SHORTAGE: 10, Cause.DELIVERY: 8}


def test_the_best_loses_nothing() -> None:
    """Connected on arrival: no stretch, no cause."""
    losses, causes = _causes(incident(patient("P1", arrive=3)), connect(3, "P1"))
    assert losses["lost"].abs().sum() == pytest.approx(0, abs=1e-9)
    assert _lost(causes) == {}


def test_a_loss_is_divided_by_what_was_seen() -> None:
    """By weighted minutes that overlap the stretch; of what lies outside nothing counts."""
    made = incident()
    symptoms = (
        Symptom(0, 5, Cause.EMPTY, "P1", "immediate", 1.0),  # 3 in the stretch
        Symptom(4, 20, Cause.SHORTAGE, "P2", "delayed", 0.5),  # 3
        Symptom(10, 20, Cause.OTHER, "P3", "minimal", 9.0),
    )
    parts = divide(made, Stretch(2, 10, 50, 44), symptoms)
    assert parts == {
        (Cause.EMPTY, "immediate"): pytest.approx(3.0),
        (Cause.SHORTAGE, "delayed"): pytest.approx(3.0),
    }


def test_waiting_for_what_is_late_takes_no_part_in_a_loss() -> None:
    """Beside another cause it has none; alone, the loss lies in how things were shared."""
    late = Symptom(0, 20, Cause.DELIVERY, "P1", "immediate", 1.0)
    empty = Symptom(0, 20, Cause.EMPTY, "P2", "delayed", 0.5)
    parts = divide(incident(), Stretch(2, 10, 50, 44), (late, empty))
    assert parts == {(Cause.EMPTY, "delayed"): pytest.approx(6.0)}
    alone = divide(incident(), Stretch(2, 10, 50, 44), (late,))
    assert alone == {(Cause.SHORTAGE, "immediate"): pytest.approx(6.0)}


def test_a_loss_where_nothing_was_seen_is_not_placed() -> None:
    """It goes to the categories by weighted need: 8 minutes at 1 and at 0.5; where nobody is there, by all need."""
    made = incident(patient("P1"), patient("P2", category="delayed"), patient("P3", arrive=20))
    expected = {(Cause.OTHER, "immediate"): pytest.approx(4.0), (Cause.OTHER, "delayed"): pytest.approx(2.0)}
    assert divide(made, Stretch(2, 10, 50, 44), ()) == expected
    alone = incident(patient("P3", arrive=20))
    assert divide(alone, Stretch(2, 10, 50, 44), ()) == {(Cause.OTHER, "immediate"): pytest.approx(6.0)}
