"""A trip in the making: calls with their times, and what is loaded and unloaded at each."""

from __future__ import annotations

import itertools
import math
from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from mci.plan.trips import Cargo, Stop, Trip
from mci.scenario.network import ItemKind
from mci.timegrid import RESOLUTION

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from mci.resupply.fleet import Call, Visit
    from mci.scenario.network import Item, Vehicle

__all__ = ["Draft", "Part", "room"]


def room(vehicle: Vehicle, items: Mapping[str, Item], aboard: Mapping[str, int], item: str) -> int:
    """Return how many more of an item a vehicle takes, beside what is aboard.

    Parameters
    ----------
    vehicle, items
        The vehicle, and the items of the network.
    aboard
        How many of each item are aboard.
    item
        Key of the item.
    """
    thing = items[item]
    kg = vehicle.payload_kg - sum(items[key].kg * count for key, count in aboard.items())
    most = int((kg + 1e-9) / thing.kg) if thing.kg > 0 and math.isfinite(kg) else 10**9
    if thing.kind in (ItemKind.FULL, ItemKind.EMPTY):
        alike = sum(count for key, count in aboard.items() if items[key].cylinder == thing.cylinder)
        most = min(most, vehicle.slots.get(thing.cylinder, 0) - alike)
    return max(most, 0)


@dataclass(slots=True)
class Part:
    """A call, how many of each item are loaded and unloaded there, and by when that must be usable.

    ``allowed`` is the latest moment at which nothing that comes is late, or later than it was already [min].
    """

    call: Call
    loaded: Counter[str] = field(default_factory=Counter)
    unloaded: Counter[str] = field(default_factory=Counter)
    allowed: float = math.inf


@dataclass(frozen=True, slots=True)
class Draft:
    """A trip in the making.

    Parameters
    ----------
    parts
        Where it loads, then areas, then where it takes empties to.
    visits
        Their times; one more before them where the vehicle goes to the first call empty.
    """

    vehicle: Vehicle
    parts: tuple[Part, ...]
    visits: Sequence[Visit]

    def visit(self, part: int) -> Visit:
        """Return the times of a call."""
        return self.visits[part - len(self.parts)]

    def usable(self, part: int) -> float:
        """Return when what is unloaded at a call can be used [min]."""
        return self.visit(part).arrive + self.vehicle.unloading

    def loading(self, part: int) -> float:
        """Return when loading begins at a call [min]."""
        return self.visit(part).depart - self.vehicle.loading

    @property
    def busy(self) -> float:
        """Time under way, loading and unloading [min]."""
        under_way = sum(after.arrive - before.depart for before, after in itertools.pairwise(self.visits))
        calls = [part.call for part in self.parts]
        return under_way + sum(self.vehicle.unloading * c.unload + self.vehicle.loading * c.load for c in calls)

    @property
    def in_time(self) -> bool:
        """Whether nothing that comes is late, or later than it was."""
        return all(self.usable(number) <= part.allowed + RESOLUTION for number, part in enumerate(self.parts))

    def trip(self, key: str) -> Trip:
        """Return the trip."""
        way_there = [Stop(visit.place, visit.depart, visit.depart, via=visit.roads) for visit in self.visits]
        stops = [
            Stop(visit.place, visit.arrive, visit.depart, _cargo(part.unloaded), _cargo(part.loaded), visit.roads)
            for part, visit in zip(self.parts, self.visits[-len(self.parts) :], strict=True)
        ]
        return Trip(key, self.vehicle.key, (*way_there[: -len(self.parts)], *stops))


def _cargo(things: Counter[str]) -> tuple[Cargo, ...]:
    return tuple(Cargo(item, quantity) for item, quantity in things.items() if quantity)
