"""Why goals cannot be met: each constraint is lifted by itself, and what is still missing then is told."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from mci.resupply.schedule import TOO_FEW, Obstacle
from mci.scenario.model import DeviceStock, RegulatorStock, StaffShift
from mci.scenario.network import ItemKind, PlaceKind, Window

if TYPE_CHECKING:
    from collections.abc import Callable

    from mci.scenario.model import Scenario
    from mci.scenario.network import Network

__all__ = ["find_obstacles"]

#: More than can ever be used.
PLENTY = 100_000
#: So fast that it does not count [min].
AT_ONCE = 1e-3


def _roads(scenario: Scenario, network: Network) -> tuple[Scenario, Network]:
    roads = tuple(replace(road, minutes=AT_ONCE, closed=()) for road in network.roads)
    return scenario, replace(network, roads=roads)


def _vehicles(scenario: Scenario, network: Network) -> tuple[Scenario, Network]:
    vehicles = tuple(
        replace(each, slots=dict.fromkeys(each.slots, PLENTY), payload_kg=math.inf, available_from=0.0)
        for each in network.vehicles
    )
    return scenario, replace(network, vehicles=vehicles, crews=math.inf)


def _hours(scenario: Scenario, network: Network) -> tuple[Scenario, Network]:
    places = tuple(replace(place, open=(Window(0.0, math.inf),)) for place in network.places)
    stock = tuple(replace(each, available_from=0.0) for each in network.stock)
    return scenario, replace(network, places=places, stock=stock)


def _cylinders(scenario: Scenario, network: Network) -> tuple[Scenario, Network]:
    area = {place.key for place in network.places if place.kind is PlaceKind.AREA}
    full = {key for key, item in network.items.items() if item.kind is ItemKind.FULL}
    stock = tuple(
        replace(each, quantity=PLENTY) if each.item in full and each.place not in area else each
        for each in network.stock
    )
    return scenario, replace(network, stock=stock)


def _regulators(scenario: Scenario, network: Network) -> tuple[Scenario, Network]:
    """Give every area plenty of every kind, since an area may have none that could be made more."""
    carried = (item.outlets for item in network.items.values() if item.outlets is not None)
    known = (scenario.resupply.outlets, *(each.outlets for each in scenario.regulators), *carried)
    more = tuple(
        RegulatorStock(f"{area.key} {kind.key}, more", area.key, kind, PLENTY, 0.0, "")
        for area in scenario.areas
        for kind in {each.key: each for each in known}.values()
    )
    return replace(scenario, regulators=more), network


def _devices(scenario: Scenario, network: Network) -> tuple[Scenario, Network]:
    devices = sorted({rung.device.key for ladder in scenario.ladders.values() for rung in ladder.rungs})
    more = tuple(
        DeviceStock(f"{area.key} {device}, more", area.key, device, math.inf, 0.0, "")
        for area in scenario.areas
        for device in devices
    )
    return replace(scenario, devices=more), network


def _staff(scenario: Scenario, network: Network) -> tuple[Scenario, Network]:
    more = tuple(StaffShift(f"{area.key}, more", area.key, math.inf, 0.0, math.inf) for area in scenario.areas)
    return replace(scenario, staff=more), network


#: What can be lifted, in words.
CONSTRAINTS = {
    "travel time": _roads,
    "vehicles (slots, payload, crews, when they are there)": _vehicles,
    "opening hours and lead times": _hours,
    "cylinders in the network": _cylinders,
    "regulators": _regulators,
    "devices": _devices,
    "staff who change cylinders": _staff,
}


def find_obstacles(
    scenario: Scenario, network: Network, missing: float, ask: Callable[[Scenario, Network], float]
) -> tuple[Obstacle, ...]:
    """Return the constraints without which less would be missing, the one that helps most first.

    Parameters
    ----------
    scenario, network
        The incident.
    missing
        Credit-minutes of the goals that are missing as it is.
    ask
        Returns what is missing at best for another scenario and network.
    """
    found = [Obstacle(words, ask(*lift(scenario, network))) for words, lift in CONSTRAINTS.items()]
    helpful = [each for each in found if each.missing < missing - TOO_FEW]
    return tuple(sorted(helpful, key=lambda each: each.missing))
