"""The language as it is written down in the room's docstring is the language that is read."""

from __future__ import annotations

import math

import pytest

from mci.scenario import read_scenario
from mci.scenario.model import LotKind, Pattern


def test_example_of_the_docstring_reads(write, example, beside):
    """Every part of the documented language becomes what it says."""
    scenario = read_scenario(write(example, **beside))
    assert {lot.kind for lot in scenario.lots} == set(LotKind)
    a12, _, deck, r1, *_ = scenario.patients
    assert [spell.after for spell in a12.course] == [0, 30, 80]
    assert a12.course[2].area == "east"
    assert (deck.arrival.pattern, deck.arrival.over, deck.arrival.step) == (Pattern.EVEN, 60, 5)
    assert r1.label == "r1"
    paediatric = {f"paediatric {need} need" for need in ("high", "moderate", "low")}  # children may be drawn
    assert set(scenario.ladders) == {"high need", "moderate need", "low need", "smoke"} | paediatric
    smoke = scenario.ladders["smoke"]
    assert smoke.rungs[1].flow_lpm == pytest.approx(40 * 0.39 / 0.79)
    assert smoke.rungs[3].credit == 0.4
    brought = [lot for lot in scenario.lots if lot.delivery == "second truck"]
    assert {lot.available_from for lot in brought} == {60}
    assert scenario.reserve == {"west": 0, "east": 500}
    assert [item.what for item in scenario.left_out] == ["102 (US E aluminium)"]
    piped = next(lot for lot in scenario.lots if lot.kind is LotKind.PIPED)
    assert math.isinf(piped.litres)
    assert (piped.quantity, piped.built_in.outlets, piped.built_in.high_pressure_outlets) == (1, 8, 2)
    assert piped.available_until == 60
    assert scenario.uncertainty is not None
    assert len(scenario.uncertainty.paths) == 9


def test_liquid_holds_what_evaporation_and_unusable_share_leave(write, example, beside):
    """31 L of liquid at 21.1 °C are 26,676 L of gas (860.5 L/L); less 10 % and 4 h x 0.2 L/min is planned with."""
    scenario = read_scenario(write(example, **beside))
    vessel = next(lot for lot in scenario.lots if lot.kind is LotKind.LIQUID)
    assert vessel.litres == pytest.approx(31 * 860.5 * 0.9 - 48, rel=1e-3)


def test_plant_gives_no_more_than_its_own_flow(write, example, beside):
    """Ten outlets of 15 L/min behind a plant of 35.9 L/min give 35.9 L/min."""
    scenario = read_scenario(write(example, **beside))
    plant = next(lot for lot in scenario.lots if lot.kind is LotKind.PLANT)
    assert plant.built_in.total_max_lpm == 35.9
    assert plant.watts_each == 3000


def test_supplies_are_there_from_and_until_they_say(write, example, beside):
    """Machines, piped outlets and vessels have their moments; what is not said is from the start, to no end."""
    for begins in ("concentrator: concentrator 5 L/min, ", "liquid: reservoir, ", "piped: ward outlets, "):
        assert begins in example
        example = example.replace(begins, f"{begins}from: T+20, ")
    scenario = read_scenario(write(example, **beside))
    there = {lot.kind: (lot.available_from, lot.available_until) for lot in scenario.lots if not lot.delivery}
    assert there == {
        LotKind.CYLINDER: (0, math.inf),
        LotKind.CONCENTRATOR: (20, math.inf),
        LotKind.PLANT: (30, math.inf),
        LotKind.PIPED: (20, 60),
        LotKind.LIQUID: (20, math.inf),
    }


def test_every_default_in_force_is_stated(write, right):
    """Residual, in-service minimum, weights, change times, gas models and ladders are listed with a source each."""
    scenario = read_scenario(write(right))
    told = " | ".join(a.what for a in scenario.assumptions)
    for part in (
        "residual",
        "in-service minimum",
        "weight of immediate",
        "time to change one US E",
        "litres in US E",
        "ladder",
    ):
        assert part in told
    assert all(a.source.text and a.value for a in scenario.assumptions)
    own = read_scenario(write(right + "residual: 14 bar\nweights: {immediate: 3}\n"))
    changed = {a.what: a for a in own.assumptions}
    assert "the planner" in changed["weight of immediate"].source.text
    assert "the planner" in changed["residual pressure, kept in every cylinder"].source.text
    assert own.lots[0].residual_psi == pytest.approx(203.05, rel=1e-3)


def test_own_kinds_replace_the_catalogue(write, right):
    """A regulator, machine or cylinder of the planner's own can be used like one of the catalogue."""
    text = (
        right.replace("concentrator: concentrator 5 L/min", "concentrator: ward machine")
        .replace("cylinder: US E aluminium, count: 12, pressure: 2000 psi", "cylinder: depot, count: 2, pressure: full")
        .replace("regulator: yoke regulator 0-15 L/min", "regulator: depot regulator")
    )
    text += """\
machine kinds:
  ward machine: {outlets: 2, outlet flow: 5 L/min, total flow: 8 L/min, power: 550 W, connect: 3 min}
cylinder kinds:
  depot: {content: 1500 L, full pressure: 150 bar, reference: 15 C, valve: bullnose, change: 3 min}
regulator kinds:
  depot regulator: {fits: [bullnose], outlets: 5, outlet flow: 15 L/min, total flow: 60 L/min}
"""
    scenario = read_scenario(write(text))
    depot, machine = scenario.lots
    assert depot.litres == pytest.approx(2 * 1500 * (1 - 200 / (150 * 14.50377)))  # 150 bar down to 200 psi
    assert (depot.valve, depot.change_min) == ("bullnose", 3)
    assert (machine.watts_each, machine.built_in.total_max_lpm, machine.change_min) == (550, 8, 3)
    assert scenario.regulators[0].outlets.outlets == 5
