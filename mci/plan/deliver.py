"""What trips bring to areas as deliveries, and what they take from areas taken away.

A loading takes what came last by then: what an area lends, and what trips brought, are alike, so patients keep
what was there first.  No later loading can lack anything by that.
"""

from __future__ import annotations

import dataclasses
import math
from collections import Counter, defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from mci.scenario.model import DeviceStock, Lot, RegulatorStock
from mci.scenario.network import ItemKind, PlaceKind

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from collections.abc import Set as AbstractSet

    from mci.plan.trips import Cargo, Stop, Trip
    from mci.scenario.model import Scenario
    from mci.scenario.network import Item, Network, Vehicle

__all__ = ["Batch", "deliver", "hand_over", "take_away"]

_Kind = TypeVar("_Kind", RegulatorStock, DeviceStock)

_ONE_MOMENT = 1e-5  # min: what a file with ten digits may lose of a moment in the second week


@dataclass(slots=True)
class Batch:
    """Alike things that are at an area from a moment on [min]: lent (``source``) or brought (``trip``).

    Of ``quantity``, ``taken`` are loaded there by trips.
    """

    area: str
    item: str
    at: float
    quantity: int
    source: str = ""
    trip: str = ""
    taken: int = 0

    @property
    def left(self) -> int:
        """How many stay at the area."""
        return self.quantity - self.taken


@dataclass(frozen=True, slots=True)
class _Loading:
    """Alike things that must be at an area at a moment, to be loaded."""

    area: str
    item: str
    at: float
    quantity: int


def deliver(scenario: Scenario, trips: Sequence[Trip]) -> Scenario:
    """Return the incident with what trips bring to areas as deliveries, each under the key of its trip.

    What an area lends and trips load there is taken from its lots and stocks: a loading takes what came last by
    then.  What comes at the horizon or later gives nothing.  Whatever names nothing known, or is loaded where
    nothing is, is passed over: the judge of trips tells it.

    Parameters
    ----------
    scenario
        The incident with its network, which is kept as it is: trips planned on the result would count twice what
        areas lend.
    trips
        In any order.
    """
    network = scenario.network
    if network is None:
        return scenario
    batches = hand_over(network, trips)
    taken: Counter[str] = Counter()
    for each in batches:
        if not each.trip and each.taken:
            taken[each.source] += each.taken
    here = [each for each in batches if each.trip and each.left > 0 and each.at < scenario.horizon]
    left = take_away(scenario, taken)
    return dataclasses.replace(
        left,
        lots=_lots(scenario, left.lots, _of_kind(ItemKind.FULL, network, here)),
        regulators=_regulators(scenario, left.regulators, _of_kind(ItemKind.REGULATOR, network, here)),
        devices=_devices(scenario, left.devices, _of_kind(ItemKind.DEVICE, network, here)),
    )


def take_away(scenario: Scenario, taken: Mapping[str, int]) -> Scenario:
    """Return the incident with less of some supplies; what is wholly taken is gone, but for devices.

    A stock of no devices stays: it says that there are none.

    Parameters
    ----------
    taken
        How many are taken, by the key of the lot, the regulators or the devices.
    """

    def less(stock: _Kind) -> _Kind:
        return dataclasses.replace(stock, quantity=stock.quantity - taken.get(stock.key, 0))

    lots = tuple(_less(lot, taken[lot.key]) if lot.key in taken else lot for lot in scenario.lots)
    return dataclasses.replace(
        scenario,
        lots=tuple(lot for lot in lots if lot.quantity > 0 or lot.key not in taken),
        regulators=tuple(each for each in map(less, scenario.regulators) if each.quantity > 0 or each.key not in taken),
        devices=tuple(map(less, scenario.devices)),
    )


def hand_over(network: Network, trips: Sequence[Trip]) -> tuple[Batch, ...]:
    """Return what areas lend and what trips bring to areas, each with how much of it trips take away.

    Parameters
    ----------
    network
        The network; what it has at areas comes first.
    trips
        In any order.
    """
    areas = {place.key for place in network.places if place.kind is PlaceKind.AREA}
    batches = [*_lent(network, areas), *_brought(network, areas, trips)]
    _take(batches, _loaded(network, areas, trips))
    return tuple(batches)


def _lent(network: Network, areas: AbstractSet[str]) -> Iterator[Batch]:
    """Yield what stands at areas without any trip, part of the scenario's supplies or not."""
    for stock in network.stock:
        if stock.place in areas:
            yield Batch(stock.place, stock.item, stock.available_from, stock.quantity, source=stock.source)


def _brought(network: Network, areas: AbstractSet[str], trips: Sequence[Trip]) -> Iterator[Batch]:
    for vehicle, trip, stop in _stops(network, areas, trips):
        for cargo in _known(network, stop.unload):
            yield Batch(stop.place, cargo.item, stop.arrive + vehicle.unloading, cargo.quantity, trip=trip.key)


def _loaded(network: Network, areas: AbstractSet[str], trips: Sequence[Trip]) -> Iterator[_Loading]:
    for vehicle, _, stop in _stops(network, areas, trips):
        for cargo in _known(network, stop.load):
            yield _Loading(stop.place, cargo.item, stop.depart - vehicle.loading, cargo.quantity)


