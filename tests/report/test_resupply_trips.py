"""Bars and sheets of trips: what they show is what the trips do."""

from __future__ import annotations

import dataclasses

from made_resupply import crowded_resupply, made_resupply

from mci.replay.verdict import Finding
from mci.report.trip_series import vehicle_bars
from mci.report.trip_sheets import trip_sheets


def test_every_trip_has_one_bar_at_its_planned_times() -> None:
    """Bars of a vehicle do not overlap; each begins and ends with its trip."""
    found = crowded_resupply()
    rows = vehicle_bars(found)
    assert sum(len(row.trips) for row in rows) == len(found.schedule.departures) == 40
    for row in rows:
        ends = [max(leg.end for leg in bar.legs) for bar in row.trips]
        assert all(bar.start >= end - 1e-9 for bar, end in zip(row.trips[1:], ends, strict=False))


def test_legs_are_loading_driving_and_unloading() -> None:
    """The truck's first trip, minute by minute; between unloading and loading at the portal it waits for nothing."""
    truck = next(row for row in vehicle_bars(made_resupply()) if row.vehicle == "truck 1")
    legs = [(leg.kind, leg.start, leg.end) for leg in truck.trips[0].legs]
    assert legs == [
        ("load", 0.0, 8.0),
        ("drive", 8.0, 34.0),
        ("unload", 34.0, 40.0),
        ("load", 40.0, 48.0),
        ("drive", 48.0, 73.0),
        ("unload", 73.0, 79.0),
    ]
    assert (truck.trips[0].leave, truck.trips[0].leave_by, truck.trips[0].label) == (8.0, 38.0, "1")


def test_sheets_tell_every_stop_of_every_trip() -> None:
    """One sheet per vehicle with trips, its stops in order, planned and latest times beside each other."""
    found = made_resupply()
    sheets = {sheet.vehicle: sheet for sheet in trip_sheets(found)}
    assert sum(len(trip.stops) for sheet in sheets.values() for trip in sheet.trips) == sum(
        len(trip.stops) for trip in found.schedule.planned
    )
    portal = sheets["truck 1"].trips[0].stops[1]
    assert (portal.place, portal.arrive, portal.leave, portal.latest) == ("North portal", "T+34", "T+48", "T+78")
    assert portal.tasks == (
        "Unload 6 × EU 10L 200 bar, full and 2 × manifold 3 outlets",
        "Load 5 × EU 5L 200 bar, empty",
    )
    assert portal.roads == "ridge road (14 min), service road (11 min)"
    assert (sheets["porters"].who, sheets["truck 1"].who) == ("Carriers", "Driver")


def test_waiting_for_a_closed_road_is_told() -> None:
    """The van's way back takes 50 min for a road of 16: it waits 34 min."""
    van = next(sheet for sheet in trip_sheets(made_resupply()) if sheet.vehicle == "van 2")
    assert van.trips[0].stops[1].roads == "quarry road (16 min); 34 min of waiting on the way"


def test_impossible_trips_have_no_sheets() -> None:
    """Nobody is sent on a trip that replay objects to."""
    impossible = dataclasses.replace(made_resupply(), findings=(Finding("load", 1, 20.0, "too heavy"),))
    assert trip_sheets(impossible) == ()
