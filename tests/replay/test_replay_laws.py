"""Every law made to fire: valid orders with one thing wrong, and the row and the words of the first offence."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable

import pytest
from incidents import MADE_UP, concentrators, cylinders, ladder, patients, piped, regulator, scenario
from quay import change, connect, incident, off, orders, other

from mci.catalogue.load import load_catalogue
from mci.catalogue.model import Basis, Cylinder, DrawRule, GasModel, Ladder, OutletSet, Rung, Source
from mci.catalogue.rungs import make_rung
from mci.plan.orders import Action, Order
from mci.plan.things import ANYONE
from mci.replay.judge import replay
from mci.replay.laws_order import ORDER_LAWS
from mci.replay.verdict import Finding, Validity
from mci.scenario.model import PowerSupply, Scenario, StaffShift

Mutation = Callable[[list[Order]], list[Order]]


def edit(row: int, **changes: object) -> Mutation:
    """Change one order."""
    return lambda plan: [dataclasses.replace(o, **changes) if n == row else o for n, o in enumerate(plan, 1)]


def drop(*rows: int) -> Mutation:
    """Leave orders out."""
    return lambda plan: [order for number, order in enumerate(plan, 1) if number not in rows]


def double(row: int) -> Mutation:
    """Write an order twice."""
    return lambda plan: [*plan[:row], *plan[row - 1 :]]


def add(*more: Order) -> Mutation:
    """Write further orders."""
    return lambda plan: [*plan, *more]


#: What is done to the orders, the law that it breaks, the row that is named, and words of the reason.
MUTATIONS: dict[str, tuple[Mutation, str, int, str]] = {
    "unknown patient": (edit(4, patient="P 3"), "known", 4, "no patient 'P 3'"),
    "no patient": (edit(4, patient=""), "known", 4, "no patient is named"),
    "unknown device": (edit(4, device="hose"), "known", 4, "no device 'hose'"),
    "no device": (edit(4, device=""), "known", 4, "no device is named"),
    "unknown supply": (edit(2, supply="cyl 9"), "known", 2, "no supply 'cyl 9'"),
    "unknown regulator": (edit(2, regulator="a-reg 9"), "known", 2, "no regulator 'a-reg 9'"),
    "unknown area": (edit(2, area="z"), "known", 2, "no area 'z'"),
    "endless flow": (edit(4, flow_lpm=float("inf")), "known", 4, "a flow of inf"),
    "connected before arrival": (edit(6, minute=4, begin=4), "present", 6, "L is not there at T+4 min"),
    "connected elsewhere": (edit(11, area="a"), "present", 11, "M is at b at T+30 min, not at a"),
    "treated elsewhere": (edit(8, area="b"), "present", 8, "P 2 is at a"),
    "disconnected elsewhere": (edit(9, area="b"), "present", 9, "L is on oxygen at a, not at b"),
    "disconnected too late": (edit(9, minute=35, begin=35), "present", 11, "the order comes at T+35 min"),
    "not disconnected when leaving": (drop(9), "present", 6, "L leaves a at T+30 min"),
    "not disconnected when moving": (drop(10), "one device", 10, "M is still on cannula at a"),
    "connected twice": (double(4), "one device", 5, "P 2 is still on mask at a"),
    "disconnected twice": (double(14), "one device", 15, "P 1 is not on oxygen"),
    "never connected": (drop(15), "one device", 15, "P 1 is not on oxygen"),
    "no flow": (edit(4, flow_lpm=0), "one device", 4, "a flow above 0 L/min"),
    "flow out of range": (edit(4, flow_lpm=120), "range", 4, "mask takes 0 to 100 L/min of oxygen, not 120 L/min"),
    "flow raised": (edit(3, flow_lpm=12), "content", 7, "cyl 3 is down to its residual pressure at T+47"),
    "flow of an outlet": (edit(3, flow_lpm=18), "outlets", 3, "an outlet of a-reg 1 passes 15 L/min, not 18 L/min"),
    "two on one outlet": (edit(6, supply="conc 1"), "outlets", 6, "conc 1 has 1 flow outlet, not 2"),
    "flow of a machine": (edit(16, flow_lpm=6), "outlets", 16, "passes 5 L/min, not 6 L/min"),
    "valve": (edit(2, regulator="a-odd"), "fits", 2, "a-odd fits w, but the valve of cyl 2 is v"),
    "outlets of its own": (edit(5, regulator="a-odd"), "fits", 5, "conc 1 has outlets of its own"),
    "supply elsewhere": (edit(11, supply="conc 1"), "fits", 11, "conc 1 is at a, not at b"),
    "regulator elsewhere": (edit(2, area="b", by="s-b"), "fits", 2, "is at a, not at b"),
    "cylinder used twice": (edit(2, supply="cyl 1"), "holds", 2, "cyl 1 has a-reg 1 and a-reg 2 on it at once"),
    "regulator used twice": (edit(2, regulator="a-reg 1"), "holds", 3, "a-reg 1 is on cyl 2, not on cyl 1"),
    "cylinder never opened": (drop(2), "holds", 3, "a-reg 2 is on no supply"),
    "nothing on the cylinder": (edit(4, supply="cyl 3", regulator=""), "holds", 4, "cyl 3 is not in service"),
    "put on twice": (double(2), "holds", 3, "a-reg 2 is already on cyl 2"),
    "changed twice": (add(change(12, "cyl 1", "a-reg 1", "s-a 1")), "holds", 7, "a-reg 1 is already on cyl 1"),
    "wrong outlet": (edit(16, supply="conc 2"), "holds", 16, "P 1 is on conc 1, not on conc 2"),
    "wrong regulator": (edit(8, regulator="a-reg 1"), "holds", 8, "P 2 is on a-reg 2, not on a-reg 1"),
    "change forgotten": (drop(7), "content", 3, "300.0 L at T+2 min last 30.00 min at 10 L/min"),
    "change too late": (edit(7, minute=33, begin=31), "content", 3, "at T+32 min"),
    "step-down forgotten": (drop(8), "content", 4, "cyl 2 is down to its residual pressure at T+32 min"),
    "disconnected a little late": (edit(14, minute=52.1, begin=52.1), "content", 7, "cyl 3 is down"),
    "before the delivery": (edit(7, supply="late", minute=21, begin=19), "window", 7, "there from T+20 min"),
    "in two places": (
        edit(2, by="s-a 1"),
        "hands",
        2,
        "s-a 1 cannot begin at T+0 min: order 1 keeps them busy from T+0 min to T+2 min",
    ),
    "too quick": (edit(7, begin=21), "hands", 7, "takes 2 min, not 1.00 min"),
    "from another area": (edit(7, by="s-b"), "hands", 7, "s-b changes no cylinders at a"),
    "nobody's name": (edit(7, by="Sam"), "hands", 7, "Sam changes no cylinders at a"),
    "anyone where hands are counted": (edit(7, by=ANYONE), "hands", 7, "nobody at a is free"),
    "no time before the start": (edit(1, minute=1, begin=1), "window", 1, "not at T+-1 min"),
    "step-down without a reason": (edit(8, reason=""), "silent", 8, "no reason is given for the step-down of P 2"),
    "withdrawal without a reason": (edit(14, reason=""), "silent", 14, "who stays until T+60 min"),
    "lowered by another name": (edit(8, action=Action.SET_FLOW), "silent", 8, "credit of P 2 from 1 to 0.7"),
    "lowered by a move": (edit(17, device="mask", flow_lpm=4), "silent", 17, "credit of P 1 from 0.4 to 0"),
}


def first(verdict_of: Scenario, plan: list[Order]) -> Finding:
    """Return the first offence of orders that must be INVALID."""
    verdict = replay(verdict_of, plan)
    assert verdict.validity is Validity.INVALID
    assert not verdict.validity
    return verdict.findings[0]


@pytest.mark.parametrize("name", MUTATIONS)
def test_one_thing_wrong_is_found_and_named(name: str) -> None:
    """The first offence names the law, the row and the reason."""
    mutate, law, row, words = MUTATIONS[name]
    found = first(incident(), mutate(orders()))
    assert (found.law, found.row) == (law, row)
    assert words in found.reason


@pytest.mark.parametrize("name", [name for name, case in MUTATIONS.items() if case[1] != "content"])
def test_one_thing_wrong_is_not_told_many_times(name: str) -> None:
    """What only follows from the first offence is mostly not told: four findings at most."""
    assert len(replay(incident(), MUTATIONS[name][0](orders())).findings) <= 4


#: Less there than the orders need.
SHORT: dict[str, tuple[dict[str, object], str, int, str]] = {
    "masks": ({("a", "mask"): 1}, "devices", 4, "2 mask handed out at a, where 1 have come"),
    "cannulas": ({("a", "cannula"): 3}, "devices", 15, "4 cannula handed out at a, where 3 have come"),
}


@pytest.mark.parametrize("name", SHORT)
def test_single_use_devices_run_out(name: str) -> None:
    """Each patient who is handed one owns it, also after a move; the next one has none."""
    stock, law, row, words = SHORT[name]
    made = incident()
    fewer = [dataclasses.replace(d, quantity=stock.get((d.area, d.device), d.quantity)) for d in made.devices]
    found = first(dataclasses.replace(made, devices=tuple(fewer)), orders())
    assert (found.law, found.row) == (law, row)
    assert words in found.reason


def test_devices_that_come_later_are_not_there_before() -> None:
    """The stock counts what has come by then."""
    made = incident()
    later = tuple(dataclasses.replace(each, available_from=4) for each in made.devices)
    assert (first(dataclasses.replace(made, devices=later), orders()).law) == "devices"


def _ward(**more: object) -> Scenario:
    """Return two patients on reusable ventilators with one pipe."""
    return scenario(
        horizon=60,
        ladders=[ladder("l", ("vent", 12, 1.0), strong="vent")],
        patients=[patients(2, "l")],
        lots=[dataclasses.replace(piped(0, strong=2), available_until=more.pop("until", float("inf")))],
        devices={("a", "vent"): more.pop("vents", 2)},
        **more,
    )


def _vents(*minutes: float) -> list[Order]:
    return [connect(minute, f"batch {n}", "vent", 12, "pipe", "") for n, minute in enumerate(minutes, 1)]


def test_a_reusable_device_serves_one_at_a_time() -> None:
    """One ventilator: not for two at once, but for one after the other in the same minute."""
    one = _ward(vents=1)
    assert (first(one, _vents(0, 5)).law, first(one, _vents(0, 5)).row) == ("devices", 2)
    after = [_vents(0)[0], off(5, "batch 1", "better"), _vents(0, 5)[1]]
    assert replay(one, after).validity is Validity.VALID


def test_high_pressure_outlets_are_counted_apart() -> None:
    """Two outlets at 50 psi are not enough for three, and an ordinary one does not help."""
    made = dataclasses.replace(_ward(vents=3), patients=(patients(3, "l"),))
    found = first(made, _vents(0, 1, 2))
    assert (found.law, found.row) == ("outlets", 3)
    assert "2 high-pressure outlets, not 3" in found.reason


def test_a_regulator_passes_only_so_much_in_all() -> None:
    """Each outlet is within its own limit, but not the sum."""
    made = dataclasses.replace(_ward(), lots=(piped(0, strong=2, total=20),))
    found = first(made, _vents(0, 1))
    assert (found.law, found.row) == ("outlets", 2)
    assert "passes 20 L/min in all, not 24 L/min" in found.reason


def test_a_supply_that_is_taken_away_serves_nobody_after_that() -> None:
    """Who is still connected then is told, and gets nothing from then on."""
    verdict = replay(_ward(until=30), _vents(0, 5))
    assert [(each.law, each.row, each.minute) for each in verdict.findings] == [("window", 2, 30)]
    assert {each.end for each in verdict.services} == {30}


def test_nothing_flows_before_a_supply_is_there() -> None:
    """A pipe that opens at T+10 feeds nobody at T+5."""
    made = _ward()
    late = dataclasses.replace(made, lots=(dataclasses.replace(made.lots[0], available_from=10),))
    assert (first(late, _vents(5)).law, first(late, _vents(5)).row) == ("window", 1)


def test_power_limits_the_machines_in_use() -> None:
    """Two machines of 300 W: not with 500 W from the start, nor when the second generator stops."""
    found = first(incident(power=(PowerSupply("p", "a", 500, 0, 60),)), orders())
    assert (found.law, found.row) == ("power", 6)
    assert "take 600 W at T+5 min, there are 500 W" in found.reason
    generators = (PowerSupply("p", "a", 300, 0, 60), PowerSupply("q", "a", 300, 0, 20))
    found = first(incident(power=generators), orders())
    assert (found.law, found.minute) == ("power", 20)


def test_the_reserve_is_left() -> None:
    """332 L are left in the cylinders of the area: not 333."""
    assert replay(incident(reserve={"a": 332}), orders()).validity is Validity.VALID
    found = first(incident(reserve={"a": 333}), orders())
    assert found.law == "reserve"
    assert "332.0 L are left at a, not the reserve of 333.0 L" in found.reason


def test_the_reserve_is_what_is_there_at_the_end() -> None:
    """What has been taken away by then, or comes later, is not counted."""
    made = incident(reserve={"a": 100})
    gone = dataclasses.replace(made.lots[1], available_until=50)
    later = dataclasses.replace(made.lots[1], key="later", available_from=90)
    found = first(dataclasses.replace(made, lots=(*made.lots, later), reserve={"a": 333}), orders())
    assert "332.0 L are left" in found.reason
    found = first(dataclasses.replace(made, lots=(made.lots[0], gone, *made.lots[2:])), orders())
    assert "32.0 L are left" in found.reason


def test_what_follows_from_a_refused_order_is_not_told() -> None:
    """One finding each: a late disconnection, and orders for somebody who was never connected."""
    late = edit(9, minute=35, begin=35)(orders())
    assert len(replay(incident(), late).findings) == 1
    refused = edit(15, device="hose")(orders())
    assert [each.row for each in replay(incident(), refused).findings] == [15]


def test_hands_work_only_within_their_shift() -> None:
    """A change that ends after the shift, or for which nobody is on shift, cannot be made."""
    shifts = (StaffShift("s-a", "a", 2, 0, 35), StaffShift("s-b", "b", 1, 0, 60))
    found = first(incident(staff=shifts), orders())
    assert (found.law, found.row) == ("hands", 12)
    assert "s-a 2 is not on shift from T+34 min to T+36 min" in found.reason
    unnamed = edit(12, by="")(orders())
    assert "nobody at a is free" in first(incident(staff=shifts), unnamed).reason


def test_touching_changes_by_one_person_are_fine() -> None:
    """From T+0 to T+2 and from T+2 to T+4."""
    plan = [change(2, "cyl 1", "a-reg 1", "s-a 1"), change(4, "cyl 2", "a-reg 2", "s-a 1")]
    assert replay(incident(), plan).validity is Validity.VALID


def test_where_hands_are_unlimited_anyone_changes() -> None:
    """Without a name, as anyone, and under any name; but under a name one thing at a time."""
    shifts = tuple(StaffShift(f"s-{area}", area, float("inf"), 0, 60) for area in "ab")
    for by in ("", ANYONE):
        plan = [dataclasses.replace(order, by=by) for order in orders()]
        assert replay(incident(staff=shifts), plan).validity is Validity.VALID
    named = [dataclasses.replace(order, by="Sam") for order in orders()]
    assert (first(incident(staff=shifts), named).law, first(incident(staff=shifts), named).row) == ("hands", 2)


LEFT_OUT: dict[str, tuple[Mutation, str, int]] = {
    "who changes": (edit(7, by=""), "hands", 7),
    "which supply goes on": (edit(7, supply=""), "holds", 7),
    "which regulator goes on": (edit(7, regulator=""), "holds", 7),
    "where from": (edit(6, supply=""), "holds", 6),
}


@pytest.mark.parametrize("name", LEFT_OUT)
def test_what_is_left_out_makes_it_unknown(name: str) -> None:
    """No offence, but what a law needs is missing: UNKNOWN, which is not true, and which row."""
    mutate, law, row = LEFT_OUT[name]
    cut = [order for order in mutate(orders()) if order.minute < 30]  # before it matters elsewhere
    verdict = replay(incident(), [*cut, off(29, "P 1", "x"), off(29, "L", "x"), off(29, "M", "x"), off(29, "P 2", "x")])
    assert verdict.validity is Validity.UNKNOWN
    assert not verdict.validity
    assert [(each.law, each.row, each.judged) for each in verdict.findings] == [(law, row, False)]


def test_an_offence_comes_before_what_is_left_out() -> None:
    """INVALID, with the offence first though it is later."""
    plan = edit(14, reason="")(edit(1, by="")(orders()))
    verdict = replay(incident(), plan)
    assert verdict.validity is Validity.INVALID
    assert [(each.law, each.row, each.judged) for each in verdict.findings] == [
        ("silent", 14, True),
        ("hands", 1, False),
    ]


def test_a_time_that_is_not_written_is_as_short_as_it_can_be() -> None:
    """Without a begin the change began as late as possible: two changes by one person two minutes apart are fine."""
    plan = [change(2, "cyl 1", "a-reg 1", "s-a 1"), change(4, "cyl 2", "a-reg 2", "s-a 1")]
    unwritten = [dataclasses.replace(order, begin=order.minute) for order in plan]
    assert replay(incident(), unwritten).validity is Validity.VALID
    closer = [unwritten[0], dataclasses.replace(unwritten[1], minute=3, begin=3)]
    assert first(incident(), closer).law == "hands"


def test_who_is_on_no_rung_is_on_oxygen_without_credit() -> None:
    """A device that is not on the ladder is no offence; it counts as below target."""
    plan = [connect(5, "L", "mask", 5, "conc 1", ""), off(30, "L")]
    verdict = replay(incident(), plan)
    assert verdict.validity is Validity.VALID
    row = verdict.coverage.set_index("category").loc["delayed"]
    assert (row["credit_min"], row["below_target_patient_min"]) == (0, 25)


def test_a_cylinder_with_outlets_of_its_own_is_opened_first() -> None:
    """It needs no regulator, but an order that brings it into service, once."""
    own = OutletSet("own", frozenset(), 1, 0, 15, 15, MADE_UP)
    made = scenario(
        horizon=30,
        ladders=[ladder("l", ("mask", 10, 1.0))],
        patients=[patients(1, "l")],
        lots=[cylinders(1, 300, built_in=own)],
    )
    on = connect(0, "batch", "mask", 10, "lot", "")
    assert "lot has not been opened" in first(made, [on]).reason
    opened = change(0, "lot", "", "")
    assert replay(made, [opened, on]).validity is Validity.VALID
    assert [(each.start, each.end) for each in replay(made, [opened, on]).holdings] == [(0, 30)]
    assert "already in service" in first(made, [opened, opened, on]).reason


CATALOGUE = load_catalogue()


@pytest.mark.parametrize("key", CATALOGUE.ladders)
def test_no_rung_of_a_bundled_ladder_is_out_of_range(key: str) -> None:
    """Also where oxygen is blended with air, the oxygen drawn is within what the device takes."""
    made = CATALOGUE.ladders[key]
    for rung in made.rungs:
        assert not any(each.law == "range" for each in replay(_ladder_incident(made), _on(rung)).findings)


def test_a_blended_flow_out_of_range_is_found() -> None:
    """A high-flow cannula takes at most 60 L/min of oxygen, and a ventilator no less than its driving gas."""
    kind = CATALOGUE.devices["high-flow cannula"]
    assert kind.rule is DrawRule.BLENDED
    top = make_rung(kind, 60, 1.0, 1.0)
    made = _ladder_incident(Ladder("l", "", (top,), MADE_UP))
    assert [each.law for each in replay(made, _on(top)).findings] == []
    assert "takes 0 to 60 L/min" in first(made, _on(dataclasses.replace(top, flow_lpm=61))).reason


def _ladder_incident(made: Ladder) -> Scenario:
    return scenario(
        horizon=10,
        ladders=[dataclasses.replace(made, key="l")],
        patients=[patients(1, "l")],
        lots=[dataclasses.replace(piped(1, strong=1), built_in=OutletSet("p", frozenset(), 1, 1, 99, 99, MADE_UP))],
    )


def _on(rung: Rung) -> list[Order]:
    return [connect(0, "batch", rung.device.key, rung.flow_lpm, "pipe", "")]


def test_a_device_of_the_catalogue_that_is_on_no_ladder_is_known() -> None:
    """A team may use what no ladder names: judged by its range and by the stock, which has none."""
    kind = CATALOGUE.devices["non-rebreather"]
    found = replay(incident(), [connect(2, "L", kind.key, 2, "conc 1", "")]).findings
    assert {each.law for each in found} == {"present"}
    found = replay(incident(), [connect(5, "L", kind.key, 2, "conc 1", ""), off(30, "L")]).findings
    assert {each.law for each in found} == {"range", "devices"}


def _gauged() -> Scenario:
    """Return one cylinder at 2000 psi: 0.28 L/psi above 200 psi are 504 L, 10 L/min take 35.7 psi a minute."""
    source = Source("US Army course MD0542", Basis.VERIFIED)
    kind = Cylinder("X", "", "X", "", None, 560, 21.1, 2000, 0.28, GasModel.FACTOR, "v", None, 0, None, source)
    lot = dataclasses.replace(
        cylinders(1, 504), cylinder=kind, gauge_psi=2000.0, residual_psi=200.0, gas_model=GasModel.FACTOR
    )
    return scenario(
        horizon=45,
        ladders=[ladder("l", ("mask", 10, 1.0))],
        patients=[patients(1, "l")],
        lots=[lot],
        regulators=[regulator(1)],
    )


@pytest.mark.parametrize(("psi", "fine"), [(None, True), (1000, True), (1090, True), (910, True), (1105, False)])
def test_a_gauge_that_is_named_must_be_near(psi: float | None, *, fine: bool) -> None:
    """After 28 min at 10 L/min 2000 - 280 / 0.28 = 1000 psi; 5 % of 2000 psi is allowed."""
    plan = [
        change(0, "lot", "a-reg", ""),
        connect(0, "batch", "mask", 10, "lot", "a-reg"),
        other(28, Action.SET_FLOW, "batch", device="mask", flow_lpm=10, gauge_psi=psi),
    ]
    findings = replay(_gauged(), plan).findings
    assert [(each.law, each.row) for each in findings] == ([] if fine else [("gauge", 3)])


@pytest.mark.parametrize(("least", "fine"), [(0.0, True), (500.0, True), (1000.0, True), (1010.0, False)])
def test_no_cylinder_goes_into_service_below_the_minimum(least: float, *, fine: bool) -> None:
    """Parked at 1000 psi it may be put on again where the minimum is no higher."""
    plan = [
        change(0, "lot", "a-reg 1", ""),
        connect(0, "batch", "mask", 10, "lot", "a-reg 1"),
        off(28, "batch", "for a while"),
        change(30, "lot", "a-reg 2", ""),
    ]
    made = dataclasses.replace(_gauged(), in_service_psi=least, regulators=(regulator(2),))
    findings = replay(made, plan).findings
    assert [(each.law, each.row) for each in findings] == ([] if fine else [("in service", 4)])


def test_every_law_is_made_to_fire() -> None:
    """No law is a dead letter: each is broken by some test of this file."""
    fired = {case[1] for case in (*MUTATIONS.values(), *SHORT.values())}
    fired |= {"power", "reserve", "gauge", "in service"}
    assert {law for law, _ in ORDER_LAWS} | {"content", "outlets", "devices", "power", "reserve"} == fired


def test_a_rung_that_draws_nothing_needs_no_supply() -> None:
    """A ventilator on room air is a device in use, with its credit and without gas."""
    made = dataclasses.replace(_ward(), ladders={"l": ladder("l", ("vent", 12, 1.0), ("vent", 0, 0.5), strong="vent")})
    on = [connect(0, "batch 1", "vent", 0, "", ""), off(30, "batch 1", "better")]
    verdict = replay(made, on)
    assert verdict.validity is Validity.VALID
    assert [(each.credit, each.supply) for each in verdict.services] == [(0.5, "")]
    down = other(10, Action.STEP_DOWN, "batch 1", "power of the compressor", device="vent", flow_lpm=0)
    plan = [connect(0, "batch 1", "vent", 12, "pipe", ""), down]
    assert [each.flow_lpm for each in replay(made, plan).services] == [12, 0]


def test_a_regulator_is_not_there_before_it_comes() -> None:
    """It may go on at the very minute, not before."""
    made = incident()
    late = dataclasses.replace(
        made, regulators=tuple(dataclasses.replace(r, available_from=2) for r in made.regulators)
    )
    assert replay(late, orders()).validity is Validity.VALID
    later = dataclasses.replace(
        late, regulators=tuple(dataclasses.replace(r, available_from=3) for r in made.regulators)
    )
    assert (first(later, orders()).law, first(later, orders()).row) == ("window", 1)


def test_a_machine_needs_no_order_to_be_opened() -> None:
    """Concentrators and pipes serve as they stand."""
    made = scenario(
        horizon=30,
        ladders=[ladder("l", ("mask", 5, 1.0))],
        patients=[patients(1, "l")],
        lots=[concentrators(1)],
    )
    assert replay(made, [connect(0, "batch", "mask", 5, "conc", "")]).validity is Validity.VALID
