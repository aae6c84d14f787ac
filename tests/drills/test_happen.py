"""What injects do to an incident: one law per kind, and what holds for all of them."""

from __future__ import annotations

import dataclasses
import math

import pytest
from incidents import concentrators, cylinders, ladder, patients, piped, regulator, scenario, vessel

from mci.catalogue.load import load_catalogue
from mci.catalogue.usable import usable_litres
from mci.demand.people import name_people
from mci.drills.happen import as_told, happened
from mci.plan.things import find_handlers, find_regulators, find_supplies
from mci.scenario.exercise import Inject, InjectKind
from mci.scenario.model import Arrival, Lot, Pattern, Scenario, Spell

INF = math.inf


def gauged(count: int, psi: float, **more: object) -> Lot:
    """Return cylinders of the catalogue at a gauge."""
    cylinder = load_catalogue().cylinders["US E aluminium"]
    each = usable_litres(cylinder, psi, 200)
    lot = dataclasses.replace(cylinders(count, each), cylinder=cylinder, gauge_psi=psi, residual_psi=200)
    return dataclasses.replace(lot, **more)


@pytest.fixture
def told() -> Scenario:
    """Four patients in a batch and one alone, three cylinders, three regulators, machines, a delivery, two people."""
    made = scenario(
        horizon=120,
        ladders=[ladder("high", ("mask", 15, 1.0), ("mask", 10, 0.8)), ladder("low", ("cannula", 4, 1.0))],
        patients=[
            dataclasses.replace(patients(4, "low", category="delayed", over=20, step=5), label="bus"),
            dataclasses.replace(
                patients(1, "low", arrive=10, then=(Spell(50, "b", "delayed", "low"),)), label="driver"
            ),
        ],
        lots=[
            gauged(3, 1500, key="e"),
            piped(2),
            vessel(900),
            concentrators(2),
            dataclasses.replace(piped(2, area="b"), key="pipe b"),
            gauged(2, 2000, key="e truck", available_from=60, delivery="truck"),
        ],
        regulators=[regulator(3), dataclasses.replace(regulator(2), key="late", available_from=60, delivery="truck")],
        staff={"a": 2, "b": 1},
        areas=("a", "b"),
    )
    devices = tuple(
        dataclasses.replace(each, key=f"{each.key} truck", quantity=3, available_from=60, delivery="truck")
        for each in made.devices
    )
    return dataclasses.replace(made, devices=(*made.devices, *devices))


def _inject(kind: InjectKind, at: float, **more: object) -> Inject:
    return Inject(kind, at, more.pop("area", "a"), **more)


def test_without_injects_nothing_changes(told: Scenario) -> None:
    """The very same scenario."""
    assert happened(told, ()) == told


def test_a_regulator_that_leaks_ends(told: Scenario) -> None:
    """That one, and no other."""
    actual = happened(told, [_inject(InjectKind.REGULATOR_LEAKS, 25, thing="a-reg 2")])
    ends = {each.key: each.available_until for each in find_regulators(actual)}
    assert ends == {"a-reg 1": INF, "a-reg 2": 25, "a-reg 3": INF, "late 1": INF, "late 2": INF}


def test_a_regulator_seals_once_the_washer_is_found(told: Scenario) -> None:
    """Of no use before, from the start."""
    actual = happened(told, [_inject(InjectKind.WRONG_WASHER, 5, thing="a-reg 1", minutes=10)])
    begins = {each.key: each.available_from for each in find_regulators(actual)}
    assert begins == {"a-reg 1": 15, "a-reg 2": 0, "a-reg 3": 0, "late 1": 60, "late 2": 60}


@pytest.mark.parametrize("psi", [500.0, 200.0, 50.0])
def test_a_low_cylinder_holds_what_its_gauge_makes(told: Scenario, psi: float) -> None:
    """By the gas law of its kind; nothing below the residual pressure; the others are full as told."""
    actual = happened(told, [_inject(InjectKind.CYLINDER_LOW, 10, thing="e 2", psi=psi)])
    before = {each.key: each.litres for each in find_supplies(told)}
    after = {each.key: each for each in find_supplies(actual)}
    cylinder = load_catalogue().cylinders["US E aluminium"]
    assert after["e 2"].litres == pytest.approx(max(0.0, usable_litres(cylinder, max(psi, 200), 200)))
    assert after["e 2"].gauge_psi == max(psi, 200)
    assert {key: each.litres for key, each in after.items() if key != "e 2"} == {
        key: pytest.approx(litres) for key, litres in before.items() if key != "e 2"
    }
    lot = next(lot for lot in actual.lots if lot.key == "e")
    assert lot.litres == pytest.approx(sum(after[name].litres for name in ("e 1", "e 2", "e 3")))


