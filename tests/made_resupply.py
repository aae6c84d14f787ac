"""Resupply plans made by hand on invented networks, for tests of what shows them; they know no planner of trips."""

from __future__ import annotations

import dataclasses
import functools
import math
from pathlib import Path

import pandas as pd

import mci
from mci.catalogue.load import load_catalogue
from mci.demand.groups import count_demand
from mci.lp.allocate import allocate
from mci.lp.outcome import SolverReport
from mci.pipeline_resupply import ResupplyRun
from mci.plan.deliver import deliver
from mci.plan.trips import Cargo, Stop, Trip
from mci.resupply.schedule import Departure, Goal, Loss, Met, Obstacle, Schedule
from mci.scenario.model import Area, Lot, LotKind, Scenario
from mci.scenario.network import Filling, Item, ItemKind, Network, Place, PlaceKind, Road, Stock, Vehicle, Window
from mci.settings import Settings

__all__ = ["crowded_resupply", "made_departures", "made_network", "made_resupply", "made_trips"]

ALWAYS = (Window(0.0, math.inf),)
BIG, SMALL, EMPTY = "EU 10L 200 bar, full", "EU 5L 200 bar, full", "EU 5L 200 bar, empty"
REGULATOR, MASK = "manifold 3 outlets", "non-rebreather"
TRUCK, VAN, PORTERS = "truck 1", "van 2", "porters"


def _items() -> dict[str, Item]:
    catalogue = load_catalogue()

    def full(key: str, kind: str, kg: float) -> Item:
        cylinder = catalogue.cylinders[kind]
        litres = cylinder.content_l * 0.93
        lot = Lot(
            "", f"1 x {kind} at 200 bar", LotKind.CYLINDER, "", 1, litres, litres, cylinder.valve, None, 0.0, math.inf,
            cylinder.change_min, 0.0, "", cylinder, cylinder.full_psi, 200.0, cylinder.gas_model,
        )  # fmt: skip
        return Item(key, ItemKind.FULL, kg, kind, lot)

    return {
        BIG: full(BIG, "EU 10L 200 bar", 17.0),
        SMALL: full(SMALL, "EU 5L 200 bar", 9.0),
        EMPTY: Item(EMPTY, ItemKind.EMPTY, 8.0, "EU 5L 200 bar"),
        REGULATOR: Item(REGULATOR, ItemKind.REGULATOR, 2.0, outlets=catalogue.outlet_sets[REGULATOR]),
        MASK: Item(MASK, ItemKind.DEVICE, 0.1, device=MASK),
    }


def _both_ways(key: str, one: str, other: str, minutes: float, closed: tuple[Window, ...] = ()) -> tuple[Road, Road]:
    return Road(key, one, other, minutes, closed), Road(key, other, one, minutes, closed)


def made_network() -> Network:
    """Two depots, a supplier, a fill station and two areas; two vehicles and a pair of porters; one closed bridge."""
    places = (
        Place("north", "North portal", PlaceKind.AREA, ALWAYS),
        Place("south", "South portal", PlaceKind.AREA, ALWAYS),
        Place("mill", "Mill Lane depot", PlaceKind.DEPOT, ALWAYS),
        Place("quarry", "Quarry depot", PlaceKind.DEPOT, ALWAYS),
        Place("gas", "Valley gas yard", PlaceKind.SUPPLIER, (Window(10.0, 600.0),), lead=45.0),
        Place("fill", "Ridge fill station", PlaceKind.FILL_STATION, ALWAYS,
              filling=Filling(frozenset({"EU 5L 200 bar"}), 6.0, math.inf)),
        Place("fork", "Ridge fork", PlaceKind.JUNCTION, ALWAYS),
    )  # fmt: skip
    roads = (
        *_both_ways("mill road", "mill", "fork", 12.0),
        *_both_ways("old bridge", "fork", "south", 9.0, (Window(0.0, math.inf),)),
        *_both_ways("ridge road", "fork", "north", 14.0),
        *_both_ways("quarry road", "quarry", "south", 16.0, (Window(30.0, 60.0),)),
        *_both_ways("long way round", "fork", "quarry", 31.0),
        *_both_ways("valley road", "gas", "mill", 22.0),
        Road("one-way lane", "fill", "fork", 6.0),
        *_both_ways("service road", "fork", "fill", 11.0),
        *(dataclasses.replace(road, on_foot=True) for road in _both_ways("tunnel walkway", "north", "south", 18.0)),
    )
    slots = {"EU 10L 200 bar": 8, "EU 5L 200 bar": 12}
    vehicles = (
        Vehicle(TRUCK, "mill", slots, 900.0, 2, 8.0, 6.0, 0.0, math.inf),
        Vehicle(VAN, "quarry", {"EU 5L 200 bar": 6}, 200.0, 1, 5.0, 5.0, 0.0, math.inf),
        Vehicle(PORTERS, "south", {"EU 5L 200 bar": 2}, 30.0, 2, 2.0, 2.0, 0.0, math.inf, on_foot=True),
    )
    stock = (
        Stock("mill", BIG, 8, 0.0),
        Stock("mill", REGULATOR, 3, 0.0),
        Stock("quarry", SMALL, 10, 0.0),
        Stock("quarry", MASK, 20, 0.0),
        Stock("gas", BIG, 20, 45.0),
        Stock("south", SMALL, 2, 0.0),
    )
    return Network(places, roads, vehicles, _items(), stock, math.inf)


