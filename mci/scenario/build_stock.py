"""What can be carried: the kinds of thing in the network, what one weighs, and where they are."""

from __future__ import annotations

import dataclasses
import math
from collections import Counter
from types import MappingProxyType
from typing import TYPE_CHECKING, NamedTuple

from mci.catalogue.model import Basis, Source
from mci.physics.gas import free_density
from mci.scenario import schema_network as written
from mci.scenario.bench import PLANNER, Keys
from mci.scenario.build_resources import fits_something
from mci.scenario.build_supplies import cylinder_lot
from mci.scenario.model import DeviceStock, Lot, LotKind, RegulatorStock
from mci.scenario.network import Item, ItemKind, Place, PlaceKind, Stock
from mci.scenario.schema_supplies import BroughtCylinders
from mci.units import format_duration

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from mci.scenario.bench import Bench
    from mci.scenario.yaml_positions import Where

__all__ = ["build_stock"]

#: Where empties may stand: they are taken there, or brought there to be filled.
_TAKES_EMPTIES = frozenset({PlaceKind.DEPOT, PlaceKind.STAGING, PlaceKind.FILL_STATION})


class _Heap(NamedTuple):
    """Things of one kind at one place; the item has no key and no mass yet."""

    place: str
    thing: Item
    quantity: int
    ready: float
    source: str = ""


def build_stock(
    bench: Bench,
    part: written.NetworkPart,
    places: Sequence[Place],
    own: Sequence[Lot | RegulatorStock | DeviceStock],
) -> tuple[Mapping[str, Item], tuple[Stock, ...]]:
    """Return the kinds of thing that can be carried, and where they are.

    Parameters
    ----------
    places
        Of the network, areas too.
    own
        What the areas have: lots, regulators and devices.
    """
    by_key = {place.key: place for place in places}
    heaps = [heap for index, line in enumerate(part.stock) for heap in _heaps(bench, by_key, index, line)]
    for index, area in enumerate(part.lends):
        heaps += _lent(bench, own, ("network", "lends", index), area)
    things = [heap.thing for heap in heaps] + _filled(bench, part)
    masses = _masses(bench, part, things)
    items = _items(bench, things, masses)
    order = {key: number for number, key in enumerate(by_key)}
    rank = {item.key: number for number, item in enumerate(items.values())}
    total: Counter[tuple[str, str, float, str]] = Counter()
    for heap in heaps:
        total[heap.place, items[heap.thing].key, heap.ready, heap.source] += heap.quantity
    stock = [Stock(place, item, count, ready, source) for (place, item, ready, source), count in total.items()]
    stock.sort(key=lambda s: (order[s.place], rank[s.item], s.available_from, s.source))
    return MappingProxyType({item.key: item for item in items.values()}), tuple(stock)


def _heaps(bench: Bench, places: Mapping[str, Place], index: int, line: written.StockLine) -> Iterator[_Heap]:
    path: Where = ("network", "stock", index)
    place = places[line.at]
    _may_stand(bench, path, line, place)
    thing: Item | None
    match line:
        case written.StockCylinders():
            lot = cylinder_lot(bench, path, line, line.at)
            thing = None if lot is None else _full(lot)
        case written.StockEmpties():
            thing = _empty(line.empty)
        case written.StockRegulators():
            fits_something(bench, line.regulator, (*path, "regulator"))
            outlets = bench.regulators[line.regulator]
            thing = Item("", ItemKind.REGULATOR, 0.0, outlets=outlets)
        case written.StockDevices():
            thing = Item("", ItemKind.DEVICE, 0.0, device=line.device)
    if thing is not None:
        yield _Heap(line.at, thing, line.count, max(place.lead, line.ready or 0.0))


def _may_stand(bench: Bench, path: Where, line: written.StockLine, place: Place) -> None:
    """Note a mistake where a thing cannot stand ready at a place."""
    if place.kind is PlaceKind.JUNCTION:
        bench.wrong((*path, "at"), "is a junction, where nothing is kept", "Write staging instead.", place.key)
    elif place.kind is PlaceKind.AREA:
        rule = "is a treatment area, and what it has is not stock of the network"
        fix = "List it under 'supplies', 'regulators' or 'devices', and the area under 'lends' if it may be carried."
        bench.wrong((*path, "at"), rule, fix, place.key)
    elif isinstance(line, written.StockEmpties) and place.kind not in _TAKES_EMPTIES:
        fix = "Empties stand at a depot, a staging place or a fill station."
        bench.wrong((*path, "at"), f"is a {place.kind.value}, which takes no empties", fix, place.key)


def _full(lot: Lot) -> Item:
    """Return one cylinder of a lot as a thing that is carried."""
    cylinder = lot.cylinder.key if lot.cylinder else ""
    label = f"1 x {lot.label.partition(' x ')[2]}"
    one = dataclasses.replace(
        lot, key="", label=label, area="", quantity=1, litres=lot.litres_each, available_from=0.0, delivery="", units=()
    )
    return Item("", ItemKind.FULL, 0.0, cylinder=cylinder, lot=one)


def _empty(cylinder: str) -> Item:
    return Item("", ItemKind.EMPTY, 0.0, cylinder=cylinder)


def _filled(bench: Bench, part: written.NetworkPart) -> list[Item]:
    """Return what fill stations take and give: empties, and the same cylinders full."""
    things = []
    for index, line in enumerate(part.places):
        if isinstance(line, written.FillStation):
            for kind in line.fills:
                path: Where = ("network", "places", index, "fills")
                full = BroughtCylinders.model_construct(cylinder=kind, count=1, pressure="full")
                lot = cylinder_lot(bench, path, full, line.fill_station)
                if lot is None:
                    rule = "a full one is too low to be brought into service"
                    bench.wrong(path, rule, "Check 'residual' and 'in service minimum'.", kind)
                else:
                    things += [_full(lot), _empty(kind)]
    return things


