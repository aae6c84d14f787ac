"""Why goals cannot be met: each constraint is lifted by itself, and what is still missing then is told."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from mci.resupply.schedule import Obstacle
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
#: Credit-minutes too few to tell.
NOTHING = 0.05


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
    return scenario, _more_of(network, ItemKind.FULL)


def _more_of(network: Network, kind: ItemKind) -> Network:
    area = {place.key for place in network.places if place.kind is PlaceKind.AREA}
    stock = tuple(
        replace(each, quantity=PLENTY) if network.items[each.item].kind is kind and each.place not in area else each
        for each in network.stock
    )
    return replace(network, stock=stock)


def _regulators(scenario: Scenario, network: Network) -> tuple[Scenario, Network]:
    more = tuple(replace(each, quantity=PLENTY) for each in scenario.regulators)
    return replace(scenario, regulators=more), _more_of(network, ItemKind.REGULATOR)


def _devices(scenario: Scenario, network: Network) -> tuple[Scenario, Network]:
    more = tuple(replace(each, quantity=math.inf) for each in scenario.devices)
    return replace(scenario, devices=more), _more_of(network, ItemKind.DEVICE)


def _staff(scenario: Scenario, network: Network) -> tuple[Scenario, Network]:
    more = tuple(
        replace(each, people=math.inf, available_from=0.0, available_until=math.inf) for each in scenario.staff
    )
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
    helpful = [each for each in found if each.missing < missing - NOTHING]
    return tuple(sorted(helpful, key=lambda each: each.missing))
