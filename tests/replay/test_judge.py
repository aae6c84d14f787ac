"""Orders that can be carried out: VALID, with every litre, minute and credit accounted for."""

from __future__ import annotations

import dataclasses
import itertools
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from incidents import cylinders, ladder, outlet_set, patients, regulator, scenario
from published import published
from quay import change, connect, incident, off, orders

from mci.catalogue.model import Basis, Cylinder, GasModel, Source
from mci.physics.contents import factor_litres
from mci.plan.orders import Action, Order
from mci.plan.table import orders_text, read_orders
from mci.replay.judge import replay
from mci.replay.verdict import Validity, Verdict
from mci.scenario.model import Lot, Scenario, Spell

MINUTES = {"min": 1, "h": 60, "day": 1440}
RIGHT = [row for row in published("durations") if row["print"] == "right"]


def _lot(row: dict[str, str]) -> Lot:
    """Return one cylinder of a published problem; where it gives a factor, physics must find the litres."""
    if row["content [L]"]:
        return cylinders(1, float(row["content [L]"]))
    gauge, residual, factor = (float(row[name]) for name in ("gauge [psi]", "residual [psi]", "factor [L/psi]"))
    litres = factor_litres(factor, gauge, residual)
    source = Source(row["source"], Basis.VERIFIED)
    kind = Cylinder("X", "", "X", "", None, litres, 21.1, gauge, factor, GasModel.FACTOR, "v", None, 0, None, source)
    wrong = cylinders(1, 1.0)  # litres that nobody should believe
    return dataclasses.replace(wrong, cylinder=kind, gauge_psi=gauge, residual_psi=residual, gas_model=GasModel.FACTOR)


def _one_cylinder(row: dict[str, str], minutes: float) -> Verdict:
    flow = float(row["flow [L/min]"])
    made = scenario(
        horizon=minutes + 10,
        ladders=[ladder("l", ("mask", flow, 1.0))],
        patients=[patients(1, "l")],
        lots=[_lot(row)],
        regulators=[regulator(1, outlets=outlet_set("reg", each=100))],
    )
    return replay(
        made,
        [
            change(5, "lot", "a-reg", ""),
            connect(5, "batch", "mask", flow, "lot", "a-reg"),
            off(5 + minutes, "batch", "the cylinder is at its residual pressure"),
        ],
    )


@pytest.mark.parametrize("row", RIGHT, ids=lambda row: row["id"])
def test_a_cylinder_lasts_as_long_as_published(row: dict[str, str]) -> None:
    """Taken off when the published time is up (less its rounding): VALID; a minute longer: INVALID, from order 2."""
    published_min, rounding = (float(row[name]) * MINUTES[row["unit"]] for name in ("published", "tolerance"))
    assert _one_cylinder(row, published_min - rounding).validity is Validity.VALID
    longer = _one_cylinder(row, published_min + rounding + 1)
    assert [(each.law, each.row) for each in longer.findings] == [("content", 2)]


def test_orders_that_can_be_carried_out_are_valid() -> None:
    """Nothing is found, and the truth value of the verdict says so."""
    verdict = replay(incident(), orders())
    assert verdict.findings == ()
    assert verdict.validity is Validity.VALID
    assert bool(verdict.validity)


def test_litres_left_are_what_was_there_less_flow_times_time() -> None:
    """By hand: 300 L each, less the litres that the orders' comments reckon."""
    left = replay(incident(), orders()).left
    assert left == pytest.approx({"cyl 1": 4, "cyl 2": 8, "cyl 3": 20, "late": 300}, abs=1e-6)


def test_credit_is_integrated_over_time() -> None:
    """By hand: credit x minutes per category, and each minute is at target, below, or without."""
    verdict = replay(incident(), orders())
    table = verdict.coverage.set_index("category")
    immediate = 48 * 1.0 + 8 * 0.4 + 22 * 1.0 + 12 * 0.7 + 24 * 0.4 + 27 * 0.4
    delayed = 25 * 1.0 + 30 * 1.0
    assert table["credit_min"].tolist() == pytest.approx([immediate, delayed, immediate + delayed])
    assert verdict.weighted == pytest.approx(immediate + 0.5 * delayed)
    assert table["patients"].tolist() == [3, 2, 4]  # who changes category counts under both
    assert table["needed_patient_min"].tolist() == pytest.approx([150, 55, 205])
    assert table["at_target_patient_min"].tolist() == pytest.approx([70, 55, 125])
    assert table["without_patient_min"].tolist() == pytest.approx([2 + 2 + 2 + 3, 0, 9])
    parts = table[["at_target_patient_min", "below_target_patient_min", "without_patient_min"]].sum(axis=1)
    assert parts.tolist() == pytest.approx(table["needed_patient_min"].tolist())


