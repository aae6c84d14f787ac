"""Patients, their ladders and their need beside the oxygen there is, as tables."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from mci.scenario.columns import Column, Table, basis, show_litres, show_moment, show_when
from mci.scenario.doubts_gas import litres_at, litres_wanted
from mci.scenario.litre import values
from mci.scenario.model import CATEGORIES
from mci.scenario.presence import most_at_once, with_before
from mci.units import format_flow

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from mci.scenario.model import Patients, Scenario
    from mci.scenario.presence import StayLike

__all__ = ["areas", "courses", "ladders", "litre", "need"]


def areas(scenario: Scenario, stays: Sequence[StayLike]) -> Table:
    """Per area, the oxygen that the top rungs draw beside what is there."""
    rows = []
    for area in scenario.areas:
        lots = [lot for lot in scenario.lots if lot.area == area.key and lot.available_from < scenario.horizon]
        wanted = litres_wanted(scenario, [stay for stay in stays if stay.area == area.key])
        there = litres_at(scenario, lots)
        rows.append((area.key, area.title, wanted, there, max(0.0, wanted - there)))
    columns = (
        Column("area", "area"),
        Column("title", "title"),
        Column("top rungs draw", "top_rungs_litres", show_litres, right=True),
        Column("at most there", "at_most_there_litres", show_litres, right=True),
        Column("missing", "missing_litres", show_litres, right=True, usual="0 L"),
    )
    return Table("Areas and their oxygen, over the whole plan", "areas", columns, tuple(rows))


def need(scenario: Scenario, stays: Sequence[StayLike]) -> Table:
    """Patients per area and category: who arrives, who joins from elsewhere, and how many are there at once."""
    columns = (
        Column("area", "area", once=True),
        Column("category", "category"),
        Column("arrive there", "arrivals_patients", right=True),
        Column("join later", "joining_patients", right=True, usual="0"),
        Column("most at once", "most_at_once_patients", right=True),
        Column("at", "most_at_min", show_when(scenario)),
    )
    return Table("Number of patients by area", "need", columns, tuple(_need_rows(scenario, stays)))


def _need_rows(scenario: Scenario, stays: Sequence[StayLike]) -> Iterator[tuple[Any, ...]]:
    pairs = list(with_before(stays))
    for area in scenario.areas:
        here = [(stay, before) for stay, before in pairs if stay.area == area.key]
        categories = [c for c in CATEGORIES if any(stay.category == c for stay, _ in here)]
        for category in [*categories, "all"] if len(categories) > 1 else categories:
            members = [(s, b) for s, b in here if category in (s.category, "all")]
            arrive = sum(s.count for s, b in members if b is None)
            join = sum(
                s.count
                for s, b in members
                if b is not None and (b.area != s.area or (category != "all" and b.category != s.category))
            )
            yield area.key, category, arrive, join, *most_at_once(s for s, _ in members)


def courses(scenario: Scenario) -> Table:
    """Patients and batches; those alike in all but name and time of arrival are one row."""
    groups: dict[tuple[Any, ...], list[Patients]] = {}
    for patients in scenario.patients:
        first = patients.course[0]
        groups.setdefault((first.area, first.category, first.ladder, len(patients.course) - 1), []).append(patients)
    rows = []
    order = [area.key for area in scenario.areas]
    for (area, category, ladder, changes), members in sorted(
        groups.items(), key=lambda item: (order.index(item[0][0]), CATEGORIES.index(item[0][1]), item[0][2:])
    ):
        earliest = min(p.arrival.at for p in members)
        last = max(p.arrival.at + p.arrival.over for p in members)
        span = show_moment(scenario, earliest)
        if last > earliest:
            span += f" to {show_moment(scenario, last)}"
        names = ", ".join(p.label for p in members[:3]) + (f" and {len(members) - 3} more" if len(members) > 3 else "")
        later = f" ({changes} later change{'s' if changes > 1 else ''})" if changes else ""
        count = sum(p.count for p in members)
        rows.append((area, category, ladder, count, earliest, last, span, changes, names, names + later))
    columns = (
        Column("area", "area", once=True),
        Column("category", "category"),
        Column("ladder", "ladder"),
        Column("patients", "patients", right=True),
        Column("", "first_arrival_min"),
        Column("", "last_arrival_min"),
        Column("arrive", ""),
        Column("", "changes_each"),
        Column("", "names"),
        Column("names", ""),
    )
    return Table("Patients on arrival", "patients", columns, tuple(rows))


def ladders(scenario: Scenario) -> Table:
    """Every rung of every ladder in use."""
    rows = []
    for key, ladder in scenario.ladders.items():
        for number, rung in enumerate(ladder.rungs, start=1):
            device, setting = rung.device.key, rung.setting
            both = device if setting == format_flow(rung.flow_lpm) else f"{device}, {setting}"
            rows.append((key, number, device, setting, both, rung.flow_lpm, rung.credit, *basis(ladder.source)))
    columns = (
        Column("ladder", "ladder", once=True),
        Column("rung", "rung", right=True),
        Column("", "device"),
        Column("", "setting"),
        Column("device", ""),
        Column("draws", "draw_lpm", format_flow, right=True),
        Column("credit", "credit", "{:g}".format, right=True),
        Column("basis", "basis", usual="assumption", once=True),
        Column("source", "source", once=True),
    )
    return Table("Ladders in use; credits are planning assumptions", "ladders", columns, tuple(rows))


def litre(scenario: Scenario, stays: Sequence[StayLike]) -> Table:
    """The order of service that weights and credits imply while oxygen is short."""
    rows = [(v.category, v.ladder, v.rung, v.draw_lpm, v.per_litre) for v in values(scenario, stays)]
    columns = (
        Column("category", "category"),
        Column("ladder", "ladder"),
        Column("best rung", "rung", right=True),
        Column("draws", "draw_lpm", format_flow, right=True),
        Column("weight x credit per litre", "weight_credit_per_litre", "{:.3g}".format, right=True),
    )
    title = "What a litre buys; a weighted plan short of oxygen serves from the top down"
    return Table(title, "litre", columns, tuple(rows) if len(rows) > 1 else ())
