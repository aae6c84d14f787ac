"""Doubts about places, roads and vehicles; one function per rule."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from mci.scenario.doubt import Doubt, Question
from mci.scenario.network import ItemKind, PlaceKind
from mci.scenario.reach import Reach, fills
from mci.units import format_duration, format_moment

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from mci.scenario.model import Scenario
    from mci.scenario.network import Item, Network

__all__ = ["NETWORK_RULES", "network_doubts"]


class _Case(NamedTuple):
    """A scenario with its network, as the rules look at it."""

    scenario: Scenario
    network: Network
    reach: Reach

    def sources(self, item: Item) -> set[str]:
        """Return the places where a thing is, or comes to be: in stock, filled, or used up at an area."""
        there = {stock.place for stock in self.network.stock if stock.item == item.key}
        if item.kind is ItemKind.FULL:
            there |= {place.key for place in self.network.places if fills(self.network, place, item)}
        elif item.kind is ItemKind.EMPTY:
            there |= {lot.area for lot in self.scenario.lots if lot.cylinder and lot.cylinder.key == item.cylinder}
            full_ones = [full for full in self.supplies() if full.cylinder == item.cylinder]
            there |= {place for full in full_ones for place in self.reached(full)}
        return there

    def reached(self, item: Item) -> frozenset[str]:
        """Return the places that a thing can be brought to."""
        return self.reach.brought(item, self.sources(item))

    def supplies(self) -> list[Item]:
        """Return the things that areas want: all but empties."""
        return [item for item in self.network.items.values() if item.kind is not ItemKind.EMPTY]


def area_unreached(case: _Case) -> Iterator[Doubt]:
    """No road reaches an area from any place with something to give, or no vehicle brings it there."""
    sources = {place for item in case.supplies() for place in case.sources(item)}
    brought = {place for item in case.supplies() for place in case.reached(item)}
    for area in case.scenario.areas:
        if not any(area.key in case.reach.along(place, on_foot=None) for place in sources - {area.key}):
            yield Doubt("area-unreached", "no road or path leads there from any place with stock", area.key)
        elif area.key not in brought:
            what = "no vehicle that carries what is in stock can both load it and come there"
            yield Doubt("area-unreached", what, area.key)


def hand_over(case: _Case) -> Iterator[Doubt]:
    """Cylinders would have to change from one vehicle to another on the way, and no such trips are planned."""
    for area in case.reach.by_hand_over():
        what = "cylinders come there only from one vehicle to another, and no trips are planned that hand over"
        yield Doubt("hand-over", what, area)


def vehicle_fits_nothing(case: _Case) -> Iterator[Doubt]:
    """A vehicle has slots only for cylinders that are nowhere in the network."""
    kinds = {item.cylinder for item in case.network.items.values()}
    for vehicle in case.network.vehicles:
        if not kinds & set(vehicle.slots):
            what = f"'{vehicle.key}' has slots for {', '.join(vehicle.slots)} only, and none are in the network"
            yield Doubt("vehicle-fits-nothing", what)


def vehicle_goes_nowhere(case: _Case) -> Iterator[Doubt]:
    """No way leads from where a vehicle is."""
    for vehicle in case.network.vehicles:
        if len(case.reach.of(vehicle)) == 1:
            way = "path" if vehicle.on_foot else "road"
            yield Doubt("vehicle-goes-nowhere", f"no {way} leads from '{vehicle.place}', where '{vehicle.key}' is")


def vehicle_late(case: _Case) -> Iterator[Doubt]:
    """A vehicle may only be used when the plan is over."""
    for vehicle in case.network.vehicles:
        if vehicle.available_from >= case.scenario.horizon:
            what = f"'{vehicle.key}' may be used from {format_moment(vehicle.available_from)}"
            yield Doubt("vehicle-late", f"{what}, when the plan is over ({format_moment(case.scenario.horizon)})")


def crew_above_crews(case: _Case) -> Iterator[Doubt]:
    """A vehicle needs more people than may be under way at once."""
    for vehicle in case.network.vehicles:
        if vehicle.crew > case.network.crews:
            what = f"'{vehicle.key}' needs a crew of {vehicle.crew}, and {case.network.crews:.0f} people are there"
            yield Doubt("crew-above-crews", f"{what} for all vehicles: it never leaves")


def payload_below_one(case: _Case) -> Iterator[Doubt]:
    """A vehicle may not carry the weight of a single cylinder for which it has a slot."""
    for vehicle in case.network.vehicles:
        heavy = {
            item.cylinder: item.kg
            for item in case.network.items.values()
            if item.kind is ItemKind.FULL and item.cylinder in vehicle.slots and item.kg > vehicle.payload_kg
        }
        for cylinder, kg in heavy.items():
            what = f"'{vehicle.key}' has slots for {cylinder}; one weighs {kg:g} kg, more than its payload"
            yield Doubt("payload-below-one", f"{what} of {vehicle.payload_kg:g} kg")


def stock_stuck(case: _Case) -> Iterator[Doubt]:
    """No vehicle can carry something from where it is to an area, or an empty to a fill station."""
    for stock in case.network.stock:
        item = case.network.items[stock.item]
        goal = PlaceKind.FILL_STATION if item.kind is ItemKind.EMPTY else PlaceKind.AREA
        goals = {place.key for place in case.network.places if place.kind is goal}
        if stock.place not in goals and not case.reach.brought(item, {stock.place}) & goals:
            what = f"no vehicle can carry {stock.quantity} x {item.key} from '{stock.place}' to any {goal.value}"
            yield Doubt("stock-stuck", what)


def stock_late(case: _Case) -> Iterator[Doubt]:
    """Something is ready only when the plan is over; suppliers are told apart."""
    suppliers = {place.key for place in case.network.places if place.lead >= case.scenario.horizon}
    for stock in case.network.stock:
        if stock.available_from >= case.scenario.horizon and stock.place not in suppliers:
            what = f"{stock.quantity} x {stock.item} at '{stock.place}' are ready at "
            over = f", when the plan is over ({format_moment(case.scenario.horizon)})"
            yield Doubt("stock-late", what + format_moment(stock.available_from) + over)


def supplier_late(case: _Case) -> Iterator[Doubt]:
    """A supplier's lead time is as long as the plan or longer."""
    for place in case.network.places:
        if place.lead >= case.scenario.horizon:
            what = f"'{place.key}' needs {format_duration(place.lead)} from the request, and the plan is over by then"
            yield Doubt("supplier-late", f"{what} ({format_moment(case.scenario.horizon)})")