def _stops(network: Network, areas: AbstractSet[str], trips: Sequence[Trip]) -> Iterator[tuple[Vehicle, Trip, Stop]]:
    vehicles = {vehicle.key: vehicle for vehicle in network.vehicles}
    for trip in trips:
        for stop in trip.stops:
            if trip.vehicle in vehicles and stop.place in areas:
                yield vehicles[trip.vehicle], trip, stop


def _known(network: Network, cargoes: Iterable[Cargo]) -> Iterator[Cargo]:
    return (each for each in cargoes if each.item in network.items and each.quantity > 0)


def _take(batches: Iterable[Batch], loadings: Iterable[_Loading]) -> None:
    """Take what is loaded off the batches, the last that is there first."""
    there: dict[tuple[str, str], list[Batch]] = defaultdict(list)
    for batch in sorted(batches, key=lambda each: (each.at, each.trip, each.source)):
        there[batch.area, batch.item].append(batch)
    for loading in sorted(loadings, key=lambda each: each.at):
        wanted = loading.quantity
        for batch in reversed(there[loading.area, loading.item]):
            if batch.at <= loading.at + _ONE_MOMENT:
                count = min(wanted, batch.left)
                batch.taken += count
                wanted -= count


def _of_kind(kind: ItemKind, network: Network, brought: Iterable[Batch]) -> list[Batch]:
    """Return what is brought of a kind, sorted, alike things together."""
    sums: Counter[tuple[str, float, str, str]] = Counter()
    for each in brought:
        if network.items[each.item].kind is kind:
            sums[each.area, each.at, each.trip, each.item] += each.left
    return [Batch(area, item, at, count, trip=trip) for (area, at, trip, item), count in sorted(sums.items())]


def _lots(scenario: Scenario, left: Iterable[Lot], brought: list[Batch]) -> tuple[Lot, ...]:
    """Return what is left of the lots and what is brought, in the order that the scenario has."""
    lots = list(left)
    names = _Names((lot.key, lot.quantity) for lot in scenario.lots)
    for batch, item in _with_items(scenario, brought):
        if item.lot is not None:
            lots.append(
                dataclasses.replace(
                    item.lot,
                    key=names.make(batch, item.cylinder),
                    label=_counted(item.lot.label, batch.quantity),
                    area=batch.area,
                    quantity=batch.quantity,
                    litres=batch.quantity * item.lot.litres_each,
                    available_from=batch.at,
                    delivery=batch.trip,
                )
            )
    areas = [area.key for area in scenario.areas]
    return tuple(sorted(lots, key=lambda lot: (areas.index(lot.area), lot.available_from, lot.delivery)))


def _less(lot: Lot, count: int) -> Lot:
    """Return a lot without so many of its cylinders: the last ones where they are known one by one."""
    left = max(lot.quantity - count, 0)
    units = lot.units[:left]
    litres = sum(unit.litres for unit in units) if lot.units else lot.litres * left / lot.quantity
    label = _counted(lot.label, left, lot.quantity)
    return dataclasses.replace(lot, quantity=left, litres=litres, units=units, label=label)


def _counted(label: str, quantity: int, of: int = 1) -> str:
    """Return a label such as ``1 x US E aluminium at 2000 psi`` with another number in front."""
    return f"{quantity} x {label.removeprefix(f'{of} x ')}"


def _regulators(scenario: Scenario, left: Iterable[RegulatorStock], brought: list[Batch]) -> tuple[RegulatorStock, ...]:
    stocks = list(left)
    names = _Names((each.key, each.quantity) for each in scenario.regulators)
    for batch, item in _with_items(scenario, brought):
        if item.outlets is not None:
            key = names.make(batch, item.outlets.key)
            stocks.append(RegulatorStock(key, batch.area, item.outlets, batch.quantity, batch.at, batch.trip))
    return tuple(sorted(stocks, key=lambda each: (each.area, each.outlets.key, each.available_from, each.delivery)))


def _devices(scenario: Scenario, left: Iterable[DeviceStock], brought: list[Batch]) -> tuple[DeviceStock, ...]:
    stocks = list(left)
    names = _Names((each.key, each.quantity) for each in scenario.devices)
    for batch, item in _with_items(scenario, brought):
        key = names.make(batch, item.device)
        stocks.append(DeviceStock(key, batch.area, item.device, batch.quantity, batch.at, batch.trip))
    return tuple(sorted(stocks, key=lambda each: (each.area, each.device, each.available_from, each.delivery)))


def _with_items(scenario: Scenario, batches: Iterable[Batch]) -> Iterator[tuple[Batch, Item]]:
    if scenario.network is not None:
        for batch in batches:
            yield batch, scenario.network.items[batch.item]


class _Names:
    """Makes keys of which, numbered too, none is used yet: a second ``west US E aluminium`` gets `` #2``."""

    def __init__(self, used: Iterable[tuple[str, float]]) -> None:
        self._used: set[str] = set()
        for key, quantity in used:
            self._used |= self._names(key, quantity)

    def make(self, batch: Batch, kind: str) -> str:
        """Return a key for things of a kind that a trip brings to an area."""
        first = key = f"{batch.area} {kind} {batch.trip}"
        number = 1
        while self._used & (names := self._names(key, batch.quantity)):
            number += 1
            key = f"{first} #{number}"
        self._used |= names
        return key

    @staticmethod
    def _names(key: str, quantity: float) -> set[str]:
        return {key} if math.isinf(quantity) else {key, *(f"{key} {n}" for n in range(1, int(quantity) + 1))}
