"""What a network can do at all, whatever the time: carry a thing, fill a cylinder, get from place to place."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from mci.scenario.network import ItemKind, PlaceKind

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from mci.scenario.network import Item, Network, Place, Road, Vehicle

__all__ = ["Reach", "carries", "filled_item", "fills"]


def carries(vehicle: Vehicle, item: Item) -> bool:
    """Return whether a vehicle can take one of a thing: it has a slot for it, and the payload."""
    return (not item.cylinder or vehicle.slots.get(item.cylinder, 0) > 0) and item.kg <= vehicle.payload_kg


def filled_item(items: Mapping[str, Item], cylinder: str) -> Item | None:
    """Return what an empty cylinder of a kind is once it is filled: one at the full pressure of its kind.

    Parameters
    ----------
    items
        Items of the network.
    cylinder
        Kind of cylinder.

    Returns
    -------
    item
        ``None`` where the network has no such thing.
    """
    for item in items.values():
        lot = item.lot
        if lot and lot.cylinder and item.cylinder == cylinder and lot.gauge_psi == lot.cylinder.full_psi:
            return item
    return None


def fills(network: Network, place: Place, item: Item) -> bool:
    """Tell whether a place makes such full cylinders of empties."""
    if place.filling is None or item.cylinder not in place.filling.cylinders:
        return False
    full = filled_item(network.items, item.cylinder)
    return full is not None and full.key == item.key


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

    def directly(self, item: Item, sources: Iterable[str]) -> frozenset[str]:
        """Return where one vehicle, or people on foot, can bring a thing from places where it is."""
        found: set[str] = set()
        for source in sources:
            for vehicle in self.network.vehicles:
                if carries(vehicle, item) and source in self.of(vehicle):
                    found |= self.along(source, on_foot=vehicle.on_foot) - {source}
        return frozenset(found)

    def by_hand_over(self) -> tuple[str, ...]:
        """Return the areas to which full cylinders can be brought, but only on one vehicle after the other."""
        brought: set[str] = set()
        directly: set[str] = set()
        for item in self.network.items.values():
            if item.kind is ItemKind.FULL:
                sources = {stock.place for stock in self.network.stock if stock.item == item.key}
                sources |= {place.key for place in self.network.places if fills(self.network, place, item)}
                brought |= self.brought(item, sources)
                directly |= self.directly(item, sources)
        areas = (place.key for place in self.network.places if place.kind is PlaceKind.AREA)
        return tuple(area for area in areas if area in brought and area not in directly)

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
