"""What the programme knows of a network: hops between places in steps of time, fleets, and what can be where.

Moments are rounded down to the start of their step, so whatever can be carried out in continuous time
is a plan of the programme too, and its optimum stays a bound.  What rounding would give away, trips that
take no time, is taken back by rows that count the minutes on the road, and at stops, exactly.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from mci.scenario.network import Item, ItemKind, Network, Place, PlaceKind, Vehicle
from mci.scenario.reach import carries, fills

__all__ = ["NEVER", "Fleet", "Haulage", "Hop", "find_fleets", "whereabouts"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

#: Stands for a step that does not come.
NEVER = -1


@dataclass(frozen=True, slots=True)
class Hop:
    """A way from one place to another with no third one on it but junctions.

    Parameters
    ----------
    arrive
        Step in which a vehicle is there at the earliest, per step of leaving; ``NEVER`` if not before the end.
    minutes
        Least time on the road [min].
    """

    start: str
    end: str
    on_foot: bool
    arrive: Ints
    minutes: float


@dataclass(frozen=True, slots=True)
class Fleet:
    """Vehicles alike but for where and when they are there."""

    vehicles: tuple[Vehicle, ...]

    @property
    def like(self) -> Vehicle:
        """One of them."""
        return self.vehicles[0]


@dataclass(frozen=True, slots=True)
class Haulage:
    """A network in steps.

    Parameters
    ----------
    starts, ends
        Start and end of each step [min].
    hops
        Every such way; longer ones are chains of them.
    """

    network: Network
    starts: Floats
    ends: Floats
    hops: tuple[Hop, ...]
    fleets: tuple[Fleet, ...]

    @property
    def steps(self) -> int:
        """Number of steps."""
        return len(self.starts)

    @property
    def places(self) -> tuple[Place, ...]:
        """Where hops begin and end: everywhere but at junctions where no vehicle is at first."""
        begin = {vehicle.place for vehicle in self.network.vehicles}
        return tuple(each for each in self.network.places if each.kind is not PlaceKind.JUNCTION or each.key in begin)

    def step(self, moment: float) -> int:
        """Return the step in which a moment lies; ``NEVER`` if it is at or beyond the end."""
        if moment >= self.ends[-1]:
            return NEVER
        return int(np.searchsorted(self.starts, moment + 1e-9, side="right")) - 1


def find_fleets(vehicles: Sequence[Vehicle]) -> tuple[Fleet, ...]:
    """Group vehicles that are alike."""
    fleets: dict[tuple[object, ...], list[Vehicle]] = {}
    for each in vehicles:
        slots = tuple(sorted(each.slots.items()))
        key = (each.on_foot, slots, each.payload_kg, each.crew, each.loading, each.unloading)
        fleets.setdefault(key, []).append(each)
    return tuple(Fleet(tuple(members)) for members in fleets.values())


def whereabouts(haulage: Haulage) -> Mapping[str, frozenset[str]]:
    """Return, per item, the places where one can ever be.

    It can be where it is in stock, where a cylinder is filled or used up, and wherever vehicles take it from there,
    be it in passing.
    """
    network = haulage.network
    found: dict[str, set[str]] = {key: set() for key in network.items}
    for stock in network.stock:
        found[stock.item].add(stock.place)
    fillable = {kind for place in network.places if place.filling for kind in place.filling.cylinders}
    for item in network.items.values():
        for place in network.places:
            used_up = item.kind is ItemKind.EMPTY and place.kind is PlaceKind.AREA and item.cylinder in fillable
            if used_up or fills(network, place, item):
                found[item.key].add(place.key)
        _spread(haulage, item, found[item.key])
    return {key: frozenset(places) for key, places in found.items()}


def _spread(haulage: Haulage, item: Item, places: set[str]) -> None:
    """Add the places to which an item can be carried from where it can be."""
    modes = {fleet.like.on_foot for fleet in haulage.fleets if carries(fleet.like, item)}
    ways = [(hop.start, hop.end) for hop in haulage.hops if hop.on_foot in modes]
    more = {end for start, end in ways if start in places} - places
    while more:
        places |= more
        more = {end for start, end in ways if start in places} - places
