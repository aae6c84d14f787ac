"""Where things of the network can get to at all, whatever the time: a search along roads and paths."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from mci.scenario.network import ItemKind, PlaceKind

if TYPE_CHECKING:
    from collections.abc import Iterable

    from mci.scenario.network import Item, Network, Road, Vehicle

__all__ = ["Reach", "carries"]


def carries(vehicle: Vehicle, item: Item) -> bool:
    """Return whether a vehicle can take one of a thing: it has a slot for it, and the payload."""
    return (not item.cylinder or vehicle.slots.get(item.cylinder, 0) > 0) and item.kg <= vehicle.payload_kg


@dataclass(slots=True)
class Reach:
    """What can be reached in a network before the end of the plan [min]."""

    network: Network
    horizon: float
    _found: dict[tuple[str, bool | None], frozenset[str]] = field(default_factory=dict)

    def along(self, start: str, *, on_foot: bool | None) -> frozenset[str]:
        """Return the places to which ways lead from a place, itself too; ``on_foot=None`` takes roads and paths."""
        if (start, on_foot) not in self._found:
            ways = defaultdict(list)
            for road in self.network.roads:
                if on_foot in (None, road.on_foot) and not self._always_closed(road):
                    ways[road.start].append(road.end)
            found, rest = {start}, [start]
            while rest:
                new = [end for end in ways[rest.pop()] if end not in found]
                found.update(new)
                rest += new
            self._found[start, on_foot] = frozenset(found)
        return self._found[start, on_foot]

    def _always_closed(self, road: Road) -> bool:
        return any(window.start <= 0 and window.end >= self.horizon for window in road.closed)

    def of(self, vehicle: Vehicle) -> frozenset[str]:
        """Return the places that a vehicle can drive to, or its people walk to, and where it is at first."""
        return self.along(vehicle.place, on_foot=vehicle.on_foot)

    def brought(self, item: Item, sources: Iterable[str]) -> frozenset[str]:
        """Return where a thing can be brought to from places where it is, on one vehicle after the other.

        Full cylinders, regulators and devices go to areas, empties to fill stations; staging is on the way for all.
        """
        goal = PlaceKind.FILL_STATION if item.kind is ItemKind.EMPTY else PlaceKind.AREA
        ends = {place.key for place in self.network.places if place.kind in (goal, PlaceKind.STAGING)}
        staging = {place.key for place in self.network.places if place.kind is PlaceKind.STAGING}
        found: set[str] = set()
        rest = set(sources)
        while rest:
            source = rest.pop()
            for vehicle in self.network.vehicles:
                if carries(vehicle, item) and source in self.of(vehicle):
                    new = (self.along(source, on_foot=vehicle.on_foot) & ends) - found - {source}
                    found |= new
                    rest |= new & staging
        return frozenset(found)