def test_a_delivery_brings_everything_later(told: Scenario) -> None:
    """Cylinders, regulators and devices, and nothing else."""
    actual = happened(told, [_inject(InjectKind.DELIVERY_LATE, 50, thing="truck", minutes=25)])
    for before, after in (
        (told.lots, actual.lots),
        (told.regulators, actual.regulators),
        (told.devices, actual.devices),
    ):
        for one, other in zip(before, after, strict=True):
            late = 25 if one.delivery == "truck" else 0
            assert other == dataclasses.replace(one, available_from=one.available_from + late)


def test_a_second_wave_adds_patients(told: Scenario) -> None:
    """After those who are there; a category and a ladder that only they have are known."""
    more = dataclasses.replace(
        patients(1, "moderate need", category="expectant", arrive=50), label="P31", mechanism="chlorine"
    )
    bare = dataclasses.replace(told, weights={"immediate": 3.0, "delayed": 1.0})
    actual = happened(bare, [_inject(InjectKind.SECOND_WAVE, 45, patients=(more,))])
    assert [each.key for each in name_people(actual)] == [*(each.key for each in name_people(told)), "P31"]
    assert actual.weights["immediate"] == 3
    assert "expectant" in actual.weights
    assert actual.ladders["moderate need"].rungs


@pytest.mark.parametrize(
    ("minutes", "windows"), [(30.0, [(0, 40), (70, INF)]), (INF, [(0, 40)])], ids=["for a while", "to the end"]
)
def test_power_is_cut(told: Scenario, minutes: float, windows: list[tuple[float, float]]) -> None:
    """At that area, for some minutes or to the end."""
    actual = happened(told, [_inject(InjectKind.POWER_FAILS, 40, minutes=minutes)])
    found = [(each.available_from, each.available_until) for each in actual.power if each.area == "a"]
    assert found == windows
    assert [each for each in actual.power if each.area == "b"] == [each for each in told.power if each.area == "b"]


def test_power_that_fails_from_the_start_is_there_afterwards(told: Scenario) -> None:
    """No window of no length is left."""
    actual = happened(told, [_inject(InjectKind.POWER_FAILS, 0, minutes=30)])
    assert [(each.available_from, each.available_until) for each in actual.power if each.area == "a"] == [(30, INF)]


def test_a_patient_worsens(told: Scenario) -> None:
    """From the moment on, also at the next area; as before until then."""
    inject = _inject(InjectKind.PATIENT_WORSENS, 35, thing="driver", category="immediate", ladder="high")
    (person,) = [each for each in name_people(happened(told, [inject])) if each.key == "driver"]
    assert [(each.start, each.end, each.area, each.category, each.ladder) for each in person.stays] == [
        (10, 35, "a", "immediate", "low"),
        (35, 60, "a", "immediate", "high"),
        (60, 120, "b", "immediate", "high"),
    ]


def test_one_of_a_batch_worsens(told: Scenario) -> None:
    """The third who came, at the moment of arrival; everybody keeps name, arrival and departure."""
    inject = _inject(InjectKind.PATIENT_WORSENS, 30, thing="bus 3", category="immediate", ladder="high")
    before = {each.key: each for each in name_people(told)}
    after = {each.key: each for each in name_people(happened(told, [inject]))}
    assert list(after) == list(before)
    assert {key: (each.arrive, each.leave) for key, each in after.items()} == {
        key: (each.arrive, each.leave) for key, each in before.items()
    }
    assert [key for key, each in after.items() if {stay.ladder for stay in each.stays} == {"low", "high"}] == ["bus 3"]


@pytest.mark.parametrize("at", [5.0, 200.0])
def test_who_is_not_there_does_not_worsen(told: Scenario, at: float) -> None:
    """Not before the arrival, nor after the departure."""
    gone = dataclasses.replace(told.patients[1], stay=100)
    made = dataclasses.replace(told, patients=(told.patients[0], gone))
    inject = _inject(InjectKind.PATIENT_WORSENS, at, thing="driver", category="immediate", ladder="high")
    assert name_people(happened(made, [inject])) == name_people(made)