def _lent(bench: Bench, own: Iterable[Lot | RegulatorStock | DeviceStock], path: Where, area: str) -> list[_Heap]:
    """Return what an area lends; note a mistake where it has nothing to lend, or a reserve to keep."""
    if bench.file.reserve.get(area, 0.0) > 0:
        bench.wrong(path, "has a reserve to keep, and so lends nothing", "Remove the area here, or its reserve.", area)
        return []
    heaps = list(_unused(own, area))
    if not heaps:
        rule = "has nothing to lend: no alike cylinders from the start, no regulators, no counted devices"
        bench.wrong(path, rule, "Remove the area here.", area)
    return heaps


def _unused(own: Iterable[Lot | RegulatorStock | DeviceStock], area: str) -> Iterator[_Heap]:
    """Yield what an area has from the start and can count out: alike cylinders, regulators, counted devices."""
    for stock in own:
        if stock.area != area or stock.available_from > 0 or stock.delivery or not 0 < stock.quantity < math.inf:
            continue
        thing: Item | None = None
        match stock:
            case Lot(kind=LotKind.CYLINDER):
                alike = len({(unit.gauge_psi, unit.litres) for unit in stock.units}) <= 1
                thing = _full(stock) if alike else None
            case RegulatorStock():
                thing = Item("", ItemKind.REGULATOR, 0.0, outlets=stock.outlets)
            case DeviceStock():
                thing = Item("", ItemKind.DEVICE, 0.0, device=stock.device)
        if thing is not None:
            yield _Heap(area, thing, int(stock.quantity), 0.0, stock.key)


def _items(bench: Bench, things: Iterable[Item], masses: Mapping[str, tuple[float, float]]) -> dict[Item, Item]:
    """Return each kind of thing with its key and mass; full cylinders first, whatever the order of lines."""
    kinds = list(ItemKind)

    def order(thing: Item) -> tuple[object, ...]:
        lot = thing.lot
        rest = () if lot is None else (lot.gauge_psi, lot.litres, lot.residual_psi, lot.temperature_c, lot.change_min)
        return (kinds.index(thing.kind), _name(bench, thing), tuple(number or 0.0 for number in rest))

    keys = Keys()
    items = {}
    for thing in sorted(set(things), key=order):
        full_kg, empty_kg = masses.get(thing.cylinder, (0.0, 0.0))
        kg = empty_kg if thing.kind is ItemKind.EMPTY else full_kg
        items[thing] = dataclasses.replace(thing, key=keys.make(_name(bench, thing)), kg=kg)
    return items


def _name(bench: Bench, thing: Item) -> str:
    """Return what a thing is called: a cylinder with its pressure, and with what is unusual about it."""
    if thing.kind is ItemKind.EMPTY:
        return f"{thing.cylinder}, empty"
    lot = thing.lot
    if lot is None or lot.cylinder is None or lot.gauge_psi is None:
        return thing.outlets.key if thing.outlets else thing.device
    full = lot.gauge_psi == lot.cylinder.full_psi
    parts = [f"{thing.cylinder}, full" if full else f"{thing.cylinder} at {bench.pressure(lot.gauge_psi)}"]
    if lot.residual_psi is not None and lot.residual_psi != bench.residual:
        parts.append(f"above {bench.pressure(lot.residual_psi)}")
    if lot.gas_model is not None and lot.gas_model is not lot.cylinder.gas_model:
        parts.append(f"by {lot.gas_model.value}")
    if lot.temperature_c is not None:
        parts.append(f"read at {lot.temperature_c:g} °C")
    if lot.change_min != lot.cylinder.change_min:
        parts.append(f"change {format_duration(lot.change_min)}")
    return ", ".join(parts)


def _masses(bench: Bench, part: written.NetworkPart, things: Iterable[Item]) -> dict[str, tuple[float, float]]:
    """Return what one of each kind of cylinder weighs, full and empty [kg]; 0 where it does not matter."""
    masses = {}
    for kind in sorted({thing.cylinder for thing in things if thing.cylinder}):
        cylinder = bench.cylinders[kind]
        full = part.cylinder_masses.get(kind, cylinder.full_kg)
        if full is None:
            _ask_for_mass(bench, part, kind)
            masses[kind] = (0.0, 0.0)
            continue
        empty = full - cylinder.content_l * free_density(cylinder.reference_c) / 1000
        own = kind in part.cylinder_masses
        if empty <= 0:
            rule = "is less than the gas in it weighs"
            path: Where = ("network", "cylinder masses", kind)
            bench.wrong(path, rule, "Write what a full cylinder weighs.", f"{full:g} kg")
        source = PLANNER if own else Source(cylinder.source.text, Basis.MEMORY)
        bench.assume(f"mass of one {kind}", f"{full:g} kg full, {empty:.1f} kg empty", source)
        masses[kind] = (full, empty)
    bench.assume(
        "mass of regulators and devices on a vehicle", "not counted", Source("they weigh little", Basis.ASSUMPTION)
    )
    return masses


def _ask_for_mass(bench: Bench, part: written.NetworkPart, kind: str) -> None:
    """Note a mistake where a payload is limited and a cylinder on it has no mass."""
    for index, line in enumerate(part.vehicles):
        if line.payload is not None and kind in line.slots:
            rule = f"no mass of one {kind} is known, and the payload of this vehicle is limited"
            fix = f"Add a line such as cylinder masses: {{{kind}: 16 kg}} to the network."
            bench.wrong(("network", "vehicles", index, "payload"), rule, fix)
            return