def made_trips() -> tuple[Trip, ...]:
    """Five trips, as late as is safe: two of the truck, the first to the fill station, two of the van, one on foot."""
    return (
        Trip("truck 1, trip 1", TRUCK, (
            Stop("mill", 20.0, 38.0, load=(Cargo(BIG, 6), Cargo(REGULATOR, 2)), via=("mill road", "ridge road")),
            Stop("north", 64.0, 78.0, unload=(Cargo(BIG, 6), Cargo(REGULATOR, 2)), load=(Cargo(EMPTY, 5),),
                 via=("ridge road", "service road")),
            Stop("fill", 103.0, 109.0, unload=(Cargo(EMPTY, 5),)),
        )),
        Trip("truck 1, trip 2", TRUCK, (
            Stop("fill", 109.0, 109.0, via=("one-way lane", "mill road", "valley road")),
            Stop("gas", 149.0, 157.0, load=(Cargo(BIG, 4),), via=("valley road", "mill road", "ridge road")),
            Stop("north", 205.0, 211.0, unload=(Cargo(BIG, 4),)),
        )),
        Trip("van 2, trip 1", VAN, (
            Stop("quarry", 5.0, 14.0, load=(Cargo(SMALL, 6), Cargo(MASK, 10)), via=("quarry road",)),
            Stop("south", 30.0, 35.0, unload=(Cargo(SMALL, 6), Cargo(MASK, 10)), via=("quarry road",)),
            Stop("quarry", 76.0, 76.0),
        )),
        Trip("van 2, trip 2", VAN, (
            Stop("quarry", 76.0, 118.0, load=(Cargo(SMALL, 4),), via=("quarry road",)),
            Stop("south", 134.0, 139.0, unload=(Cargo(SMALL, 4),)),
        )),
        Trip("porters, trip 1", PORTERS, (
            Stop("south", 40.0, 42.0, load=(Cargo(SMALL, 2),), via=("tunnel walkway",)),
            Stop("north", 60.0, 62.0, unload=(Cargo(SMALL, 2),)),
        )),
    )  # fmt: skip


def _planned(trip: Trip, margin: float) -> Trip:
    """Return a trip that leaves earlier by a margin; the van's way back still waits for the road to open."""
    stops = [
        dataclasses.replace(stop, arrive=max(stop.arrive - margin, 0.0), depart=stop.depart - margin)
        for stop in trip.stops
    ]
    if trip.key == "van 2, trip 1":
        stops[-1] = trip.stops[-1]
    if trip.key == "van 2, trip 2":
        stops[0] = dataclasses.replace(stops[0], arrive=76.0)
    return dataclasses.replace(trip, stops=tuple(stops))


def made_departures() -> tuple[Departure, ...]:
    """Say what is known of each trip: planned leave, leave by, in hand by, lost, request by."""
    known = {
        "truck 1, trip 1": (8.0, 38.0, 70.0, {"immediate": 31.5, "delayed": 12.0}, None),
        "truck 1, trip 2": (127.0, 157.0, 211.0, {"delayed": 20.25}, 104.0),
        "van 2, trip 1": (5.0, 14.0, 35.0, {"immediate": 4.0, "minimal": -0.5}, None),
        "van 2, trip 2": (81.0, 118.0, 139.0, {}, None),
        "porters, trip 1": (2.0, 42.0, 62.0, {"delayed": 0.03}, None),
    }
    made = []
    for trip in made_trips():
        earliest, leave_by, arrive_by, lost, request_by = known[trip.key]
        made.append(
            Departure(_planned(trip, leave_by - earliest), trip, earliest, leave_by, arrive_by, lost, request_by)
        )
    return tuple(sorted(made, key=lambda departure: departure.leave_by))


