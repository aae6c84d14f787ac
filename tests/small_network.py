"""A small invented network around two areas, with one of every kind of place, for tests of trips.

::

    depot ---bridge 10--- a ---lane 5--- b ---ring 20--- filling
      |                   |  path 4 (on foot)
      +------ring 15------+--- yard 6 --- market (supplier)

``yard`` is staging; roads go both ways.
"""

from __future__ import annotations

import dataclasses
import math

from incidents import MADE_UP, ladder, outlet_set, patients, regulator, scenario

from mci.catalogue.model import Cylinder, GasModel
from mci.plan.trips import Cargo, Stop, Trip
from mci.scenario.model import Lot, LotKind, Scenario
from mci.scenario.network import (
    Filling,
    Item,
    ItemKind,
    Network,
    Place,
    PlaceKind,
    Road,
    Stock,
    Vehicle,
    Window,
)

__all__ = ["both_ways", "cylinder", "full_lot", "incident", "network", "stop", "trip", "vehicle"]

INF = math.inf
ALWAYS = (Window(0, INF),)


def cylinder(key: str, litres: float) -> Cylinder:
    """Return a kind of cylinder that is full at 2000 psi."""
    factor = litres / 1800  # so that it holds as much above 200 psi
    return Cylinder(
        key, "X", key, "", None, 2000 * factor, 21.1, 2000, factor, GasModel.FACTOR, "v", None, 2, None, MADE_UP
    )


def full_lot(kind: Cylinder, litres: float, quantity: int = 1, *, key: str = "", area: str = "", at: float = 0) -> Lot:
    """Return full cylinders of a kind."""
    return Lot(
        key=key,
        label=f"{quantity} x {kind.key} at 2000 psi",
        kind=LotKind.CYLINDER,
        area=area,
        quantity=quantity,
        litres=quantity * litres,
        litres_each=litres,
        valve="v",
        built_in=None,
        available_from=at,
        available_until=INF,
        change_min=2,
        watts_each=0,
        delivery="",
        cylinder=kind,
        gauge_psi=2000,
        residual_psi=200,
        gas_model=GasModel.FACTOR,
    )


SMALL, LARGE = cylinder("small", 450), cylinder("large", 4500)
ITEMS = {
    item.key: item
    for item in (
        Item("small full", ItemKind.FULL, 4, "small", full_lot(SMALL, 450)),
        Item("small half", ItemKind.FULL, 4, "small", dataclasses.replace(full_lot(SMALL, 200), gauge_psi=1000)),
        Item("small empty", ItemKind.EMPTY, 3, "small"),
        Item("large full", ItemKind.FULL, 70, "large", full_lot(LARGE, 4500)),
        Item("large empty", ItemKind.EMPTY, 60, "large"),
        Item("reg", ItemKind.REGULATOR, 1, outlets=outlet_set("reg")),
        Item("mask", ItemKind.DEVICE, 0.5, device="mask"),
    )
}


def both_ways(key: str, one: str, other: str, minutes: float, **more: object) -> tuple[Road, Road]:
    """Return a road that goes both ways."""
    return Road(key, one, other, minutes, **more), Road(key, other, one, minutes, **more)  # type: ignore[arg-type]


def vehicle(key: str, place: str, **changes: object) -> Vehicle:
    """Return a vehicle with 10 slots for small and 2 for large cylinders, 200 kg, 2 crew, 3 and 2 min a stop."""
    made = Vehicle(key, place, {"small": 10, "large": 2}, 200, 2, 3, 2, 0, INF)
    return dataclasses.replace(made, **changes)  # type: ignore[arg-type]


def network(**changes: object) -> Network:
    """Return the network, with some of its fields changed."""
    made = Network(
        places=(
            Place("a", "a", PlaceKind.AREA, ALWAYS),
            Place("b", "b", PlaceKind.AREA, ALWAYS),
            Place("depot", "depot", PlaceKind.DEPOT, (Window(0, 200), Window(260, 600))),
            Place("market", "market", PlaceKind.SUPPLIER, ALWAYS, lead=60),
            Place("filling", "filling", PlaceKind.FILL_STATION, (Window(30, 600),), filling=_filling()),
            Place("yard", "yard", PlaceKind.STAGING, ALWAYS),
            Place("corner", "corner", PlaceKind.JUNCTION, ALWAYS),
        ),
        roads=(
            *both_ways("bridge", "depot", "a", 10, closed=(Window(50, 100),)),
            *both_ways("lane", "a", "b", 5),
            *both_ways("path", "a", "b", 4, on_foot=True),
            *both_ways("ring west", "depot", "corner", 8),
            *both_ways("ring east", "corner", "a", 7),
            *both_ways("hill", "b", "filling", 20),
            *both_ways("gate", "a", "yard", 2),
            *both_ways("market road", "yard", "market", 6),
        ),
        vehicles=(
            vehicle("truck", "depot"),
            vehicle("van", "a", crew=1),
            vehicle("porters", "a", slots={"small": 2}, payload_kg=40, loading=1, unloading=1, on_foot=True),
        ),
        items=ITEMS,
        stock=(
            Stock("a", "small full", 3, 0, source="a small"),
            Stock("a", "reg", 2, 0, source="a-reg"),
            Stock("a", "small empty", 2, 0),
            Stock("depot", "small full", 20, 0),
            Stock("depot", "small half", 5, 0),
            Stock("depot", "large full", 4, 0),
            Stock("depot", "reg", 4, 0),
            Stock("depot", "mask", 50, 0),
            Stock("market", "small full", 20, 60),
            Stock("filling", "small empty", 2, 0),
        ),
        crews=INF,
    )
    return dataclasses.replace(made, **changes)  # type: ignore[arg-type]


def _filling() -> Filling:
    return Filling(frozenset({"small"}), per_hour=12, litres_per_hour=6000)


def incident(net: Network | None = None, **changes: object) -> Scenario:
    """Return an incident of ten hours with the network: one patient at each area, five small cylinders at ``a``."""
    made = scenario(
        horizon=600,
        ladders=[ladder("l", ("mask", 10, 1.0))],
        patients=[patients(1, "l"), dataclasses.replace(patients(1, "l", area="b"), label="other")],
        lots=[full_lot(SMALL, 450, 5, key="a small", area="a")],
        regulators=[regulator(2), regulator(1, area="b")],
        areas=("a", "b"),
    )
    return dataclasses.replace(made, network=net or network(), **changes)  # type: ignore[arg-type]


def stop(place: str, arrive: float, depart: float, *via: str, load: str = "", unload: str = "") -> Stop:
    """Return a stop; what is carried is written as ``6 small full, 1 reg``."""
    return Stop(place, arrive, depart, _cargo(unload), _cargo(load), via)


def _cargo(text: str) -> tuple[Cargo, ...]:
    parts = [part.strip().split(" ", 1) for part in text.split(",") if part.strip()]
    return tuple(Cargo(item, int(quantity)) for quantity, item in parts)


def trip(key: str, who: str, *stops: Stop) -> Trip:
    """Return a trip."""
    return Trip(key, who, stops)
