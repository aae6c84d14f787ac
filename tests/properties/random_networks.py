"""Random small networks for Hypothesis, and trips on them that can be carried out, found by driving about."""

from __future__ import annotations

import dataclasses
from collections import Counter

from hypothesis import strategies as st
from incidents import patients
from joint import ALWAYS, INF, ITEMS, area, depot, errand, truck
from small_network import both_ways, full_lot

from mci.plan.trips import Cargo, Stop, Trip
from mci.resupply.routes import Routes
from mci.scenario.model import Scenario
from mci.scenario.network import Filling, ItemKind, Network, Place, PlaceKind, Road, Stock, Vehicle, Window

__all__ = ["HORIZON", "countries", "tours"]

HORIZON = 120.0
WHOLE = (10.0, 10.0, 20.0, 40.0)
HANDLING = (0.0, 10.0, 20.0)


@st.composite
def _places(draw: st.DrawFn, areas: tuple[str, ...]) -> tuple[Place, ...]:
    hours = draw(st.sampled_from([ALWAYS, (Window(30, 90),), (Window(0, 20), Window(50, INF))]))
    per_hour, litres = draw(st.sampled_from([(6, INF), (INF, 3000), (12, 2000)]))
    station = Place("f", "f", PlaceKind.FILL_STATION, hours, filling=Filling(frozenset({"small"}), per_hour, litres))
    more = draw(st.sampled_from([(Place("s", "s", PlaceKind.STAGING, ALWAYS), station), (station,), (depot("e"),), ()]))
    return (*map(area, areas), depot("d"), *more)


@st.composite
def _roads(draw: st.DrawFn, places: tuple[Place, ...], minutes: st.SearchStrategy[float]) -> tuple[Road, ...]:
    """Join each place to one before it, and perhaps two more; one road may be closed for a while."""
    keys = [place.key for place in places]
    pairs = [(draw(st.sampled_from(keys[:n])), key) for n, key in enumerate(keys) if n]
    pairs += draw(st.lists(st.tuples(*[st.sampled_from(keys)] * 2).filter(lambda pair: pair[0] != pair[1]), max_size=2))
    closed = draw(st.sampled_from([(), (), (Window(20, 60),)]))
    return tuple(
        road
        for number, (one, other) in enumerate(pairs)
        for road in both_ways(f"r{number}", one, other, draw(minutes), closed=() if number else closed)
    )


@st.composite
def _vehicles(draw: st.DrawFn, places: tuple[Place, ...], handling: st.SearchStrategy[float]) -> tuple[Vehicle, ...]:
    return tuple(
        truck(
            f"t{number}",
            draw(st.sampled_from(["d", "d", places[-1].key, "a"])),
            slots={"small": draw(st.sampled_from([4, 2, 1])), "large": draw(st.sampled_from([1, 0]))},
            payload_kg=draw(st.sampled_from([INF, 12.0, 30.0])),
            crew=draw(st.integers(1, 2)),
            loading=draw(handling),
            unloading=draw(handling),
            available_from=draw(st.sampled_from([0.0, 0.0, 10.0])),
        )
        for number in range(draw(st.integers(1, 2)))
    )


@st.composite
def countries(draw: st.DrawFn, *, whole: bool = True) -> Scenario:
    """Draw an incident with a network.

    Parameters
    ----------
    whole
        Whether all times are multiples of 10 min.
    """
    areas = draw(st.sampled_from([("a",), ("a", "b")]))
    places = draw(_places(areas))
    times = st.sampled_from(WHOLE) if whole else st.sampled_from([3.0, 8.0, 12.5, 19.0, 31.0])
    handling = st.sampled_from(HANDLING) if whole else st.sampled_from([0.0, 2.0, 6.5, 13.0, 24.0])
    heaps = {("d", "small full"): 5, ("d", "large full"): 1, ("d", "reg"): 3}
    heaps |= {("f", "small empty"): 5} if any(place.filling for place in places) else {}
    heaps |= {("e", "small full"): 3} if any(place.key == "e" for place in places) else {}
    stock = [
        Stock(*key, draw(st.sampled_from([most, most, 1, 0])), draw(st.sampled_from([0.0, 0.0, 30.0])))
        for key, most in heaps.items()
    ]
    own = draw(st.sampled_from([0, 0, 1, 3]))
    if own and draw(st.booleans()):
        stock.append(Stock("a", "small full", own, 0.0, "own"))  # lent
    made = errand(
        horizon=HORIZON,
        people=[
            patients(
                draw(st.integers(1, 3)), "one", area=each, category=draw(st.sampled_from(["immediate", "delayed"]))
            )
            for each in areas
        ],
        regulators=draw(st.sampled_from([0, 1, 2, 3])),
        places=places,
        roads=draw(_roads(places, times)),
        vehicles=draw(_vehicles(places, handling)),
        stock=tuple(each for each in stock if each.quantity),
        crews=draw(st.sampled_from([INF, INF, 2.0])),
    )
    lots = (full_lot(ITEMS["small full"].lot.cylinder, 300, own, key="own", area="a"),) if own else ()
    return dataclasses.replace(made, lots=lots)