def test_an_area_moves(told: Scenario) -> None:
    """Pipes and vessels there stay behind, concentrators and cylinders go along; nobody changes cylinders meanwhile."""
    actual = happened(told, [_inject(InjectKind.AREA_MOVES, 50, minutes=10)])
    ends = {each.key: each.available_until for each in actual.lots}
    assert {key for key, end in ends.items() if end == 50} == {"pipe", "vessel"}
    assert {end for key, end in ends.items() if key not in ("pipe", "vessel")} == {INF}
    hours = [(each.key, each.available_from, each.available_until) for each in find_handlers(actual)]
    assert hours == [("s-a 1", 0, 50), ("s-a 2", 0, 50), ("s-a 1", 60, INF), ("s-a 2", 60, INF), ("s-b", 0, INF)]


def test_injects_combine_in_any_order(told: Scenario) -> None:
    """A regulator of a late delivery leaks, somebody of the second wave worsens; all at once, backwards too."""
    wave = dataclasses.replace(patients(2, "low"), label="wave", arrival=Arrival(Pattern.EVEN, 50, 10, 5))
    injects = [
        _inject(InjectKind.DELIVERY_LATE, 50, thing="truck", minutes=25),
        _inject(InjectKind.REGULATOR_LEAKS, 70, thing="late 1"),
        _inject(InjectKind.WRONG_WASHER, 5, thing="a-reg 1", minutes=10),
        _inject(InjectKind.REGULATOR_LEAKS, 40, thing="a-reg 1"),
        _inject(InjectKind.SECOND_WAVE, 45, patients=(wave,)),
        _inject(InjectKind.PATIENT_WORSENS, 80, thing="wave 2", category="immediate", ladder="high"),
        _inject(InjectKind.PATIENT_WORSENS, 60, thing="wave 2", category="delayed", ladder="high"),
        _inject(InjectKind.CYLINDER_LOW, 10, thing="e 1", psi=600),
        _inject(InjectKind.CYLINDER_LOW, 10, thing="e 3", psi=800),
        _inject(InjectKind.AREA_MOVES, 50, minutes=10),
        _inject(InjectKind.POWER_FAILS, 40, minutes=30),
    ]
    actual = happened(told, injects)
    assert happened(told, injects[::-1]) == actual
    windows = {each.key: (each.available_from, each.available_until) for each in find_regulators(actual)}
    assert windows["late 1"] == (85, 85)  # it leaks before it comes
    assert windows["a-reg 1"] == (15, 40)
    (person,) = [each for each in name_people(actual) if each.key == "wave 2"]
    assert [each.category for each in person.stays] == ["immediate", "delayed", "immediate"]


def test_a_reserve_asks_for_no_more_than_can_be_left(told: Scenario) -> None:
    """When the vessel stays behind, its litres cannot be kept to the end."""
    made = dataclasses.replace(told, reserve={"a": 3000.0})
    stored = sum(each.litres for each in made.lots if each.key in ("e", "e truck"))
    assert happened(made, [_inject(InjectKind.AREA_MOVES, 50, minutes=10)]).reserve == {
        "a": pytest.approx(min(3000.0, stored))
    }


def test_as_told_counts_the_same_things_one_by_one(told: Scenario) -> None:
    """Keys of stocks, lots and patients are those of what happens; nothing else differs from what was told."""
    injects = [
        _inject(InjectKind.REGULATOR_LEAKS, 25, thing="a-reg 2"),
        _inject(InjectKind.CYLINDER_LOW, 10, thing="e 2", psi=500),
        _inject(InjectKind.PATIENT_WORSENS, 30, thing="bus 3", category="immediate", ladder="high"),
    ]
    actual, expected = happened(told, injects), as_told(told, injects)
    assert [each.key for each in actual.regulators] == [each.key for each in expected.regulators]
    assert [each.label for each in actual.patients] == [each.label for each in expected.patients]
    assert find_regulators(expected) == find_regulators(told)
    assert [(each.key, each.litres, each.gauge_psi) for each in find_supplies(expected)] == [
        (each.key, each.litres, each.gauge_psi) for each in find_supplies(told)
    ]
    assert [(each.key, each.arrive, each.leave) for each in name_people(expected)] == [
        (each.key, each.arrive, each.leave) for each in name_people(told)
    ]
