"""The departures of a resupply plan in words: what must leave where by when, and what a delay costs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.resupply_page import DepartureRow
from mci.report.trip_words import WORTH_SAYING, TripWords, lost_words
from mci.report.words import moment
from mci.units import format_clock, format_duration, format_moment

if TYPE_CHECKING:
    from mci.pipeline_resupply import ResupplyRun
    from mci.resupply.schedule import Departure, Schedule

__all__ = ["TIGHT_MIN", "departure_rows", "is_urgent", "must_not_be_missed"]

#: Margin below which a departure, and what it brings, is urgent [min]: an assumption.
TIGHT_MIN = 30.0
#: Loss from which a departure must not be missed [patient-min of a category]: an assumption.
MISSED = 1.0


def is_urgent(departure: Departure) -> bool:
    """Whether little time is left, or a delay costs Immediate patients."""
    return departure.margin < TIGHT_MIN or departure.lost.get("immediate", 0.0) >= WORTH_SAYING


def must_not_be_missed(schedule: Schedule) -> Departure | None:
    """Return the first departure whose delay costs a patient-minute or more; the first of all where none does."""
    costly = (each for each in schedule.departures if any(lost >= MISSED for lost in each.lost.values()))
    return next(costly, next(iter(schedule.departures), None))


def departure_rows(found: ResupplyRun) -> tuple[DepartureRow, ...]:
    """Say each departure in words, in the order of leaving."""
    words = TripWords(found.scenario)
    return tuple(_row(each, words, found.scenario.start) for each in found.schedule.departures)


def _row(departure: Departure, words: TripWords, start: int | None) -> DepartureRow:
    trip = departure.trip
    return DepartureRow(
        trip=trip.key,
        vehicle="" if trip.key.startswith(trip.vehicle) else trip.vehicle,
        brings=words.brings(trip),
        origin=words.comes_from(trip),
        to=words.goes_to(trip),
        leave=format_moment(departure.earliest),
        leave_at=format_clock(departure.earliest, start),
        leave_by=format_moment(departure.leave_by),
        leave_clock=format_clock(departure.leave_by, start),
        arrive_by=format_moment(departure.arrive_by),
        arrive_clock=format_clock(departure.arrive_by, start),
        margin=format_duration(departure.margin),
        lost=lost_words(departure.lost),
        request_by="" if departure.request_by is None else moment(departure.request_by, start),
        tight=departure.margin < TIGHT_MIN,
    )
