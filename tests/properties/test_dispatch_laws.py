"""Laws of orders that hold for every incident: carried out on paper by the judge, they are VALID."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from benchmarks.scarce import scarce
from common import repeatable
from hypothesis import given
from hypothesis import strategies as st
from planned import Planned, litres_at_start, litres_breathed, plan_all
from random_incidents import incidents

from mci.plan.orders import Action
from mci.plan.table import orders_text, read_orders
from mci.replay.judge import replay
from mci.scenario.model import Scenario

#: Two sums over the same minutes differ by rounding only.
SAME = 1e-6
SEEDS = st.integers(0, 10**9)


def _keeps_every_law(incident: Scenario, planned: Planned) -> None:
    start = litres_at_start(incident)
    for judged in planned.all:
        verdict = judged.verdict
        assert verdict.validity, (judged.name, verdict.findings[:1])
        assert 0 <= verdict.weighted <= planned.bound * (1 + SAME) + SAME
        drawn = sum(start.values()) - sum(verdict.left.values())
        assert drawn == pytest.approx(litres_breathed(incident, verdict), rel=SAME, abs=SAME)
        for order in judged.plan.orders:
            assert order.reason or order.action not in (Action.STEP_DOWN, Action.DISCONNECT), order
            assert order.by or order.action is not Action.CHANGE or order.begin == order.minute, order


@repeatable(350)
@given(incidents(memory=True))
def test_orders_are_valid_and_within_the_bound(incident: Scenario) -> None:
    """Ours and usual practice: VALID, at most the bound, every litre that is gone breathed, nobody lowered silently."""
    _keeps_every_law(incident, plan_all(incident))


@repeatable(300)
@given(incidents(memory=False))
def test_orders_are_valid_where_devices_come_back(incident: Scenario) -> None:
    """The same with reusable devices that may run out."""
    _keeps_every_law(incident, plan_all(incident))


@repeatable(6)
@given(SEEDS)
def test_orders_are_valid_where_much_is_scarce(seed: int) -> None:
    """The same for 15 to 60 patients, outlets for a quarter to half of them, and cylinders changed all the time."""
    incident = scarce(seed)
    _keeps_every_law(incident, plan_all(incident))


@repeatable(100)
@given(incidents(memory=True))
def test_the_same_incident_gives_the_same_orders(incident: Scenario) -> None:
    """Nothing depends on chance or on what was planned before."""
    assert [each.plan for each in plan_all(incident).all] == [each.plan for each in plan_all(incident).all]


@repeatable(250)
@given(incidents(memory=True))
def test_orders_come_back_from_a_file(incident: Scenario) -> None:
    """Written and read, they get the same verdict: the moments of orders survive ten digits."""
    for judged in plan_all(incident).all:
        if not judged.plan.orders:  # a file without orders is refused
            continue
        with tempfile.TemporaryDirectory() as folder:
            file = Path(folder) / "orders.csv"
            file.write_text(orders_text(judged.plan.orders, incident.start), encoding="utf-8", newline="")
            orders = read_orders(file)
        verdict = replay(incident, orders)
        assert verdict.validity, (judged.name, verdict.findings[:1])
        assert verdict.weighted == pytest.approx(judged.verdict.weighted, rel=SAME, abs=SAME)
        assert [(each.action, each.patient, each.supply, each.regulator, each.by) for each in orders] == [
            (each.action, each.patient, each.supply, each.regulator, each.by) for each in judged.plan.orders
        ]