@functools.cache
def _tunnel() -> Scenario:
    scenario = mci.read_scenario(Path(mci.__file__).parents[1] / "scenarios" / "tunnel-fire.yaml")
    return dataclasses.replace(scenario, network=made_network())


def _losses() -> tuple[Loss, ...]:
    return (
        Loss("vehicle", TRUCK, {"immediate": 212.0, "delayed": 340.5}, 382.25),
        Loss("road", "ridge road", {"immediate": 190.0, "delayed": 301.0, "minimal": -4.0}, 340.1),
        Loss("place", "mill", {"immediate": 120.0, "delayed": 88.0}, 164.0),
        Loss("road", "quarry road", {"delayed": 60.0}, 30.0),
        Loss("place", "gas", {"delayed": 20.25}, 10.1),
        Loss("road", "one-way lane", {}, 0.0),
        Loss("vehicle", PORTERS, {}, 0.0),
    )


@functools.cache
def made_resupply() -> ResupplyRun:
    """The tunnel with a network: one goal met at one area only, one bridge closed, five trips."""
    brought = deliver(_tunnel(), [each.planned for each in made_departures()])
    run = mci.run(brought, further=False)
    immediate, delayed = Goal("immediate", 1.0), Goal("delayed", 0.9)
    met = (
        Met(immediate, "north", 640.0, 636.0),
        Met(immediate, "south", 280.0, 280.0),
        Met(delayed, "north", 1530.0, 1380.0),
        Met(delayed, "south", 1890.0, 1800.0),
    )
    schedule = Schedule(
        goals=(immediate, delayed),
        met=(
            Met(immediate, "north", 640.0, 640.0),
            Met(immediate, "south", 280.0, 280.0),
            Met(delayed, "north", 1530.0, 1402.5),
            Met(delayed, "south", 1890.0, 1890.0),
        ),
        bound=run.outcome.bound * 1.002,
        reached=run.outcome.achieved,
        without_trips=allocate(_tunnel(), count_demand(_tunnel()), Settings()).outcome.achieved,
        departures=made_departures(),
        cylinders=22,
        fewest_cylinders=20,
        fewest_trips=4,
        missing=127.5,
        obstacles=(Obstacle("travel time", 0.0), Obstacle("regulators", 96.0)),
        losses=_losses(),
        notes=("Trips go by the quickest roads that are open; traffic is not foreseen.",),
        report=SolverReport("HiGHS", 900, 700, 5200, 0.4, 1.2),
    )
    return ResupplyRun(run.scenario, ("without road old bridge",), schedule, (), run, met)


# A crowd: what pages and figures must bear.
_SITES, _TRIPS = 12, 40


def _crowded_network() -> Network:
    """Twenty places: 12 sites, 3 depots, 2 fill stations, a supplier, a staging area and a junction; 6 vehicles."""
    kinds = [
        *((f"s{n}", f"Shelter {n} at the old sports hall" if n % 3 == 0 else f"Shelter {n}", PlaceKind.AREA)
          for n in range(1, _SITES + 1)),
        *((f"d{n}", f"Depot {n}", PlaceKind.DEPOT) for n in (1, 2, 3)),
        ("f1", "Fill station east", PlaceKind.FILL_STATION), ("f2", "Fill station west", PlaceKind.FILL_STATION),
        ("sup", "Lowland gas supplier", PlaceKind.SUPPLIER), ("stage", "Fairground staging", PlaceKind.STAGING),
        ("ring", "Ring road crossing", PlaceKind.JUNCTION),
    ]  # fmt: skip
    places = tuple(Place(key, title, kind, ALWAYS) for key, title, kind in kinds)
    pairs = [("ring", "d1", 8), ("ring", "d2", 14), ("ring", "d3", 22), ("ring", "stage", 6), ("stage", "sup", 55),
             ("d1", "f1", 10), ("d3", "f2", 12), ("ring", "sup", 48)]  # fmt: skip
    hubs = ("d1", "d2", "d3", "stage")
    for n in range(1, _SITES + 1):
        pairs.append((hubs[n % 4], f"s{n}", 9 + 5 * (n % 5)))
        if n % 2:
            pairs.append((f"s{n}", f"s{n % _SITES + 1}", 11 + n))
    roads = [
        road
        for number, (one, other, minutes) in enumerate(pairs, 1)
        for road in _both_ways(f"road {number}", one, other, minutes, ALWAYS if number in (3, 13) else ())
    ]
    slots = {"EU 10L 200 bar": 20, "EU 5L 200 bar": 30}
    vehicles = tuple(
        Vehicle(f"truck {n}", hubs[n % 4], slots, 2000.0, 2, 20.0, 15.0, 0.0, math.inf) for n in range(1, 7)
    )
    return Network(places, tuple(roads), vehicles, _items(), (), math.inf)


