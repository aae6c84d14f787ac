"""Places, roads and vehicles of the network; what is carried is built in :mod:`mci.scenario.build_stock`."""

from __future__ import annotations

import math
import re
from types import MappingProxyType
from typing import TYPE_CHECKING

from mci.catalogue.model import Basis, Source
from mci.scenario import schema_network as written
from mci.scenario.bench import PLANNER
from mci.scenario.build_stock import build_stock
from mci.scenario.network import Filling, Network, Place, PlaceKind, Road, Vehicle, Window

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from mci.scenario.bench import Bench
    from mci.scenario.model import DeviceStock, Lot, RegulatorStock
    from mci.scenario.yaml_positions import Where

__all__ = ["build_network"]

_ALWAYS = (Window(0.0, math.inf),)
_KINDS = {
    written.Depot: PlaceKind.DEPOT,
    written.Supplier: PlaceKind.SUPPLIER,
    written.FillStation: PlaceKind.FILL_STATION,
    written.Staging: PlaceKind.STAGING,
    written.Junction: PlaceKind.JUNCTION,
}


def build_network(
    bench: Bench, lots: Sequence[Lot], regulators: Sequence[RegulatorStock], devices: Sequence[DeviceStock]
) -> Network | None:
    """Return the network; ``None`` where the planner wrote none.

    Parameters
    ----------
    lots, regulators, devices
        What the areas have, with its keys: an area may lend it.
    """
    part = bench.file.network
    if part is None:
        return None
    taken: set[str] = set()
    places = _places(bench, part, taken)
    items, stock = build_stock(bench, part, places, (*lots, *regulators, *devices))
    network = Network(
        places=places,
        roads=_roads(bench, part, taken),
        vehicles=_vehicles(bench, part, taken),
        items=items,
        stock=stock,
        crews=math.inf if part.crews is None else float(part.crews),
    )
    _assume(bench, network)
    return network


def _places(bench: Bench, part: written.NetworkPart, taken: set[str]) -> tuple[Place, ...]:
    places = [Place(key, title, PlaceKind.AREA, _ALWAYS) for key, title in bench.file.areas.items()]
    for index, line in enumerate(part.places):
        path: Where = ("network", "places", index)
        place = _place(bench, path, line)
        if any(place.key == area for area in bench.file.areas):
            bench.wrong(
                (*path, place.kind.value), "an area has this name", "Areas are places by themselves.", place.key
            )
        places.append(place)
    named = [
        (("network", "places", index, p.kind.value), p.key) for index, p in enumerate(places[len(bench.file.areas) :])
    ]
    _once(bench, named, taken)
    return tuple(places)


def _place(bench: Bench, path: Where, line: written.PlaceLine) -> Place:
    kind = _KINDS[type(line)]
    key: str = getattr(line, kind.value.replace(" ", "_"))
    return Place(
        key=key,
        title=line.title or key,
        kind=kind,
        open=_ALWAYS if isinstance(line, written.Junction) else _hours(bench, path, line.open, line.open_daily),
        lead=line.lead if isinstance(line, written.Supplier) else 0.0,
        filling=_filling(line) if isinstance(line, written.FillStation) else None,
    )


def _filling(line: written.FillStation) -> Filling:
    return Filling(
        cylinders=frozenset(line.fills),
        per_hour=math.inf if line.per_hour is None else line.per_hour,
        litres_per_hour=math.inf if line.litres_per_hour is None else line.litres_per_hour,
    )


def _hours(
    bench: Bench, path: Where, spans: Sequence[written.Span] | None, daily: written.DailyHours | None
) -> tuple[Window, ...]:
    if spans is not None:
        return _windows(spans)
    if daily is None:
        return _ALWAYS
    start = bench.file.incident.start
    if start is None:
        rule = "hours of the day need the clock time at which the incident starts"
        bench.wrong((*path, "open daily"), rule, "Add a line such as start: 14:35 to the incident, or write 'open'.")
        return _ALWAYS
    return tuple(_daily(start, daily, bench.horizon))


