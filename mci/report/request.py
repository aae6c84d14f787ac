"""What must be asked for, as lines of a resource request with the block titles of the ICS 213 RR.

Titles of the blocks: ICS 213 RR, in an adapted copy of February 2011 (docsbay.net/doc/1166133); the requested and
the estimated arrival in block 4 are from memory.  The layout is our own.  Asked for is what trips bring from
depots, suppliers and fill stations; what they move between areas and staging is in hand already.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.catalogue.load import load_catalogue
from mci.report.departures import is_urgent
from mci.report.trip_words import TripWords, unloading_stops
from mci.report.words import NOISE, join_words, moment
from mci.scenario.network import ItemKind, PlaceKind
from mci.units import format_flow, format_litres, format_pressure

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from mci.catalogue.model import Cylinder
    from mci.pipeline_resupply import ResupplyRun
    from mci.plan.trips import Stop, Trip
    from mci.resupply.schedule import Departure
    from mci.scenario.model import Scenario
    from mci.scenario.network import Item, Network

__all__ = ["BLOCKS_SOURCE", "PRIORITIES", "RequestForm", "RequestLine", "ShownLine", "request_forms", "request_lines"]

BLOCKS_SOURCE = (
    "Block titles as in ICS 213 RR (adapted copy of February 2011, docsbay.net/doc/1166133; arrival requested and "
    "estimated from memory); the layout is our own."
)
#: Words of block 9; the planner may change what is proposed.
PRIORITIES = ("Urgent", "Routine", "Low")
_OUTSIDE = {PlaceKind.DEPOT, PlaceKind.SUPPLIER, PlaceKind.FILL_STATION}
_KINDS = {ItemKind.FULL: "cylinder", ItemKind.REGULATOR: "regulator", ItemKind.DEVICE: "device"}
_LINES_PER_FORM = 8  # so that a form fits on one page of A4 or Letter
_MOST_SUBSTITUTES = 3


@dataclass(frozen=True, slots=True)
class RequestLine:
    """One line of block 4, with what the other blocks say of it.

    Parameters
    ----------
    number
        Counted from 1 over the whole request.
    requested, estimated
        Moments of arrival, in hand [min]: at the latest, and as planned.
    source
        Title of the place from which the plan takes it.
    """

    number: int
    quantity: int
    kind: str
    type: str
    description: str
    requested: float
    estimated: float
    location: str
    substitutes: str
    source: str
    priority: str
    trip: str


@dataclass(frozen=True, slots=True)
class ShownLine:
    """A line of block 4 in words."""

    number: str
    quantity: str
    kind: str
    type: str
    description: str
    requested: str
    estimated: str


@dataclass(frozen=True, slots=True)
class RequestForm:
    """One page of the request: lines for one delivery location; ``part`` of ``parts`` where they need several.

    ``sources`` are the entries of block 7, ``priorities`` the words of block 9 with the lines to which each applies.
    """

    number: str
    location: str
    part: int
    parts: int
    shown: tuple[ShownLine, ...]
    sources: tuple[str, ...]
    priorities: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class _Brought:
    """So many things of one kind unloaded at a stop that were loaded at ``origin``."""

    stop: Stop
    item: str
    quantity: int
    origin: str


def request_lines(found: ResupplyRun) -> tuple[RequestLine, ...]:
    """Return the lines by delivery location, in the order of requested arrival; none where trips are impossible."""
    if found.findings:
        return ()
    words = TripWords(found.scenario)
    kinds = {place.key: place.kind for place in words.network.places}
    order = {place.key: number for number, place in enumerate(words.network.places)}
    brought = [
        (departure, each)
        for departure in found.schedule.departures
        for each in _brought(departure.trip, words.network)
        if kinds.get(each.origin) in _OUTSIDE
    ]

    def rank(pair: tuple[Departure, _Brought]) -> tuple[int, float, str]:
        departure, each = pair
        return order.get(each.stop.place, 0), _in_hand(departure, each, words.network), each.item

    brought.sort(key=rank)
    return tuple(_line(number, pair[0], pair[1], words, found.run.scenario) for number, pair in enumerate(brought, 1))


def request_forms(found: ResupplyRun) -> tuple[RequestForm, ...]:
    """Lay the lines out on forms: one or more per delivery location, each with a proposed number."""
    groups: dict[str, list[RequestLine]] = {}
    for line in request_lines(found):
        groups.setdefault(line.location, []).append(line)
    forms = []
    for place, (location, lines) in enumerate(groups.items(), 1):
        parts = -(-len(lines) // _LINES_PER_FORM)
        number = f"{found.scenario.sha256[:8]}-{place}"
        for part in range(parts):
            mine = lines[part * _LINES_PER_FORM : (part + 1) * _LINES_PER_FORM]
            forms.append(_form(number, location, part + 1, parts, mine, found.scenario.start))
    return tuple(forms)


def _form(
    number: str, location: str, part: int, parts: int, lines: Sequence[RequestLine], start: int | None
) -> RequestForm:
    shown = tuple(
        ShownLine(
            number=str(line.number),
            quantity=str(line.quantity),
            kind=line.kind,
            type=line.type,
            description=line.description,
            requested=moment(line.requested, start),
            estimated=moment(math.ceil(line.estimated - NOISE), start),
        )
        for line in lines
    )
    said: dict[str, list[int]] = {}
    for line in lines:
        substitutes = f"; substitutes: {line.substitutes}" if line.substitutes else ""
        said.setdefault(f"from {line.source}{substitutes}", []).append(line.number)
    sources = tuple(f"{_numbers(numbers).capitalize()}: {text}" for text, numbers in said.items())
    priorities = tuple(
        (word, _numbers(mine) if mine else "")
        for word in PRIORITIES
        for mine in ([line.number for line in lines if line.priority == word],)
    )
    return RequestForm(number, location, part, parts, shown, sources, priorities)


def _numbers(numbers: Sequence[int]) -> str:
    return f"line{'' if len(numbers) == 1 else 's'} {join_words([str(number) for number in numbers])}"


def _brought(trip: Trip, network: Network) -> Iterator[_Brought]:
    """Trace what is unloaded to where it was loaded; what was loaded first is unloaded first."""
    aboard: dict[str, list[tuple[str, int]]] = {}
    for stop in trip.stops:
        for cargo in stop.unload:
            if network.items[cargo.item].kind is not ItemKind.EMPTY:
                yield from _unload(stop, cargo.item, cargo.quantity, aboard.setdefault(cargo.item, []))
        for cargo in stop.load:
            aboard.setdefault(cargo.item, []).append((stop.place, cargo.quantity))


def _unload(stop: Stop, item: str, quantity: int, aboard: list[tuple[str, int]]) -> Iterator[_Brought]:
    while quantity and aboard:
        origin, there = aboard.pop(0)
        taken = min(there, quantity)
        quantity -= taken
        if there > taken:
            aboard.insert(0, (origin, there - taken))
        yield _Brought(stop, item, taken, origin)


def _in_hand(departure: Departure, each: _Brought, network: Network) -> float:
    """Return when a thing must be in hand [min]."""
    if each.stop is unloading_stops(departure.trip, network)[0]:
        return departure.arrive_by
    vehicle = next(vehicle for vehicle in network.vehicles if vehicle.key == departure.trip.vehicle)
    return each.stop.arrive + vehicle.unloading


def _estimated(departure: Departure, each: _Brought, requested: float, network: Network) -> float:
    """Return when the plan has the thing in hand [min], or where that cannot be told, as much earlier as it leaves."""
    number = departure.trip.stops.index(each.stop)
    stops = departure.planned.stops
    if number < len(stops) and stops[number].place == each.stop.place:
        vehicle = next(vehicle for vehicle in network.vehicles if vehicle.key == departure.planned.vehicle)
        return min(stops[number].arrive + vehicle.unloading, requested)
    return requested - departure.margin


def _line(number: int, departure: Departure, each: _Brought, words: TripWords, scenario: Scenario) -> RequestLine:
    item = words.network.items[each.item]
    requested = _in_hand(departure, each, words.network)
    return RequestLine(
        number=number,
        quantity=each.quantity,
        kind=_KINDS[item.kind],
        type=item.cylinder or (item.outlets.key if item.outlets else item.device),
        description=_describe(item, scenario),
        requested=requested,
        estimated=_estimated(departure, each, requested, words.network),
        location=words.place(each.stop.place),
        substitutes=", ".join(_substitutes(item, each.stop.place, scenario)),
        source=words.place(each.origin),
        priority="Urgent" if is_urgent(departure) else "Routine",
        trip=departure.trip.key,
    )


def _describe(item: Item, scenario: Scenario) -> str:
    """Say the vital characteristics of a thing."""
    weight = f"{item.kg:g} kg each" if item.kg > 0 else ""
    if item.lot is not None and item.lot.cylinder is not None:
        parts = _describe_cylinder(item.lot.cylinder, item.lot.gauge_psi, item.lot.litres_each, scenario)
    elif item.outlets is not None:
        outlets = item.outlets
        each, total = format_flow(outlets.outlet_max_lpm), format_flow(outlets.total_max_lpm)
        parts = [
            f"fits {', '.join(sorted(outlets.fits))}",
            f"{outlets.outlets} flow outlets of up to {each}, {total} in all",
        ]
    else:
        titles = {r.device.key: r.device.title for ladder in scenario.ladders.values() for r in ladder.rungs}
        parts = [titles.get(item.device, item.device)]
    return "; ".join(part for part in (*parts, weight) if part)


def _describe_cylinder(cylinder: Cylinder, gauge: float | None, litres: float, scenario: Scenario) -> list[str]:
    metric = scenario.pressures_in_bar
    full = format_pressure(cylinder.full_psi, metric=metric)
    now = "" if gauge is None else f"at {format_pressure(gauge, metric=metric)}, "
    return [
        f"oxygen, {now}{full} when full",
        f"valve: {cylinder.valve or 'outlets built in'}",
        f"{format_litres(litres)} usable each, {format_litres(cylinder.content_l)} when full",
    ]


def _substitutes(item: Item, place: str, scenario: Scenario) -> list[str]:
    """Name kinds of cylinder with the same valve, nearest in content, if a regulator there fits it."""
    if item.lot is None or item.lot.cylinder is None:
        return []
    wanted = item.lot.cylinder
    here = [stock for stock in scenario.regulators if stock.area == place] or list(scenario.regulators)
    if wanted.built_in is None and not any(wanted.valve in stock.outlets.fits for stock in here):
        return []
    alike = [
        other
        for other in load_catalogue().cylinders.values()
        if other.key != wanted.key and (other.region, other.valve) == (wanted.region, wanted.valve)
        and (other.built_in is None) == (wanted.built_in is None)
    ]  # fmt: skip
    alike.sort(key=lambda other: (abs(other.content_l - wanted.content_l), other.key))
    return [other.key for other in alike[:_MOST_SUBSTITUTES]]
