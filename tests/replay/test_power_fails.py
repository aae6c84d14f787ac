"""Machines stand still where the power does not suffice: whoever is on them gets nothing until it does again."""

from __future__ import annotations

import dataclasses

import pytest
from incidents import concentrators, ladder, patients, scenario
from quay import connect, off

from mci.plan.orders import Order
from mci.replay.judge import replay, stand_at
from mci.replay.verdict import Service, Validity
from mci.scenario.model import PowerSupply, Scenario


def _incident(*windows: tuple[float, float, float]) -> Scenario:
    """Return two patients at 5 L/min and two machines of 300 W, with power as (W, from, until)."""
    made = scenario(
        horizon=60, ladders=[ladder("l", ("mask", 5, 1.0))], patients=[patients(2, "l")], lots=[concentrators(2)]
    )
    power = tuple(PowerSupply(f"p {number}", "a", *window) for number, window in enumerate(windows))
    return dataclasses.replace(made, power=power)


def _both() -> list[Order]:
    return [connect(0, f"batch {number}", "mask", 5, f"conc {number}", "") for number in (1, 2)]


def _given(services: tuple[Service, ...], patient: str) -> list[tuple[float, float]]:
    return [(each.start, each.end) for each in services if each.patient == patient]


def test_with_enough_power_everybody_breathes() -> None:
    """The whole hour."""
    verdict = replay(_incident((600, 0, 60)), _both())
    assert verdict.validity is Validity.VALID
    assert verdict.weighted == pytest.approx(120)


def test_while_it_fails_nobody_gets_anything() -> None:
    """From T+20 to T+35; then the machines run again by themselves.  One offence is told."""
    verdict = replay(_incident((600, 0, 20), (600, 35, 60)), _both())
    assert [(each.law, each.minute) for each in verdict.findings] == [("power", 20)]
    assert _given(verdict.services, "batch 1") == _given(verdict.services, "batch 2") == [(0, 20), (35, 60)]


def test_what_is_overloaded_stands_still_until_somebody_is_taken_off() -> None:
    """300 W for two machines: both stand still, since nobody says which one runs; with one patient less one does."""
    verdict = replay(_incident((600, 0, 20), (300, 20, 60)), [*_both(), off(30, "batch 2", "no power")])
    assert _given(verdict.services, "batch 1") == [(0, 20), (30, 60)]
    assert _given(verdict.services, "batch 2") == [(0, 20)]


def test_how_things_stand_without_power() -> None:
    """Connected, and nothing comes, since the power failed; with power it comes again."""
    made = _incident((600, 0, 20), (600, 35, 60))
    standing = stand_at(made, _both(), 25)
    assert [(each.gas, each.since) for each in standing.connected.values()] == [(False, 20), (False, 20)]
    assert all(each.gas for each in stand_at(made, _both(), 40).connected.values())


def test_connected_while_there_is_no_power() -> None:
    """Told, and worth nothing before there is power."""
    verdict = replay(_incident((600, 35, 60)), [dataclasses.replace(each, minute=10, begin=10) for each in _both()])
    assert {each.law for each in verdict.findings} == {"power"}
    assert _given(verdict.services, "batch 1") == [(35, 60)]
