"""Every patient-minute below the top rung has one cause, on random incidents that may turn out otherwise than told."""

from __future__ import annotations

import dataclasses
from itertools import pairwise

import pytest
from dispatch.surprises import otherwise
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from incidents import concentrators, cylinders, device, ladder, outlet_set, piped, regulator
from properties.random_incidents import incidents
from small_logs import NEED, change, connect, incident, one_regulator, patient, with_cylinders

from mci.catalogue.model import Rung
from mci.demand.groups import count_demand
from mci.demand.people import name_people
from mci.dispatch.plan import judge_usual
from mci.drills.debriefed import Cause
from mci.drills.symptoms import Symptom, find_symptoms
from mci.plan.orders import Action, Order
from mci.replay.judge import replay
from mci.scenario.model import DeviceStock, PowerSupply, Scenario


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(st.data())
def test_what_is_missing_is_seen_exactly_once(data: st.DataObject) -> None:
    """Weighted credit seen missing is that of everybody's top rung less what was reached; no two causes overlap."""
    told: Scenario = data.draw(incidents())
    actual: Scenario = data.draw(otherwise(told))
    orders = judge_usual(told, count_demand(told))[data.draw(st.integers(0, 1))].plan.orders
    symptoms = find_symptoms(actual, told, orders)
    below = [each for each in symptoms if each.cause is not Cause.HIGH_FLOW]
    stays = [stay for person in name_people(actual) for stay in person.stays]
    top = sum(
        actual.weights[stay.category] * actual.ladders[stay.ladder].rungs[0].credit * (stay.end - stay.start)
        for stay in stays
    )
    seen = sum(each.rate * (each.end - each.start) for each in below)
    assert seen == pytest.approx(top - replay(actual, orders).weighted, abs=1e-2)
    spans = sorted((each.patient, each.start, each.end) for each in below)
    assert all(a[0] != b[0] or a[2] <= b[1] for a, b in pairwise(spans))


def _causes(made: Scenario, *orders: Order) -> dict[str, list[tuple[float, float, Cause]]]:
    """Return spells of each patient with their cause, neighbours put together."""
    found: dict[str, list[tuple[float, float, Cause]]] = {}
    for each in find_symptoms(made, made, orders):
        mine = found.setdefault(each.patient, [])
        if mine and mine[-1][1:] == (each.start, each.cause):
            mine[-1] = (mine[-1][0], each.end, each.cause)
        else:
            mine.append((each.start, each.end, each.cause))
    return found


def test_an_outlet_without_a_device_is_not_free() -> None:
    """The only mask is with P1, who owns it; P2 waits, and nothing is left."""
    single = ladder("need", ("mask", 10.0, 1.0), single_use=True)
    made = dataclasses.replace(
        incident(patient("P1"), patient("P2")),
        ladders={"need": single},
        devices=(DeviceStock("a-mask", "a", "mask", 1, 0, ""),),
    )
    assert _causes(made, connect(0, "P1")) == {"P2": [(0, 40, Cause.SHORTAGE)]}
    assert _causes(made)["P2"] == [(0, 40, Cause.RECOGNITION)]


def test_an_outlet_with_too_little_flow_is_not_free() -> None:
    """The line passes 15 L/min in all: with 10 drawn, nobody else can have 10."""
    made = incident(patient("P1"), patient("P2"), lots=[piped(2, total=15)])
    assert _causes(made, connect(0, "P1")) == {"P2": [(0, 40, Cause.SHORTAGE)]}


def test_a_cylinder_with_less_than_a_minute_is_not_idle_oxygen() -> None:
    """9 L at 10 L/min."""
    made = incident(lots=with_cylinders(1, 9), regulators=one_regulator())
    assert _causes(made) == {"P1": [(0, 40, Cause.SHORTAGE)]}
    enough = incident(lots=with_cylinders(1, 11), regulators=one_regulator())
    assert _causes(enough) == {"P1": [(0, 40, Cause.IDLE_REGULATOR)]}


def test_a_regulator_that_does_not_fit_is_not_idle() -> None:
    """It is made for another valve."""
    other = dataclasses.replace(outlet_set("other"), fits=frozenset({"w"}))
    made = incident(lots=with_cylinders(1, 400), regulators=[regulator(1, outlets=other)])
    assert _causes(made) == {"P1": [(0, 40, Cause.SHORTAGE)]}


def test_a_cylinder_with_an_outlet_of_its_own_is_idle_until_it_is_opened() -> None:
    """Then its outlet is free."""
    made = incident(lots=[cylinders(1, 400, built_in=outlet_set("own"))])
    opened = Order(12, "a", Action.CHANGE, supply="lot")
    assert _causes(made, opened) == {"P1": [(0, 12, Cause.IDLE_REGULATOR), (12, 40, Cause.RECOGNITION)]}


def test_a_machine_without_power_is_not_free() -> None:
    """Power for one of two concentrators until 20, for none after that."""
    need = ladder("need", ("mask", 5.0, 1.0))
    made = dataclasses.replace(
        incident(lots=[concentrators(2)]), ladders={"need": need}, power=(PowerSupply("p", "a", 300.0, 0.0, 20.0),)
    )
    assert _causes(made) == {"P1": [(0, 20, Cause.RECOGNITION), (20, 40, Cause.SHORTAGE)]}


def test_a_regulator_that_goes_while_in_use_leaves_its_patient_on_nothing() -> None:
    """Like an empty cylinder: connected, and nothing comes."""
    made = incident(lots=with_cylinders(1, 400), regulators=one_regulator())
    leaks = dataclasses.replace(made, regulators=(dataclasses.replace(made.regulators[0], available_until=25.0),))
    orders = (change(0, "lot"), connect(0, "P1", supply="lot", tool="a-reg"))
    assert _causes(leaks, *orders) == {"P1": [(25, 40, Cause.EMPTY)]}


def test_least_flow_comes_before_a_free_outlet() -> None:
    """A mask at a flow that reaches no rung is the mask's fault, though the outlet could give more."""
    assert _causes(incident(), connect(0, "P1", 4)) == {"P1": [(0, 40, Cause.LEAST_FLOW)]}


def test_below_the_least_flow_though_on_a_rung() -> None:
    """The ladder has a rung at 4 L/min, but the mask needs 6."""
    mask = dataclasses.replace(device("mask"), min_lpm=6.0)
    rungs = (Rung(mask, 10.0, 1.0, "10 L/min"), Rung(mask, 4.0, 0.5, "4 L/min"))
    made = dataclasses.replace(incident(), ladders={"need": dataclasses.replace(NEED, rungs=rungs)})
    assert _causes(made, connect(0, "P1", 4)) == {"P1": [(0, 40, Cause.LEAST_FLOW)]}


def test_a_symptom_counts_only_inside_of_a_stretch() -> None:
    """Its minutes are those that overlap."""
    one = Symptom(10, 20, Cause.EMPTY, "P1", "immediate", 1.0)
    assert [one.minutes(*span) for span in ((0, 5), (5, 12), (12, 15), (15, 30), (0, 40))] == [0, 2, 3, 5, 10]