def test_holdings_say_what_sat_on_what() -> None:
    """A cylinder that lost its regulator is used again, with what it still held."""
    held = [(each.supply, each.start, each.end, each.litres_before) for each in replay(incident(), orders()).holdings]
    assert [each for each in held if each[0] == "cyl 1"] == [("cyl 1", 2, 22, 300), ("cyl 1", 36, 60, 100)]
    assert ("conc 1", 3, 30, math.inf) in held


def test_a_change_of_need_on_the_same_outlet_is_a_new_service() -> None:
    """Nothing has to be ordered, but the same flow is worth something else from then on."""
    made = scenario(
        horizon=60,
        ladders=[ladder("l", ("mask", 10, 1.0)), ladder("m", ("mask", 15, 1.0), ("mask", 10, 0.5))],
        patients=[patients(1, "l", then=(Spell(20, "a", "delayed", "m"),))],
        lots=[cylinders(1, 900)],
        regulators=[regulator(1)],
    )
    plan = [change(0, "lot", "a-reg", ""), connect(0, "batch", "mask", 10, "lot", "a-reg")]
    verdict = replay(made, plan)
    assert verdict.validity is Validity.VALID
    assert [(each.category, each.credit, each.start, each.end) for each in verdict.services] == [
        ("immediate", 1.0, 0, 20),
        ("delayed", 0.5, 20, 60),
    ]


def test_a_supply_that_runs_dry_serves_until_then() -> None:
    """Credit ends where the gas does, though the patient stays connected, and goes on with the next cylinder."""
    plan = [order for order in orders() if order.supply != "cyl 3"]
    services = replay(incident(), plan).services
    (first,) = [each for each in services if each.patient == "P 1" and each.device == "mask"]
    assert (first.start, first.end) == (2, 32)
    turned_up = Order(40, "a", Action.SET_FLOW, "P 1", "mask", 15)
    after = replay(incident(), [*plan, turned_up]).services
    assert sorted(each.end for each in after if each.device == "mask") == [24, 32, 36]


def test_orders_after_the_horizon_are_not_looked_at() -> None:
    """Whatever they say."""
    assert replay(incident(), [*orders(), off(61, "nobody")]).validity is Validity.VALID


def test_a_new_need_may_be_met_with_less() -> None:
    """Where the need changes, a lower credit is no step-down: it is worth something else from then on."""
    made = scenario(
        horizon=60,
        ladders=[ladder("l", ("mask", 10, 1.0)), ladder("m", ("mask", 10, 0.9), ("mask", 6, 0.5))],
        patients=[patients(1, "l", then=(Spell(20, "a", "delayed", "m"),))],
        lots=[cylinders(1, 900)],
        regulators=[regulator(1)],
    )
    plan = [change(0, "lot", "a-reg", ""), connect(0, "batch", "mask", 10, "lot", "a-reg")]
    less = Order(20, "a", Action.SET_FLOW, "batch", "mask", 6)
    assert replay(made, [*plan, less]).findings == ()
    later = dataclasses.replace(less, minute=21, begin=21)
    assert [each.law for each in replay(made, [*plan, later]).findings] == ["silent"]


def test_moments_that_a_file_cannot_tell_apart_are_one() -> None:
    """A few millionths of a minute early or late are the rounding of a file, in time and in litres."""
    plan = [dataclasses.replace(order, minute=order.minute + (-1) ** n * 4e-6) for n, order in enumerate(orders())]
    assert replay(incident(reserve={}), plan).findings == ()


def test_no_orders_are_valid_and_worth_nothing() -> None:
    """Doing nothing can always be carried out."""
    verdict = replay(incident(), [])
    assert (verdict.validity, verdict.weighted) == (Validity.VALID, 0)
    assert verdict.coverage["without_patient_min"].iloc[-1] == 205