class _Yard:
    """What is where; whoever comes first takes it."""

    def __init__(self, net: Network) -> None:
        self._net = net
        self._taken: Counter[tuple[str, str]] = Counter()
        self._kind = {place.key: place.kind for place in net.places}

    def ready(self, place: str, at: float) -> dict[str, int]:
        """Return what can be loaded at a place at a moment, but empties."""
        found: Counter[str] = Counter()
        for each in self._net.stock:
            if each.place == place and each.available_from <= at + 1e-9:
                found[each.item] += each.quantity
        found["small full"] += self._filled(place, at, found.pop("small empty", 0))
        return {
            item: count - self._taken[place, item] for item, count in found.items() if count > self._taken[place, item]
        }

    def _filled(self, place: str, at: float, empties: int) -> int:
        filling = next(each.filling for each in self._net.places if each.key == place)
        hours = next(each.open for each in self._net.places if each.key == place)
        if filling is None or not empties:
            return 0
        begun = min((each.available_from for each in self._net.stock if each.item == "small empty"), default=INF)
        minutes = sum(max(0.0, min(each.end, at) - max(each.start, begun)) for each in hours)
        return min(empties, int(min(filling.per_hour, filling.litres_per_hour / 300) * minutes / 60 + 1e-9))

    def take(self, place: str, load: dict[str, int]) -> None:
        """Take what is loaded."""
        for item, count in load.items():
            self._taken[place, item] += count


@st.composite
def tours(draw: st.DrawFn, incident: Scenario) -> list[Trip]:
    """Draw trips that can be carried out: vehicle by vehicle, from place to place at random.

    At a place other than an area vehicles load, at areas they unload, and may take what the area lends.
    """
    net = incident.network
    assert net is not None
    yard, busy, trips = _Yard(net), [], []
    for vehicle in net.vehicles:
        stops, legs = _round(draw, net, vehicle, yard)
        if len(stops) > 1 and _enough_people(net, [*busy, *legs]):
            busy += legs
            trips.append(Trip(vehicle.key, vehicle.key, tuple(stops)))
    return trips


def _round(
    draw: st.DrawFn, net: Network, vehicle: Vehicle, yard: _Yard
) -> tuple[list[Stop], list[tuple[float, float, int]]]:
    routes = Routes(net, on_foot=vehicle.on_foot)
    keys = [place.key for place in net.places]
    areas = {place.key for place in net.places if place.kind is PlaceKind.AREA}
    towards = keys + sorted(areas) * 3
    here, at, aboard = vehicle.place, vehicle.available_from, Counter[str]()
    stops: list[Stop] = []
    legs: list[tuple[float, float, int]] = []
    for number in range(draw(st.integers(2, 6))):
        there = (
            here
            if number == 0
            else draw(st.sampled_from([key for key in (keys if here in areas else towards) if key != here]))
        )
        if number:
            leg = routes.soonest(here, there, at + draw(st.sampled_from([0.0, 0.0, 5.0])))
            if leg is None or leg.arrive + vehicle.unloading + vehicle.loading > HORIZON:
                break
            stops[-1] = dataclasses.replace(stops[-1], depart=leg.depart, via=leg.roads)
            legs.append((leg.depart, leg.arrive, vehicle.crew))
            here, at = there, leg.arrive
        arrive, unload = at, Counter[str]()
        if here in areas:
            unload = Counter(
                {item: draw(st.sampled_from([count, count, count // 2])) for item, count in aboard.items()}
            )
            aboard -= unload
            at += vehicle.unloading * bool(unload.total())
        load = _choose(draw, net, vehicle, aboard, yard.ready(here, at))
        yard.take(here, load)
        aboard += load
        at += vehicle.loading * bool(load.total())
        stops.append(Stop(here, arrive, at, _cargo(unload), _cargo(load)))
    return stops, legs


def _cargo(things: Counter[str]) -> tuple[Cargo, ...]:
    return tuple(Cargo(item, count) for item, count in sorted(things.items()) if count)


def _choose(
    draw: st.DrawFn, net: Network, vehicle: Vehicle, aboard: Counter[str], ready: dict[str, int]
) -> Counter[str]:
    load: Counter[str] = Counter()
    for item, count in ready.items():
        thing = net.items[item]
        most = count
        if thing.kind is ItemKind.FULL:
            most = min(most, vehicle.slots.get(thing.cylinder, 0) - aboard[item])
        weight = sum(net.items[each].kg * number for each, number in (aboard + load).items())
        if vehicle.payload_kg < INF:
            most = min(most, int((vehicle.payload_kg - weight) / thing.kg))
        if most > 0:
            load[item] = draw(st.sampled_from([most, most, most, most // 2, 0]))
    return load


def _enough_people(net: Network, legs: list[tuple[float, float, int]]) -> bool:
    """Tell whether there are never more people under way than there are."""
    starts = [depart for depart, _, _ in legs]
    return all(sum(crew for d, a, crew in legs if d <= at < a) <= net.crews for at in starts)
