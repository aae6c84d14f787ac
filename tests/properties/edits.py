"""One more of each resource of a scenario, edited by hand: what the worth of one more must equal."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator

from mci.scenario.model import DeviceStock, Lot, LotKind, PowerSupply, RegulatorStock, Scenario, StaffShift

__all__ = ["one_more_of_each", "with_more"]

INF = math.inf


def _bigger(lot: Lot) -> Lot:
    if lot.kind is LotKind.PIPED:
        own = lot.built_in  # one more of each kind of outlet that the pipe has
        flow, strong = own.outlets, own.high_pressure_outlets
        more = dataclasses.replace(own, outlets=flow + (flow > 0), high_pressure_outlets=strong + (strong > 0))
        return dataclasses.replace(lot, built_in=more)
    return dataclasses.replace(lot, quantity=lot.quantity + 1, litres=lot.litres + lot.litres_each)


def with_more(scenario: Scenario, kind: str, area: str, key: str) -> Scenario:
    """Return the scenario with one more of a resource, the whole time (a lot: in that lot)."""
    if kind == "gas supply":
        lots = tuple(_bigger(lot) if lot.key == key else lot for lot in scenario.lots)
        return dataclasses.replace(scenario, lots=lots)
    if kind == "regulators":
        outlets = next(r.outlets for r in scenario.regulators if (r.area, r.outlets.key) == (area, key))
        return dataclasses.replace(
            scenario, regulators=(*scenario.regulators, RegulatorStock("more", area, outlets, 1, 0, ""))
        )
    if kind == "delivery devices":
        return dataclasses.replace(scenario, devices=(*scenario.devices, DeviceStock("more", area, key, 1, 0, "")))
    if kind == "people who change cylinders":
        return dataclasses.replace(scenario, staff=(*scenario.staff, StaffShift("more", area, 1, 0, INF)))
    if kind == "electrical power":
        return dataclasses.replace(
            scenario, power=(*scenario.power, PowerSupply("more", area, float(key.split()[0]), 0, INF))
        )
    raise AssertionError(kind)


def one_more_of_each(scenario: Scenario) -> Iterator[tuple[str, str, str]]:
    """Yield kind, area and key of everything of which there could be one more."""
    yield from (("gas supply", lot.area, lot.key) for lot in scenario.lots)
    yield from dict.fromkeys(("regulators", stock.area, stock.outlets.key) for stock in scenario.regulators)
    yield from dict.fromkeys(("delivery devices", stock.area, stock.device) for stock in scenario.devices)
    for area in scenario.areas:
        yield "people who change cylinders", area.key, "person"
        # random incidents have machines of one power only
        watts = max((lot.watts_each for lot in scenario.lots if lot.area == area.key), default=0) or 100
        yield "electrical power", area.key, f"{watts:g} W"