def test_both_cylinders_may_change_places_in_one_minute() -> None:
    """Orders of one minute take effect together: two regulators swap their cylinders."""
    plan = [*orders()[:4], change(10, "cyl 2", "a-reg 1", "s-a 1"), change(10, "cyl 1", "a-reg 2", "s-a 2")]
    off_again = [off(20, who, "enough") for who in ("P 1", "P 2")]
    assert replay(incident(reserve={}), [*plan, *off_again]).findings == ()


def test_an_idle_regulator_gives_way() -> None:
    """A regulator that serves nobody comes off when another goes on its cylinder."""
    plan = [change(2, "cyl 1", "a-reg 1", "s-a 1"), change(4, "cyl 1", "a-reg 2", "s-a 1")]
    verdict = replay(incident(), [*plan, connect(4, "P 1", "mask", 10, "cyl 1", "a-reg 2")])
    assert [(each.law, each.minute) for each in verdict.findings] == [("content", 34)]
    assert [(each.regulator, each.start, each.end) for each in verdict.holdings] == [
        ("a-reg 1", 2, 4),
        ("a-reg 2", 4, 60),
    ]


@given(st.permutations(orders()))
def test_the_order_of_rows_does_not_matter(rows: list[Order]) -> None:
    """Orders are judged in the order of time, not of the file."""
    assert replay(incident(), rows).weighted == replay(incident(), orders()).weighted
    assert replay(incident(), rows).findings == ()


@pytest.mark.parametrize("without", [(), (6,), (1, 14)])
def test_a_file_of_orders_gets_the_same_verdict(tmp_path: Path, without: tuple[int, ...]) -> None:
    """Written and read back, VALID or not."""
    plan = [order for number, order in enumerate(orders()) if number not in without]
    file = tmp_path / "orders.csv"
    file.write_text(orders_text(plan, None), encoding="utf-8", newline="")
    here, there = replay(incident(), plan), replay(incident(), read_orders(file))
    assert (here.validity, here.findings, here.weighted) == (there.validity, there.findings, there.weighted)


def _any_orders(made: Scenario) -> st.SearchStrategy[list[Order]]:
    """Return any orders whatsoever with names of the incident, and a few that do not exist."""
    supplies = ["cyl 1", "cyl 2", "cyl 3", "late", "conc 1", "conc 2", "pipe", "", "nothing"]
    return st.lists(
        st.builds(
            Order,
            minute=st.integers(0, 124).map(lambda half: half / 2),
            area=st.sampled_from(["a", "a", "b", "c"]),
            action=st.sampled_from(Action),
            patient=st.sampled_from(["P 1", "P 2", "M", "L", "nobody"]),
            device=st.sampled_from(["mask", "cannula", "", "nothing"]),
            flow_lpm=st.sampled_from([0.0, 2.0, 4.0, 6.0, 10.0, 200.0]),
            supply=st.sampled_from(supplies),
            regulator=st.sampled_from([each.key for each in made.regulators] + ["a-reg 1", "a-reg 2", ""]),
            begin=st.integers(-1, 60).map(float),
            by=st.sampled_from(["", "s-a 1", "s-a 2", "anyone", "nobody"]),
            reason=st.sampled_from(["", "why not"]),
        ),
        max_size=40,
    )


@given(_any_orders(incident()))
def test_whatever_the_orders_say_no_litre_is_lost_or_made(plan: list[Order]) -> None:
    """Start less left is flow times time of the services, to 1e-6 L, and nobody is served twice at once."""
    verdict = replay(incident(), plan)
    for supply, left in verdict.left.items():
        drawn = sum(each.flow_lpm * (each.end - each.start) for each in verdict.services if each.supply == supply)
        assert 300 - left == pytest.approx(drawn, abs=1e-6)
        assert left >= 0
    for patient in {each.patient for each in verdict.services}:
        mine = [each for each in verdict.services if each.patient == patient]
        assert all(a.end <= b.start for a, b in itertools.pairwise(mine))
    totals = verdict.coverage.iloc[-1]
    assert totals["credit_min"] <= totals["needed_patient_min"] + 1e-9
    assert all(0 <= each.row <= len(plan) for each in verdict.findings)
