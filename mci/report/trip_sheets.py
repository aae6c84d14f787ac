"""Trips as sheets for those who drive or carry: one sheet per vehicle, stop by stop."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.report.trip_words import TripWords
from mci.report.words import join_words
from mci.units import format_clock, format_moment

if TYPE_CHECKING:
    from mci.pipeline_resupply import ResupplyRun
    from mci.plan.trips import Stop
    from mci.resupply.schedule import Departure
    from mci.scenario.network import Vehicle

__all__ = ["StopRow", "TripPart", "TripSheet", "trip_sheets"]


@dataclass(frozen=True, slots=True)
class StopRow:
    """One stop: where, when, what to do, when to leave and at the latest, by which roads on."""

    place: str
    kind: str
    arrive: str
    arrive_clock: str
    tasks: tuple[str, ...]
    leave: str
    leave_clock: str
    latest: str
    latest_clock: str
    roads: str


@dataclass(frozen=True, slots=True)
class TripPart:
    """One trip of the vehicle."""

    key: str
    stops: tuple[StopRow, ...]


@dataclass(frozen=True, slots=True)
class TripSheet:
    """All trips of one vehicle, or of people on foot."""

    vehicle: str
    who: str
    facts: str
    trips: tuple[TripPart, ...]


def trip_sheets(found: ResupplyRun) -> tuple[TripSheet, ...]:
    """Make the sheet of every vehicle that has trips; none where the trips cannot be carried out."""
    if found.findings:
        return ()
    words = TripWords(found.scenario)
    sheets = []
    for vehicle in words.network.vehicles:
        mine = [each for each in found.schedule.departures if each.planned.vehicle == vehicle.key]
        mine.sort(key=lambda each: each.planned.stops[0].arrive)
        if mine:
            parts = tuple(_part(each, words, found.scenario.start) for each in mine)
            who = "Carriers" if vehicle.on_foot else "Driver"
            sheets.append(TripSheet(vehicle.key, who, _facts(vehicle, words), parts))
    return tuple(sheets)


def _facts(vehicle: Vehicle, words: TripWords) -> str:
    slots = join_words([f"{count} × {kind}" for kind, count in vehicle.slots.items()] or ["no cylinders"])
    payload = "" if math.isinf(vehicle.payload_kg) else f", at most {vehicle.payload_kg:g} kg"
    crew = f"{vehicle.crew} {'person' if vehicle.crew == 1 else 'people'}"
    return f"Stands at {words.place(vehicle.place)}. Takes {slots}, full or empty{payload}. {crew} go with it.".replace(
        "1 person go", "1 person goes"
    )


def _part(departure: Departure, words: TripWords, start: int | None) -> TripPart:
    stops, latest = departure.planned.stops, departure.trip.stops
    known = len(stops) == len(latest)
    return TripPart(
        departure.planned.key,
        tuple(
            _row(stop, stops[number + 1] if number + 1 < len(stops) else None, latest[number] if known else stop,
                 words, start)
            for number, stop in enumerate(stops)
        ),
    )  # fmt: skip


def _row(stop: Stop, following: Stop | None, latest: Stop, words: TripWords, start: int | None) -> StopRow:
    kind = next((str(place.kind) for place in words.network.places if place.key == stop.place), "")
    tasks = [f"{verb} {words.cargo(what)}" for verb, what in (("Unload", stop.unload), ("Load", stop.load)) if what]
    if not tasks:
        tasks = ["Free again" if following is None else "Go on"]
    return StopRow(
        place=words.place(stop.place),
        kind=kind,
        arrive=format_moment(stop.arrive),
        arrive_clock=format_clock(stop.arrive, start),
        tasks=tuple(tasks),
        leave=format_moment(stop.depart),
        leave_clock=format_clock(stop.depart, start),
        latest=format_moment(latest.depart),
        latest_clock=format_clock(latest.depart, start),
        roads=words.roads(stop, following) if following is not None else "end of the trip",
    )