def place_closed(case: _Case) -> Iterator[Doubt]:
    """A place is not open at any time of the plan."""
    for place in case.network.places:
        if all(window.start >= case.scenario.horizon for window in place.open):
            yield Doubt("place-closed", f"'{place.key}' is not open at any time of the plan")


def station_without_empties(case: _Case) -> Iterator[Doubt]:
    """No empties that a fill station fills can come there."""
    for place in case.network.places:
        if place.filling is None:
            continue
        empties = [item for item in case.network.items.values() if item.kind is ItemKind.EMPTY]
        kinds = [item for item in empties if item.cylinder in place.filling.cylinders]
        if not any(place.key in case.sources(item) | case.reached(item) for item in kinds):
            what = (
                f"no empty {' or '.join(sorted(place.filling.cylinders))} can be brought to '{place.key}' to be filled"
            )
            yield Doubt("station-without-empties", what)


def cylinder_without_regulator(case: _Case) -> Iterator[Doubt]:
    """Cylinders can be brought to an area where no regulator fits them, and none that fits can come."""
    mobile = [item.outlets for item in case.network.items.values() if item.outlets is not None]
    told = set()
    for item in case.supplies():
        if item.lot is None or item.lot.built_in is not None:
            continue
        valve = item.lot.valve
        for area in case.scenario.areas:
            there = [stock.outlets for stock in case.scenario.regulators if stock.area == area.key]
            fits = any(valve in outlets.fits for outlets in (*there, *mobile))
            if not fits and area.key in case.reached(item) and (area.key, item.cylinder) not in told:
                told.add((area.key, item.cylinder))
                what = (
                    f"{item.cylinder} can be brought there, but no regulator there or in the network fits its {valve}"
                )
                yield Doubt("cylinder-without-regulator", f"{what} valve", area.key)


def device_on_no_ladder(case: _Case) -> Iterator[Doubt]:
    """A device is in stock that no patient's ladder uses."""
    used = {rung.device.key for ladder in case.scenario.ladders.values() for rung in ladder.rungs}
    lent = {stock.item for stock in case.network.stock if stock.source}
    for item in case.network.items.values():
        if item.device and item.device not in used and item.key not in lent:
            yield Doubt("device-on-no-ladder", f"{item.device} is in stock, and no patient's ladder uses it")


NETWORK_RULES: tuple[Callable[[_Case], Iterator[Doubt]], ...] = (
    area_unreached,
    hand_over,
    stock_stuck,
    stock_late,
    supplier_late,
    place_closed,
    station_without_empties,
    vehicle_fits_nothing,
    vehicle_goes_nowhere,
    vehicle_late,
    crew_above_crews,
    payload_below_one,
    cylinder_without_regulator,
    device_on_no_ladder,
)


def network_doubts(q: Question) -> Iterator[Doubt]:
    """Something in the network is doubtful, where the planner wrote one."""
    network = q.scenario.network
    if network is not None:
        case = _Case(q.scenario, network, Reach(network, q.scenario.horizon))
        for rule in NETWORK_RULES:
            yield from rule(case)