def _crowded_trips(network: Network) -> list[Trip]:
    between = {(road.start, road.end): road for road in network.roads}
    trips = []
    for number in range(_TRIPS):
        round_, vehicle = divmod(number, 6)
        site = f"s{number % _SITES + 1}"
        hub = next(start for start, end in between if end == site and start in ("d1", "d2", "d3", "stage"))
        road = between[hub, site]
        start = 60.0 + 560 * round_ + 47 * vehicle
        there = start + 20 + road.minutes
        load = (Cargo(BIG, 4 + number % 7), *((Cargo(SMALL, 6),) if number % 3 else ()))
        trips.append(Trip(f"truck {vehicle + 1}, trip {round_ + 1}", f"truck {vehicle + 1}", (
            Stop(hub, start, start + 20, load=load, via=(road.key,)),
            Stop(site, there, there + 35, unload=load, load=(Cargo(EMPTY, 3),), via=(road.key,)),
            Stop(hub, there + 35 + road.minutes, there + 50 + road.minutes, unload=(Cargo(EMPTY, 3),)),
        )))  # fmt: skip
    return trips


def _crowded_departures(trips: list[Trip]) -> tuple[Departure, ...]:
    departures = tuple(
        Departure(
            planned=_planned(trip, 25.0 + number),
            trip=trip,
            earliest=trip.stops[0].depart - 25.0 - number,
            leave_by=trip.stops[0].depart,
            arrive_by=trip.stops[1].arrive + 15,
            lost={"immediate": 3.0 * (number % 4), "delayed": 1.5, "minimal": 0.7},
            request_by=None,
        )
        for number, trip in enumerate(trips)
    )
    return tuple(sorted(departures, key=lambda departure: departure.leave_by))


@functools.cache
def crowded_resupply() -> ResupplyRun:
    """Forty trips of six vehicles to twelve sites in three days; curves of stock are those of the tunnel, stretched."""
    small = made_resupply()
    network = _crowded_network()
    areas = tuple(Area(place.key, place.title) for place in network.places if place.kind is PlaceKind.AREA)
    horizon = 4320.0
    scenario = dataclasses.replace(
        small.scenario, name="Smoke week in the lowlands", areas=areas, horizon=horizon, network=network
    )
    trips = _crowded_trips(network)
    stock, empty = [], []
    for place, area in enumerate(areas):
        north = small.run.stock[small.run.stock["area"] == ("north" if place % 2 else "south")]
        stock.append(north.assign(area=area.key, time_min=north["time_min"] * horizon / 240))
        empty.append((area.key, math.nan))
    run = dataclasses.replace(
        small.run,
        scenario=scenario,
        stock=pd.concat(stock),
        first_empty=pd.DataFrame(empty, columns=["area", "empty_min"]),
    )
    goals = (Goal("immediate", 1.0), Goal("delayed", 0.9))
    schedule = dataclasses.replace(
        small.schedule,
        goals=goals,
        met=tuple(Met(goal, area.key, 900.0, 900.0) for goal in goals for area in areas),
        departures=_crowded_departures(trips),
        missing=0.0,
        obstacles=(),
        losses=tuple(
            [Loss("road", road.key, {"immediate": 40.0 - n, "delayed": 8.0}, 44.0 - n)
             for n, road in enumerate(network.roads[::2])]
            + [Loss("vehicle", vehicle.key, {}, 0.0) for vehicle in network.vehicles]
        ),
    )  # fmt: skip
    return ResupplyRun(scenario, (), schedule, (), run, schedule.met)
