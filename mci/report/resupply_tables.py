"""A resupply run as tidy tables, for CSV files and for ``resupply.json``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.request import request_lines
from mci.report.resupply_goals import reached_by_orders
from mci.report.table import Table, plain
from mci.report.tables import all_tables
from mci.report.trip_words import TripWords
from mci.scenario.model import CATEGORIES
from mci.units import format_clock

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from mci.pipeline_resupply import ResupplyRun
    from mci.report.table import Cell

__all__ = ["PLAN_TABLES", "RESUPPLY_TABLES", "resupply_tables"]

#: Tables of the resupply itself, in this order.
RESUPPLY_TABLES = ("departures", "goals", "losses", "request")
#: Tables of the plan on what the trips bring that are written with it.
PLAN_TABLES = (
    "comparison",
    "coverage",
    "over_time",
    "plan_windows",
    "stock",
    "first_empty",
    "areas",
    "supplies",
    "left_out",
    "assumptions",
)
_LOST = tuple(f"{category}_lost_patient_min" for category in CATEGORIES)


def resupply_tables(found: ResupplyRun) -> tuple[Table, ...]:
    """Return the tables of a resupply run, then those of the plan that go with it."""
    plan = {table.name: table for table in all_tables(found.run)}
    own = (_departures(found), _goals(found), _losses(found), _request(found))
    return (*own, *(plan[name] for name in PLAN_TABLES))


def _table(name: str, headers: tuple[str, ...], rows: Iterable[Iterable[object]]) -> Table:
    return Table(name, headers, tuple(tuple(plain(cell) for cell in row) for row in rows))


def _lost(lost: Mapping[str, float]) -> tuple[Cell, ...]:
    return tuple(plain(lost.get(category, 0.0)) for category in CATEGORIES)


def _departures(found: ResupplyRun) -> Table:
    headers = (
        "trip", "vehicle", "from", "to", "brings", "planned_min", "leave_by_min", "leave_by_clock", "in_hand_by_min",
        "in_hand_by_clock", "margin_min", "request_by_min", *_LOST,
    )  # fmt: skip
    words, start = TripWords(found.scenario), found.scenario.start
    return _table(
        "departures",
        headers,
        (
            (
                each.trip.key, each.trip.vehicle, words.comes_from(each.trip), words.goes_to(each.trip),
                words.brings(each.trip), each.earliest, each.leave_by, format_clock(each.leave_by, start),
                each.arrive_by, format_clock(each.arrive_by, start), each.margin, each.request_by, *_lost(each.lost),
            )
            for each in found.schedule.departures
        ),
    )  # fmt: skip


def _goals(found: ResupplyRun) -> Table:
    headers = ("category", "goal_share", "area", "needed_patient_min", "at_best_patient_min", "orders_patient_min")
    orders = reached_by_orders(found)
    return _table(
        "goals",
        headers,
        (
            (category, met.goal.share, met.area, met.needed, met.reached, orders.get((category, met.area), 0.0))
            for met in found.schedule.met
            for category in (met.goal.category,)
        ),
    )


def _losses(found: ResupplyRun) -> Table:
    words = TripWords(found.scenario)
    rows = (
        (
            loss.kind,
            loss.key,
            words.place(loss.key) if loss.kind == "place" else loss.key,
            *_lost(loss.lost),
            loss.weighted,
        )
        for loss in sorted(found.schedule.losses, key=lambda loss: -loss.weighted)
    )
    return _table("losses", ("kind", "key", "title", *_LOST, "weighted_lost_patient_min"), rows)


def _request(found: ResupplyRun) -> Table:
    """Return the lines of the request; the headers are the block titles, with units."""
    headers = (
        "line", "quantity", "kind", "type", "detailed_item_description", "arrival_requested_min",
        "arrival_requested_clock", "arrival_estimated_min", "arrival_estimated_clock", "requested_delivery_location",
        "suitable_substitutes", "suggested_source", "priority", "trip",
    )  # fmt: skip
    start = found.scenario.start
    return _table(
        "request",
        headers,
        (
            (
                line.number, line.quantity, line.kind, line.type, line.description, line.requested,
                format_clock(line.requested, start), line.estimated, format_clock(line.estimated, start), line.location,
                line.substitutes, line.source, line.priority, line.trip,
            )
            for line in request_lines(found)
        ),
    )  # fmt: skip
