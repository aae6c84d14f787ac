"""Trips as bars over time: when each vehicle is under way, loads and unloads."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.scenario.network import network_of

if TYPE_CHECKING:
    from mci.pipeline_resupply import ResupplyRun
    from mci.plan.trips import Trip
    from mci.resupply.schedule import Departure
    from mci.scenario.network import Vehicle

__all__ = ["Leg", "TripBar", "VehicleBars", "vehicle_bars"]


@dataclass(frozen=True, slots=True)
class Leg:
    """A stretch of a trip [min]: ``drive``, ``load`` or ``unload``."""

    kind: str
    start: float
    end: float


@dataclass(frozen=True, slots=True)
class TripBar:
    """One trip as planned; it leaves where it loads at ``leave`` and may leave as late as ``leave_by`` [min]."""

    label: str
    leave: float
    leave_by: float
    legs: tuple[Leg, ...]
    places: frozenset[str]

    @property
    def start(self) -> float:
        """When it begins."""
        return min(leg.start for leg in self.legs)


@dataclass(frozen=True, slots=True)
class VehicleBars:
    """The trips of one vehicle, in order."""

    vehicle: str
    trips: tuple[TripBar, ...]


def vehicle_bars(found: ResupplyRun) -> tuple[VehicleBars, ...]:
    """Return the bars of every vehicle that has trips."""
    made = []
    for vehicle in network_of(found.scenario).vehicles:
        bars = [_bar(each, vehicle) for each in found.schedule.departures if each.trip.vehicle == vehicle.key]
        bars.sort(key=lambda bar: bar.start)
        if bars:
            made.append(VehicleBars(vehicle.key, tuple(bars)))
    return tuple(made)


def _bar(departure: Departure, vehicle: Vehicle) -> TripBar:
    trip = departure.planned
    label = trip.key.removeprefix(vehicle.key).lstrip(", ").removeprefix("trip ") or trip.key
    places = frozenset(stop.place for stop in trip.stops)
    return TripBar(label, departure.earliest, departure.leave_by, _legs(trip, vehicle), places)


def _legs(trip: Trip, vehicle: Vehicle) -> tuple[Leg, ...]:
    legs: list[Leg] = []
    for number, stop in enumerate(trip.stops):
        if stop.unload:
            legs.append(Leg("unload", stop.arrive, stop.arrive + vehicle.unloading))
        if stop.load:
            legs.append(Leg("load", stop.depart - vehicle.loading, stop.depart))
        if number + 1 < len(trip.stops):
            legs.append(Leg("drive", stop.depart, trip.stops[number + 1].arrive))
    return tuple(leg for leg in legs if leg.end > leg.start) or (
        Leg("drive", trip.stops[0].depart, trip.stops[-1].arrive),
    )