def _daily(start: int, hours: written.DailyHours, horizon: float) -> Iterable[Window]:
    """Yield the hours of each day that begin before the end of the plan, in minutes after T+0."""
    length = (hours.until - hours.from_) % 1440
    begins = (hours.from_ - start) % 1440 - 1440
    while begins < horizon:
        if begins + length > 0:
            yield Window(float(max(0, begins)), float(begins + length))
        begins += 1440


def _windows(spans: Iterable[written.Span]) -> tuple[Window, ...]:
    """Return stretches of time in their order; those that touch are one."""
    windows: list[Window] = []
    for span in spans:
        start, end = span.from_ or 0.0, math.inf if span.until is None else span.until
        if windows and windows[-1].end == start:
            start = windows.pop().start
        windows.append(Window(start, end))
    return tuple(windows)


def _roads(bench: Bench, part: written.NetworkPart, taken: set[str]) -> tuple[Road, ...]:
    named: list[tuple[Where, str]] = []
    roads: list[Road] = []
    for index, line in enumerate(part.roads):
        on_foot = isinstance(line, written.Path)
        key, minutes = (line.path, line.walk) if isinstance(line, written.Path) else (line.road, line.drive)
        named.append((("network", "roads", index, "path" if on_foot else "road"), key))
        closed = _windows(line.closed or ())
        roads += [Road(key, start, end, minutes, closed, on_foot) for start, end in line.ends]
    _once(bench, named, taken)
    for path, key in named:
        if ">" in key:
            bench.wrong(path, "must not contain '>', which parts the roads of a way in trips.csv", "Leave it out.", key)
    return tuple(sorted(roads, key=lambda road: (_natural(road.key), road.start, road.end)))


def _vehicles(bench: Bench, part: written.NetworkPart, taken: set[str]) -> tuple[Vehicle, ...]:
    named: list[tuple[Where, str]] = []
    vehicles: list[Vehicle] = []
    paths = {start for line in part.roads if isinstance(line, written.Path) for start, _ in line.ends}
    for index, line in enumerate(part.vehicles):
        path: Where = ("network", "vehicles", index)
        on_foot = isinstance(line, written.Porters)
        key = line.porters if isinstance(line, written.Porters) else line.vehicle
        named.append(((*path, "porters" if on_foot else "vehicle"), key))
        if on_foot and line.at not in paths:
            fix = "Add a path to 'roads', or write vehicle instead of porters."
            bench.wrong(
                (*path, "at"), "no path leads away from there, and people on foot take paths only", fix, line.at
            )
        vehicles.append(_vehicle(line, key, on_foot=on_foot))
    _once(bench, named, taken)
    return tuple(sorted(vehicles, key=lambda vehicle: _natural(vehicle.key)))


def _vehicle(line: written.VehicleLine, key: str, *, on_foot: bool) -> Vehicle:
    return Vehicle(
        key=key,
        place=line.at,
        slots=MappingProxyType(dict(sorted(line.slots.items()))),
        payload_kg=math.inf if line.payload is None else line.payload,
        crew=line.crew,
        loading=line.loading,
        unloading=line.unloading,
        available_from=line.from_ or 0.0,
        available_until=math.inf if line.until is None else line.until,
        on_foot=on_foot,
    )


def _once(bench: Bench, named: Iterable[tuple[Where, str]], taken: set[str]) -> None:
    """Note a mistake for every name that was used before, be it for a place, a road or a vehicle: they can be lost."""
    for path, key in named:
        if key in taken:
            bench.wrong(path, "this name is used twice", "Give each its own name.", key)
        taken.add(key)


def _natural(key: str) -> list[str | int]:
    """Return what sorts ``truck 2`` before ``truck 10``."""
    return [int(part) if part.isdecimal() else part for part in re.split(r"(\d+)", key)]


def _assume(bench: Bench, network: Network) -> None:
    bench.assume("travel times of the network", "as written, without traffic", PLANNER)
    if any(place.filling for place in network.places):
        source = Source("the programme only counts what a fill station gives back", Basis.ASSUMPTION)
        bench.assume("filling of cylinders", "by the rules of licensed practice, up to full pressure", source)
