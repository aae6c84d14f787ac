"""What the programme leaves out because it cannot bind: by hand, on the edge where it would."""

from __future__ import annotations

import dataclasses
import math

import pytest
from golden import lines
from incidents import concentrators, cylinders, ladder, outlet_set, patients, regulator, scenario

from mci.demand.groups import count_demand
from mci.lp.allocate import allocate
from mci.scenario.model import DeviceStock, PowerSupply, Scenario
from mci.settings import Settings

ONE = ladder("one", ("mask", 10, 1.0))
WORN = ladder("worn", ("mask", 10, 1.0), single_use=True)


def _bound(incident: Scenario) -> float:
    return allocate(incident, count_demand(incident), Settings()).outcome.bound


def test_an_outlet_passes_only_its_own_flow() -> None:
    """10 L/min through outlets of 8 L/min, 100 L/min in all: nobody is served."""
    narrow = outlet_set("narrow", outlets=3, each=8)
    incident = scenario(
        horizon=10, ladders=[ONE], patients=[patients(1, "one")], lots=[cylinders(1, 900, built_in=narrow)]
    )
    assert _bound(incident) == 0


def test_a_cylinder_takes_one_regulator_at_a_time() -> None:
    """One cylinder, two kinds of regulators that fit, plenty of each: one patient at a time, not two."""
    kinds = [regulator(9, outlets=outlet_set("first")), regulator(9, outlets=outlet_set("second"))]
    incident = scenario(
        horizon=10, ladders=[ONE], patients=[patients(2, "one")], lots=[cylinders(1, 900)], regulators=kinds
    )
    assert _bound(incident) == pytest.approx(10)


def test_devices_that_come_later_do_not_help_before() -> None:
    """Two patients, one mask, another from T+20 on: enough in the end, one without for 20 of 30 min."""
    incident = scenario(
        horizon=30,
        ladders=[WORN],
        patients=[patients(2, "worn")],
        lots=[cylinders(2, 900, built_in=outlet_set("own"))],
        devices={("a", "mask"): 1},
    )
    later = (*incident.devices, DeviceStock("later", "a", "mask", 1, 20, "truck"))
    assert _bound(dataclasses.replace(incident, devices=later)) == pytest.approx(30 + 10)


def test_power_without_limit_from_a_moment_on_is_limited_before() -> None:
    """Two concentrators of 300 W on 300 W for 10 min, then on any power: one patient, then two."""
    hours = ((300.0, 0.0, 10.0), (math.inf, 10.0, math.inf))
    incident = scenario(
        horizon=30, ladders=[ladder("low", ("cannula", 4, 1.0))], patients=[patients(2, "low")], lots=[concentrators(2)]
    )
    power = tuple(PowerSupply(f"p-{start}", "a", watts, start, end) for watts, start, end in hours)
    assert _bound(dataclasses.replace(incident, power=power)) == pytest.approx(10 + 2 * 20)


def test_who_leaves_is_no_step_down() -> None:
    """Two patients, one leaves at T+10: one fewer on the rung is the one who left."""
    incident = scenario(
        horizon=20,
        ladders=[ONE],
        patients=[patients(1, "one"), patients(1, "one", stay=10)],
        lots=[cylinders(2, 900, built_in=outlet_set("own"))],
    )
    assert lines(incident, "continuity") == ["continuity_0_1: - worse_0_1 + serve_0_0 - serve_0_1 <= 1"]


def test_equal_coverage_is_reached_with_the_fewest_litres() -> None:
    """Two rungs of equal credit: the plan uses the one that draws less."""
    same = ladder("same", ("mask", 10, 1.0), ("cannula", 4, 1.0))
    incident = scenario(
        horizon=10, ladders=[same], patients=[patients(1, "same")], lots=[cylinders(1, 900, built_in=outlet_set("own"))]
    )
    draw = allocate(incident, count_demand(incident), Settings()).outcome.draw
    assert draw["litres"].sum() == pytest.approx(40, abs=1e-3)
