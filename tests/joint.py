"""Small programmes of transport and allocation: to begin with one area, one depot, one road, one truck."""

from __future__ import annotations

import dataclasses
import math

from incidents import ladder, outlet_set, patients, regulator, scenario
from small_network import LARGE, SMALL, both_ways, full_lot

from mci.lp.haul_plan import HaulPlan, Joint, plan_hauls, write_joint
from mci.lp.outcome import Status
from mci.resupply.steps import count_own, find_grants, make_haulage, without_lent
from mci.scenario.model import Patients, Scenario
from mci.scenario.network import Item, ItemKind, Network, Place, PlaceKind, Stock, Vehicle, Window
from mci.settings import Settings

__all__ = [
    "ALWAYS",
    "COUNTRY",
    "INF",
    "ITEMS",
    "area",
    "bound",
    "depot",
    "errand",
    "joint",
    "plan",
    "truck",
]

INF = math.inf
ALWAYS = (Window(0, INF),)
#: 300 L and 1200 L: at 10 L/min half an hour and two hours.
ITEMS = {
    item.key: item
    for item in (
        Item("small full", ItemKind.FULL, 5, "small", full_lot(SMALL, 300)),
        Item("small empty", ItemKind.EMPTY, 4, "small"),
        Item("large full", ItemKind.FULL, 20, "large", full_lot(LARGE, 1200)),
        Item("large empty", ItemKind.EMPTY, 16, "large"),
        Item("reg", ItemKind.REGULATOR, 1, outlets=outlet_set("reg")),
        Item("mask", ItemKind.DEVICE, 0.5, device="mask"),
    )
}


def area(key: str) -> Place:
    """Return an area."""
    return Place(key, key, PlaceKind.AREA, ALWAYS)


def depot(key: str = "depot", **more: object) -> Place:
    """Return a depot."""
    return Place(key, key, PlaceKind.DEPOT, ALWAYS, **more)  # type: ignore[arg-type]


def truck(key: str = "truck", place: str = "depot", **changes: object) -> Vehicle:
    """Return a truck with room for six small cylinders and one large, that is loaded and unloaded in no time."""
    made = Vehicle(key, place, {"small": 6, "large": 1}, INF, 2, 0, 0, 0, INF)
    return dataclasses.replace(made, **changes)  # type: ignore[arg-type]


#: An area and a depot with two small cylinders, half an hour apart.
COUNTRY = Network(
    places=(area("a"), depot()),
    roads=both_ways("road", "a", "depot", 30),
    vehicles=(truck(),),
    items=ITEMS,
    stock=(Stock("depot", "small full", 2, 0),),
    crews=INF,
)


def errand(
    *, horizon: float = 240, people: list[Patients] | None = None, regulators: int = 9, **changes: object
) -> Scenario:
    """Return an incident without gas of its own: a patient at 10 L/min, and the network with some fields changed."""
    net = dataclasses.replace(COUNTRY, **changes)  # type: ignore[arg-type]
    areas = tuple(place.key for place in net.places if place.kind is PlaceKind.AREA)
    made = scenario(
        horizon=horizon,
        ladders=[ladder("one", ("mask", 10, 1.0))],
        patients=people or [patients(1, "one")],
        lots=[],
        regulators=[regulator(regulators, area=each) for each in areas if regulators],
        areas=areas,
    )
    return dataclasses.replace(made, network=net)


def joint(incident: Scenario, step: float, goals: dict[str, float] | None = None) -> Joint:
    """Write the programme of an incident in steps of so many minutes."""
    assert incident.network is not None
    haulage = make_haulage(incident.network, incident.horizon, step)
    own = without_lent(incident, incident.network)
    grants = find_grants(haulage)
    return write_joint(own, count_own(own, grants, haulage.starts), grants, haulage, goals or {})


def plan(incident: Scenario, step: float, goals: dict[str, float] | None = None) -> HaulPlan:
    """Solve the programme, which must be optimal."""
    found = plan_hauls(joint(incident, step, goals), Settings())
    assert found.status is Status.OPTIMAL
    return found


def bound(incident: Scenario, step: float) -> float:
    """Return the bound [weighted credit-minutes]."""
    return plan(incident, step).bound
