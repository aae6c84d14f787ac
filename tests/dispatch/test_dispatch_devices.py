"""Devices: reusable ones come back, single-use ones stay with the patient."""

from __future__ import annotations

import dataclasses

from incidents import cylinders, device, ladder, patients, scenario

from mci.catalogue.model import Device
from mci.dispatch.devices import Devices
from mci.scenario.model import DeviceStock, Scenario

REUSABLE, WORN = device("mask"), device("mask", single_use=True)


def _incident(*stocks: tuple[str, int, float]) -> Scenario:
    """Return an incident with stocks of masks: area, number, from when."""
    made = scenario(
        horizon=60,
        ladders=[ladder("l", ("mask", 10, 1.0))],
        patients=[patients(2, "l")],
        lots=[cylinders(1, 600)],
        areas=("a", "b"),
    )
    found = tuple(DeviceStock(f"{n}", area, "mask", count, come, "") for n, (area, count, come) in enumerate(stocks))
    return dataclasses.replace(made, devices=found)


def _could(devices: Devices, kind: Device, area: str = "a", time: float = 0) -> list[bool]:
    return [devices.can_take(who, area, kind, time) for who in ("one", "two")]


def test_a_reusable_device_comes_back() -> None:
    """One mask serves one patient after the other, wherever the first one goes."""
    devices = Devices(_incident(("a", 1, 0)))
    assert _could(devices, REUSABLE) == [True, True]
    devices.take("one", "a", REUSABLE)
    assert _could(devices, REUSABLE) == [False, False]
    devices.give_back("a", REUSABLE)
    assert _could(devices, REUSABLE) == [True, True]


def test_a_single_use_device_stays_with_the_patient() -> None:
    """Given back it is nobody else's, but the owner can be put on it again, also at another area."""
    devices = Devices(_incident(("a", 1, 0)))
    devices.take("one", "a", WORN)
    devices.give_back("a", WORN)
    assert _could(devices, WORN) == [True, False]
    assert _could(devices, WORN, area="b") == [True, False]
    devices.take("one", "b", WORN)
    devices.give_back("b", WORN)
    assert devices.owns("one", "mask")
    assert not devices.owns("two", "mask")


def test_what_an_owner_brings_is_not_counted_where_it_is_used() -> None:
    """The stock of the second area stays whole."""
    devices = Devices(_incident(("a", 1, 0), ("b", 1, 0)))
    devices.take("one", "a", WORN)
    devices.take("one", "b", WORN)
    assert _could(devices, WORN, area="b") == [True, True]
    assert _could(devices, WORN, area="a") == [True, False]


def test_devices_are_there_from_their_delivery_on() -> None:
    """Stocks add up as they come."""
    devices = Devices(_incident(("a", 0, 0), ("a", 1, 30)))
    for kind in (REUSABLE, WORN):
        assert _could(devices, kind, time=29.9) == [False, False]
        assert _could(devices, kind, time=30) == [True, True]
