"""The resource request: every delivery from outside once, at the right time, nothing else."""

from __future__ import annotations

import dataclasses

from made_resupply import BIG, REGULATOR, SMALL, crowded_resupply, made_resupply

from mci.catalogue.load import load_catalogue
from mci.plan.trips import Cargo, Stop
from mci.replay.verdict import Finding
from mci.report.departures import is_urgent
from mci.report.request import PRIORITIES, request_forms, request_lines
from mci.scenario.network import ItemKind, PlaceKind


def test_all_that_comes_from_outside_is_asked_for_once() -> None:
    """Per kind, lines add up to what trips load at depots, suppliers and fill stations, empties apart."""
    found = crowded_resupply()
    network = found.scenario.network
    assert network is not None
    outside = {p.key for p in network.places if p.kind not in (PlaceKind.AREA, PlaceKind.STAGING)}
    loaded: dict[str, int] = {}
    for trip in found.schedule.latest:
        for stop in trip.stops:
            for cargo in stop.load:
                item = network.items[cargo.item]
                if stop.place in outside and item.kind is not ItemKind.EMPTY:
                    loaded[item.cylinder] = loaded.get(item.cylinder, 0) + cargo.quantity
    asked: dict[str, int] = {}
    for line in request_lines(found):
        asked[line.type] = asked.get(line.type, 0) + line.quantity
    assert asked == loaded


def test_what_areas_lend_is_not_asked_for() -> None:
    """The porters carry from one area to the other: no line."""
    assert "porters, trip 1" not in {line.trip for line in request_lines(made_resupply())}


def test_times_are_the_last_safe_and_the_planned_ones() -> None:
    """Requested is in hand by; estimated is when the planned trip has it in hand, never later."""
    found = made_resupply()
    by_trip = {each.trip.key: each for each in found.schedule.departures}
    lines = request_lines(found)
    for line in lines:
        assert line.requested == by_trip[line.trip].arrive_by
        assert line.estimated <= line.requested
    first = next(line for line in lines if line.trip == "truck 1, trip 1")
    assert (first.requested, first.estimated) == (70.0, 40.0)  # there at T+34 as planned, 6 min to unload


def test_a_second_place_of_the_same_trip_has_its_own_times() -> None:
    """Half is unloaded at a second area 20 min later: each line says when its own half must be in hand."""
    found = made_resupply()
    old = next(each for each in found.schedule.departures if each.trip.key == "van 2, trip 2")

    def split(trip: object) -> object:
        first, last = trip.stops  # type: ignore[attr-defined]
        half = (Cargo(SMALL, 2),)
        middle = dataclasses.replace(last, unload=half, via=("old bridge", "ridge road"))
        end = Stop("north", last.arrive + 25.0, last.depart + 25.0, unload=half)
        return dataclasses.replace(trip, stops=(first, middle, end))  # type: ignore[type-var]

    new = dataclasses.replace(old, trip=split(old.trip), planned=split(old.planned))
    changed = dataclasses.replace(found, schedule=dataclasses.replace(found.schedule, departures=(new,)))
    lines = [(line.location, line.quantity, line.requested, line.estimated) for line in request_lines(changed)]
    assert lines == [("North portal", 2, 164.0, 127.0), ("South portal", 2, 139.0, 102.0)]


def test_what_is_loaded_first_is_unloaded_first() -> None:
    """Two from one depot and four from another, unloaded together: two lines, each with its source."""
    found = made_resupply()
    old = next(each for each in found.schedule.departures if each.trip.key == "truck 1, trip 1")
    stops = (
        Stop("mill", 0.0, 8.0, load=(Cargo(BIG, 2),)),
        Stop("quarry", 30.0, 38.0, load=(Cargo(BIG, 4),)),
        Stop("south", 54.0, 60.0, unload=(Cargo(BIG, 6),)),
    )
    trip = dataclasses.replace(old.trip, stops=stops)
    new = dataclasses.replace(old, trip=trip, planned=trip)
    changed = dataclasses.replace(found, schedule=dataclasses.replace(found.schedule, departures=(new,)))
    assert [(line.quantity, line.source) for line in request_lines(changed)] == [
        (2, "Mill Lane depot"),
        (4, "Quarry depot"),
    ]


def test_substitutes_fit_the_same_regulators() -> None:
    """Each substitute is another kind of the same region with the same valve; regulators have none."""
    cylinders = load_catalogue().cylinders
    for line in request_lines(made_resupply()):
        for name in filter(None, line.substitutes.split(", ")):
            assert cylinders[name].valve == cylinders[line.type].valve
            assert name != line.type
        assert line.kind == "cylinder" or not line.substitutes


def test_no_substitute_where_no_regulator_fits() -> None:
    """Without a regulator that fits the valve no other cylinder would help."""
    found = made_resupply()
    run = dataclasses.replace(found.run, scenario=dataclasses.replace(found.run.scenario, regulators=()))
    bare = dataclasses.replace(found, run=run)
    assert {line.substitutes for line in request_lines(bare)} == {""}


def test_priority_is_urgent_where_little_time_is_left_or_immediate_patients_lose() -> None:
    """Urgent: a margin below 30 min, or a loss of Immediate; else Routine."""
    departures = {each.trip.key: is_urgent(each) for each in made_resupply().schedule.departures}
    assert departures == {
        "van 2, trip 1": True,  # 9 min
        "truck 1, trip 1": True,  # 30 min, but Immediate lose
        "porters, trip 1": False,
        "van 2, trip 2": False,
        "truck 1, trip 2": False,  # 30 min
    }


def test_description_says_what_must_fit() -> None:
    """A cylinder with valve, contents and full pressure; a regulator with its valves and outlets."""
    lines = {line.type: line for line in request_lines(made_resupply())}
    assert lines["EU 10L 200 bar"].description == (
        "oxygen, at 200 bar, 200 bar when full; valve: threaded EU; 1 860 L usable each, 2 000 L when full; 17 kg each"
    )
    assert "3 flow outlets of up to 15 L/min, 45 L/min in all" in lines[REGULATOR].description


def test_forms_hold_every_line_once_and_fit_a_page() -> None:
    """Each form has one location and at most eight lines; parts are counted; every line is on one form."""
    found = crowded_resupply()
    forms = request_forms(found)
    assert [line.number for form in forms for line in form.shown] == [str(line.number) for line in request_lines(found)]
    assert max(len(form.shown) for form in forms) <= 8
    for form in forms:
        assert [word for word, _ in form.priorities] == list(PRIORITIES)
        assert 1 <= form.part <= form.parts


def test_many_lines_continue_on_further_forms() -> None:
    """Ten trips to one place: two forms of the same number, the second with what is left."""
    found = made_resupply()
    old = next(each for each in found.schedule.departures if each.trip.key == "van 2, trip 2")
    many = dataclasses.replace(found, schedule=dataclasses.replace(found.schedule, departures=(old,) * 10))
    forms = request_forms(many)
    assert [(form.part, form.parts, len(form.shown)) for form in forms] == [(1, 2, 8), (2, 2, 2)]
    assert len({form.number for form in forms}) == 1


def test_impossible_trips_ask_for_nothing() -> None:
    """Where replay objects there is no request."""
    impossible = dataclasses.replace(made_resupply(), findings=(Finding("load", 1, 20.0, "too heavy"),))
    assert request_lines(impossible) == request_forms(impossible) == ()
