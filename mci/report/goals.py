"""The resupply timeline in words: what more must be at which area by when, for each goal."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from mci.report.page import Goal, Need, Step
from mci.report.series import records
from mci.report.words import NOISE, count, join_words, moment
from mci.units import format_litres

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from mci.pipeline import Run
    from mci.report.series import Record

__all__ = ["goals"]

_GOALS = {"everyone": "Nobody below target", "immediate": "No Immediate patient below target"}


def goals(run: Run, titles: Mapping[str, str]) -> tuple[Goal, ...]:
    """Say what more must be where by when, for everyone and, where there are any, for Immediate patients only."""
    rows = records(run.resupply)
    short = {row["category"] for row in records(run.coverage) if row["most_below_target"] > NOISE}
    made = []
    for goal, title in _GOALS.items():
        if goal in {"everyone", *run.coverage["category"]}:
            found = sorted((row for row in rows if row["goal"] == goal), key=lambda row: float(row["by_min"]))
            needs = _needs(found, titles, run.scenario.start)
            if not found:
                sentence = _nothing(goal, short)
            else:
                sentence = _sum_up(needs, moment(found[0]["by_min"], run.scenario.start))
            made.append(Goal(title, sentence, needs))
    return tuple(made)


def _needs(found: Sequence[Record], titles: Mapping[str, str], start: int | None) -> tuple[Need, ...]:
    """Group the rows, which are in order of time, by area and item: gas first, then what else is missing."""
    groups: dict[tuple[str, str], list[Record]] = defaultdict(list)
    for row in found:
        groups[row["area"], row["item"]].append(row)
    order = {area: place for place, area in enumerate(titles)}
    needs = []
    for (area, item), rows in sorted(groups.items(), key=lambda entry: (order.get(entry[0][0], 0), not _gas(entry[1]))):
        steps = tuple(
            Step(moment(row["by_min"], start), count(row["quantity"]), count(row["total"]), _litres(row))
            for row in rows
        )
        needs.append(Need(titles.get(area, area), item, steps[-1].total, steps[-1].litres, steps))
    return tuple(needs)


def _gas(rows: Sequence[Record]) -> bool:
    return bool(_litres(rows[0]))


def _litres(row: Record) -> str:
    return format_litres(row["litres"]) if row["litres"] == row["litres"] else ""


def _nothing(goal: str, short: set[str]) -> str:
    if goal == "immediate" and "immediate" in short:
        return (
            "Nothing more is needed for them alone: what is at hand keeps them at target if they always come first "
            "(plan with --priority strict to see that)."
        )
    return "Nothing more is needed."


def _sum_up(needs: Sequence[Need], first: str) -> str:
    """Sum a goal up: how many of what in all, where, and the first of it by when."""
    areas: dict[str, list[str]] = defaultdict(list)
    for need in needs:
        areas[need.area].append(f"{need.total} × {need.item}" + (f" ({need.litres} of oxygen)" if need.litres else ""))
    places = [f"at {area} {join_words(parts)}" for area, parts in areas.items()]
    return f"More needed: {'; '.join(places)}; the first by {first}."
