"""Regulators, devices, staff and power, there from the start or brought, as stocks."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mci.scenario.bench import Keys
from mci.scenario.model import DeviceStock, PowerSupply, RegulatorStock, StaffShift
from mci.scenario.schema_supplies import BroughtDevices, BroughtRegulators
from mci.units import format_moment

if TYPE_CHECKING:
    from mci.scenario.bench import Bench
    from mci.scenario.yaml_positions import Where

__all__ = ["build_devices", "build_power", "build_regulators", "build_staff", "fits_something"]


def build_regulators(bench: Bench) -> tuple[RegulatorStock, ...]:
    """Return the regulators and manifolds per area, kind and moment."""
    found = [(line.area, line.regulator, 0.0, "", line.count) for line in bench.file.regulators]
    for index, delivery in enumerate(bench.file.deliveries):
        for number, line in enumerate(delivery.brings):
            if isinstance(line, BroughtRegulators):
                found.append((delivery.area, line.regulator, delivery.at, delivery.delivery, line.count))
                fits_something(bench, line.regulator, ("deliveries", index, "brings", number, "regulator"))
    for index, stock in enumerate(bench.file.regulators):
        fits_something(bench, stock.regulator, ("regulators", index, "regulator"))
    keys = Keys()
    return tuple(
        RegulatorStock(keys.make(area, kind, delivery), area, bench.regulators[kind], count, at, delivery)
        for area, kind, at, delivery, count in sorted(found)
    )


def fits_something(bench: Bench, kind: str, path: Where) -> None:
    """Note a mistake where a kind of outlets is no regulator."""
    if not bench.regulators[kind].fits:
        rule = "is a fixed outlet, not a regulator for a cylinder"
        bench.wrong(path, rule, "Such outlets belong to piped supplies, machines and vessels.", kind)


def build_devices(bench: Bench) -> tuple[DeviceStock, ...]:
    """Return the delivery devices per area, kind and moment."""
    found = [(line.area, line.device, 0.0, "", line.count) for line in bench.file.devices]
    for delivery in bench.file.deliveries:
        found += [
            (delivery.area, line.device, delivery.at, delivery.delivery, line.count)
            for line in delivery.brings
            if isinstance(line, BroughtDevices)
        ]
    keys = Keys()
    return tuple(
        DeviceStock(keys.make(area, kind, delivery), area, kind, count, at, delivery)
        for area, kind, at, delivery, count in sorted(found)
    )


def build_staff(bench: Bench) -> tuple[StaffShift, ...]:
    """Return the shifts of people who connect and change cylinders."""
    found = sorted(
        (s.area, s.from_ or 0.0, math.inf if s.until is None else s.until, s.people) for s in bench.file.staff
    )
    keys = Keys()
    return tuple(
        StaffShift(keys.make(area, "staff", format_moment(start)), area, people, start, end)
        for area, start, end, people in found
    )


def build_power(bench: Bench) -> tuple[PowerSupply, ...]:
    """Return the electrical power per area."""
    found = sorted(
        (p.area, p.from_ or 0.0, math.inf if p.until is None else p.until, p.power) for p in bench.file.power
    )
    keys = Keys()
    return tuple(
        PowerSupply(keys.make(area, "power", format_moment(start)), area, watts, start, end)
        for area, start, end, watts in found
    )
