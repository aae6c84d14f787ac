"""Places, roads and vehicles: from where more can come, by which way, on what.

A network is part of a scenario only where the planner wrote one.  Treatment areas are places too.
Full cylinders, regulators and devices are carried to areas and staging; empties back to fill
stations.  Nothing that has been in use is carried but empties.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from mci.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from mci.catalogue.model import OutletSet
    from mci.scenario.model import Lot, Scenario

__all__ = [
    "Filling",
    "Item",
    "ItemKind",
    "Network",
    "Place",
    "PlaceKind",
    "Road",
    "Stock",
    "Vehicle",
    "Window",
    "network_of",
]


class PlaceKind(StrEnum):
    """Kinds of place."""

    AREA = "area"  # where patients are
    DEPOT = "depot"  # gives what it has
    SUPPLIER = "supplier"  # gives what was asked for, its lead time after the request
    FILL_STATION = "fill station"  # takes empties, gives them back full
    STAGING = "staging"  # takes and gives
    JUNCTION = "junction"  # where roads meet; nothing is loaded or unloaded


@dataclass(frozen=True, slots=True)
class Window:
    """A stretch of time, from ``start`` to ``end`` [min]."""

    start: float
    end: float


@dataclass(frozen=True, slots=True)
class Filling:
    """What a fill station can fill, and how fast: empties one after the other, as they come.

    Parameters
    ----------
    cylinders
        Kinds of cylinder.
    per_hour
        Cylinders an hour; ``inf`` where only litres limit it.
    litres_per_hour
        Litres of free gas an hour; ``inf`` where only cylinders limit it.
    """

    cylinders: frozenset[str]
    per_hour: float
    litres_per_hour: float


@dataclass(frozen=True, slots=True)
class Place:
    """A place of the network.

    Parameters
    ----------
    open
        When vehicles can be loaded and unloaded there, and cylinders filled; in the order of time, apart from
        each other.  One window from 0 to ``inf`` where the planner gave none.
    lead
        Time from the request to when what a supplier has is ready [min]; 0 for other places.
    filling
        Of a fill station; ``None`` for other places.
    """

    key: str
    title: str
    kind: PlaceKind
    open: tuple[Window, ...]
    lead: float = 0.0
    filling: Filling | None = None


@dataclass(frozen=True, slots=True)
class Road:
    """A way from one place to another; one that goes both ways is two roads with the same key.

    Parameters
    ----------
    minutes
        Travel time [min].
    closed
        Nobody is on it during any of these; whoever would be waits before it.
    on_foot
        A path for people with a trolley or by hand; vehicles take the other roads only.
    """

    key: str
    start: str
    end: str
    minutes: float
    closed: tuple[Window, ...] = ()
    on_foot: bool = False


@dataclass(frozen=True, slots=True)
class Vehicle:
    """A vehicle, or people who carry things on foot.

    Parameters
    ----------
    place
        Where it is at first.
    slots
        Per kind of cylinder, how many it takes, full or empty; each kind has its own.
    payload_kg
        The most that it carries [kg]; ``inf`` where the planner set no limit.
    crew
        People who go with it.
    loading, unloading
        Time for one stop, however much it is [min].
    available_from, available_until
        When it may be used; the last stop must be over by then [min].
    """

    key: str
    place: str
    slots: Mapping[str, int]
    payload_kg: float
    crew: int
    loading: float
    unloading: float
    available_from: float
    available_until: float
    on_foot: bool = False


class ItemKind(StrEnum):
    """Kinds of thing that vehicles carry."""

    FULL = "full cylinder"  # of one kind and content, ready for use
    EMPTY = "empty cylinder"
    REGULATOR = "regulator"  # or manifold
    DEVICE = "device"


@dataclass(frozen=True, slots=True)
class Item:
    """A thing that is carried; all of one key are alike.

    Parameters
    ----------
    key
        Such as ``US E aluminium at 2000 psi`` or ``US E aluminium, empty``.
    lot
        What one such cylinder would be in use: a lot of quantity 1 with an empty key and area (full cylinders only).
    cylinder
        Kind of cylinder, full or empty; empty text for other things.
    outlets
        Kind of regulator; ``None`` for other things.
    device
        Kind of device; empty text for other things.
    kg
        What one weighs [kg].
    """

    key: str
    kind: ItemKind
    kg: float
    cylinder: str = ""
    lot: Lot | None = None
    outlets: OutletSet | None = None
    device: str = ""


@dataclass(frozen=True, slots=True)
class Stock:
    """Things of one kind that are at a place without any vehicle.

    Parameters
    ----------
    source
        Key of the lot, of the regulators or of the devices of the scenario of which they are part, where an area
        lends what it has not used; empty text where they are not part of any.
    available_from
        When they may be loaded [min]; at a supplier its lead time.
    """

    place: str
    item: str
    quantity: int
    available_from: float
    source: str = ""


@dataclass(frozen=True, slots=True)
class Network:
    """Everything from which more can come.

    Parameters
    ----------
    places
        Areas first, in their order, then as written.
    items
        By key, in a fixed order.
    crews
        The most people who can be under way at once; ``inf`` where the planner set no limit.
    """

    places: tuple[Place, ...]
    roads: tuple[Road, ...]
    vehicles: tuple[Vehicle, ...]
    items: Mapping[str, Item]
    stock: tuple[Stock, ...]
    crews: float


def network_of(scenario: Scenario) -> Network:
    """Return the network of an incident.

    Raises
    ------
    UsageError
        If it has none.
    """
    if scenario.network is None:
        raise UsageError("the scenario has no network: add places, roads and vehicles, or use mci plan")
    return scenario.network
