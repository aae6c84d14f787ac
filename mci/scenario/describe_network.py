"""Places, roads, vehicles and what they can carry, as tables."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from mci.scenario.columns import Column, Table, show_span
from mci.scenario.describe_supplies import ALWAYS
from mci.scenario.network import PlaceKind
from mci.units import format_duration, format_litres

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from mci.scenario.model import Scenario
    from mci.scenario.network import Network, Place, Vehicle, Window

__all__ = ["network_headline", "network_tables"]


def network_tables(scenario: Scenario) -> tuple[Table, ...]:
    """Return the tables of a network, none where there is no network."""
    network = scenario.network
    if network is None:
        return ()
    return (
        _places(scenario, network),
        _stock(scenario, network),
        _roads(scenario, network),
        _vehicles(scenario, network),
    )


def network_headline(network: Network) -> str:
    """Return the network in one sentence."""
    places = sum(1 for place in network.places if place.kind is not PlaceKind.AREA)
    lots = [(network.items[stock.item].lot, stock.quantity) for stock in network.stock if not stock.source]
    cylinders = sum(quantity for lot, quantity in lots if lot is not None)
    litres = sum(lot.litres * quantity for lot, quantity in lots if lot is not None)
    crews = "" if math.isinf(network.crews) else f"; {network.crews:.0f} people under way at most"
    return (
        f"Network: {_number(places, 'place')} besides the areas, {_number(len(network.vehicles), 'vehicle')}, "
        f"{_number(cylinders, 'full cylinder')} elsewhere with {format_litres(litres)}{crews}."
    )


def _number(count: int, what: str) -> str:
    return f"{count} {what}{'s' if count != 1 else ''}"


def _spans(scenario: Scenario, windows: Sequence[Window]) -> str:
    """Say when; the same hours of several days are told by the first."""
    shown = [show_span(scenario, window.start, window.end) for window in windows[:2]]
    return "; ".join(shown) + (f"; and {len(windows) - 2} more" if len(windows) > 2 else "")


def _minutes(windows: Sequence[Window]) -> list[list[float | None]]:
    """Return stretches of time as programs read them; ``None`` stands for no end."""
    return [[window.start, None if math.isinf(window.end) else window.end] for window in windows]


def _places(scenario: Scenario, network: Network) -> Table:
    rows = [
        (
            place.key,
            place.title,
            place.kind.value,
            _spans(scenario, place.open),
            _minutes(place.open),
            place.lead,
            sorted(place.filling.cylinders) if place.filling else [],
            place.filling.per_hour if place.filling else 0.0,
            place.filling.litres_per_hour if place.filling else 0.0,
            _does(place),
        )
        for place in network.places
        if place.kind is not PlaceKind.AREA
    ]
    columns = (
        Column("place", "place"),
        Column("", "title"),
        Column("kind", "kind"),
        Column("open", "", usual=ALWAYS),
        Column("", "open_min"),
        Column("", "lead_min"),
        Column("", "fills"),
        Column("", "fills_cylinders_per_hour"),
        Column("", "fills_litres_per_hour"),
        Column("note", ""),
    )
    return Table("Places of the network, besides the areas", "places", columns, tuple(rows))


def _does(place: Place) -> str:
    if place.lead:
        return f"ready {format_duration(place.lead)} after a request"
    if place.filling is None:
        return ""
    rates = [f"{place.filling.per_hour:g} an hour"] if math.isfinite(place.filling.per_hour) else []
    if math.isfinite(place.filling.litres_per_hour):
        rates.append(f"{format_litres(place.filling.litres_per_hour)} an hour")
    return f"fills {', '.join(sorted(place.filling.cylinders))}: at most {' and '.join(rates)}"


def _stock(scenario: Scenario, network: Network) -> Table:
    rows = [
        (
            stock.place,
            stock.item,
            network.items[stock.item].kind.value,
            stock.quantity,
            _held(network, stock.item) * stock.quantity,
            network.items[stock.item].kg,
            stock.available_from,
            show_span(scenario, stock.available_from),
            stock.source,
            "lent while unused" if stock.source else "",
        )
        for stock in network.stock
    ]
    columns = (
        Column("place", "place", once=True),
        Column("thing", "thing"),
        Column("", "kind"),
        Column("number", "number", right=True),
        Column("usable", "usable_litres", lambda litres: format_litres(litres) if litres else "", right=True),
        Column("kg each", "kg_each", lambda kg: f"{kg:.1f}" if kg else "", right=True),
        Column("", "from_min"),
        Column("there", "", usual=ALWAYS),
        Column("", "lent_from_supply"),
        Column("note", ""),
    )
    return Table("What can be carried", "stock", columns, tuple(rows))


def _held(network: Network, item: str) -> float:
    lot = network.items[item].lot
    return 0.0 if lot is None else lot.litres


def _roads(scenario: Scenario, network: Network) -> Table:
    columns = (
        Column("road or path", "road"),
        Column("from", "from"),
        Column("to", "to"),
        Column("", "both_ways"),
        Column("", "on_foot"),
        Column("", "minutes"),
        Column("time", ""),
        Column("closed", ""),
        Column("", "closed_min"),
    )
    return Table("Roads and paths", "roads", columns, tuple(_road_rows(scenario, network)))


def _road_rows(scenario: Scenario, network: Network) -> Iterator[tuple[Any, ...]]:
    ends = {(road.key, road.start, road.end) for road in network.roads}
    for road in network.roads:
        both = (road.key, road.end, road.start) in ends
        if both and road.start > road.end:
            continue  # told with the other way
        yield (
            road.key,
            road.start,
            f"{road.end} and back" if both else road.end,
            both,
            road.on_foot,
            road.minutes,
            format_duration(road.minutes) + (" on foot" if road.on_foot else ""),
            _spans(scenario, road.closed),
            _minutes(road.closed),
        )


def _vehicles(scenario: Scenario, network: Network) -> Table:
    rows = [
        (
            vehicle.key,
            vehicle.on_foot,
            vehicle.place,
            dict(vehicle.slots),
            ", ".join(f"{number} {cylinder}" for cylinder, number in vehicle.slots.items()),
            vehicle.payload_kg,
            vehicle.crew,
            vehicle.loading,
            vehicle.unloading,
            _stops(vehicle),
            vehicle.available_from,
            vehicle.available_until,
            show_span(scenario, vehicle.available_from, vehicle.available_until),
        )
        for vehicle in network.vehicles
    ]
    columns = (
        Column("vehicle", "vehicle"),
        Column("", "on_foot"),
        Column("at", "at"),
        Column("", "slots"),
        Column("takes, each kind", ""),
        Column("payload", "payload_kg", lambda kg: "no limit" if math.isinf(kg) else f"{kg:g} kg", right=True),
        Column("crew", "crew", right=True),
        Column("", "loading_min"),
        Column("", "unloading_min"),
        Column("load, unload", ""),
        Column("", "from_min"),
        Column("", "until_min"),
        Column("there", "", usual=ALWAYS),
    )
    return Table("Vehicles, and people on foot", "vehicles", columns, tuple(rows))


def _stops(vehicle: Vehicle) -> str:
    return f"{vehicle.loading:g} min, {vehicle.unloading:g} min"
