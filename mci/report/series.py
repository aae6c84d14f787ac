"""The numbers behind the figures: steps and lines over time, summed as the figures need them.

Everything here is numbers in program units (minutes, patients, litres, L/min); what a figure
looks like is the business of :mod:`mci.report.figures`.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from mci.report.words import NOISE
from mci.resupply.plan_shortage import plan_shortage, plan_windows
from mci.scenario.model import CATEGORIES

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    import pandas as pd

    from mci.pipeline import Run
    from mci.scenario.model import Area

__all__ = ["Delivery", "FlowSteps", "NeedSteps", "ResupplySteps", "ShortStrip", "Span", "StockLine"]
__all__ += ["flow_steps", "need_steps", "records", "resupply_steps", "short_strips", "shown_shortage", "stock_lines"]
__all__ += ["windows_of_plan"]

Record = dict[str, Any]


@dataclass(frozen=True, slots=True)
class NeedSteps:
    """Patients of one category over time, all areas together; ``edges`` has one more entry than the rest [min]."""

    category: str
    edges: tuple[float, ...]
    need: tuple[float, ...]
    at_target: tuple[float, ...]
    lower: tuple[float, ...]
    without: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of time [min] with the most patients short at one moment in it."""

    begin: float
    end: float
    most: float


@dataclass(frozen=True, slots=True)
class ShortStrip:
    """When one category at one area is below target, and when some of it is without oxygen."""

    area: str
    category: str
    below: tuple[Span, ...]
    without: tuple[Span, ...]


@dataclass(frozen=True, slots=True)
class Delivery:
    """Usable litres that come at a moment [min]."""

    time: float
    litres: float


@dataclass(frozen=True, slots=True)
class StockLine:
    """Usable litres at one area over time; a delivery is a jump between two points at one moment."""

    area: str
    times: tuple[float, ...]
    litres: tuple[float, ...]
    deliveries: tuple[Delivery, ...]
    empty: float | None


@dataclass(frozen=True, slots=True)
class FlowSteps:
    """Flow wanted and flow delivered at one area [L/min]."""

    area: str
    edges: tuple[float, ...]
    target: tuple[float, ...]
    delivered: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class ResupplySteps:
    """Running total of whole cylinders that must be added at one area: ``(by minute, total)`` for each goal.

    ``immediate`` is ``None`` where the incident has no Immediate patients.
    """

    area: str
    everyone: tuple[tuple[float, float], ...]
    immediate: tuple[tuple[float, float], ...] | None


def records(frame: Any) -> list[Record]:
    """Return a data frame as plain rows."""
    rows: list[Record] = frame.to_dict("records")
    return rows


def windows_of_plan(run: Run) -> pd.DataFrame:
    """Return the shortage windows of the plan that can be carried out; none where there is none."""
    if run.executable is None:
        return run.windows.iloc[:0]
    return plan_windows(run.scenario, run.executable.verdict.services)


def shown_shortage(run: Run) -> pd.DataFrame:
    """Return who is short over time: in the plan that can be carried out, or at best where there is none."""
    if run.executable is None:
        return run.over_time
    return plan_shortage(run.scenario, run.executable.verdict.services)


def _edges(rows: Iterable[Record]) -> tuple[float, ...]:
    return tuple(sorted({float(row[key]) for row in rows for key in ("start_min", "end_min")}))


def _steps(rows: Iterable[Record], edges: Sequence[float], column: str) -> tuple[float, ...]:
    """Sum a column over the rows of each period; a row may cover several periods."""
    place = {edge: index for index, edge in enumerate(edges)}
    sums = [0.0] * (len(edges) - 1)
    for row in rows:
        for index in range(place[row["start_min"]], place[row["end_min"]]):
            sums[index] += row[column]
    return tuple(sums)


def need_steps(over_time: list[Record]) -> tuple[NeedSteps, ...]:
    """Sum the patients of each category that occurs over all areas."""
    edges = _edges(over_time)
    made = []
    for category in CATEGORIES:
        rows = [row for row in over_time if row["category"] == category]
        if rows:
            names = ("need", "at_target", "below_target", "without")
            made.append(NeedSteps(category, edges, *(_steps(rows, edges, name) for name in names)))
    return tuple(made)


def _spans(rows: list[Record], amount: Callable[[Record], float]) -> tuple[Span, ...]:
    """Join neighbouring periods in which an amount is above zero."""
    spans: list[Span] = []
    for row in sorted(rows, key=lambda row: float(row["start_min"])):
        if (most := amount(row)) <= NOISE:
            continue
        if spans and spans[-1].end == row["start_min"]:
            spans[-1] = Span(spans[-1].begin, row["end_min"], max(spans[-1].most, most))
        else:
            spans.append(Span(row["start_min"], row["end_min"], most))
    return tuple(spans)


def short_strips(over_time: list[Record], areas: Sequence[Area]) -> tuple[ShortStrip, ...]:
    """Find when each category at each area is short; those that never are have no strip."""
    groups: dict[tuple[str, str], list[Record]] = defaultdict(list)
    for row in over_time:
        groups[row["area"], row["category"]].append(row)
    strips = []
    for area in areas:
        for category in CATEGORIES:
            rows = groups.get((area.key, category), [])
            below = _spans(rows, lambda row: float(row["below_target"] + row["without"]))
            if below:
                without = _spans(rows, lambda row: float(row["without"]))
                strips.append(ShortStrip(area.title, category, below, without))
    return tuple(strips)


def stock_lines(run: Run) -> tuple[StockLine, ...]:
    """Return the stock of each area as a line with jumps at the deliveries."""
    rows = records(run.stock)
    empty = {row["area"]: row["empty_min"] for row in records(run.first_empty)}
    lines = []
    for area in run.scenario.areas:
        mine = sorted((row for row in rows if row["area"] == area.key), key=lambda row: float(row["time_min"]))
        points: list[tuple[float, float]] = []
        deliveries = []
        for row in mine:
            time, litres, brought = float(row["time_min"]), float(row["litres"]), float(row["delivered_litres"])
            if brought > NOISE and time > 0:
                deliveries.append(Delivery(time, brought))
                points.append((time, max(litres - brought, 0.0)))
            points.append((time, litres))
        if any(litres > NOISE for _, litres in points):
            dry = empty.get(area.key)
            times, litres_line = zip(*points, strict=True)
            never = dry is None or dry != dry
            lines.append(StockLine(area.title, times, litres_line, tuple(deliveries), None if never else dry))
    return tuple(lines)


def flow_steps(over_time: list[Record], areas: Sequence[Area]) -> tuple[FlowSteps, ...]:
    """Sum the flows wanted and delivered over the categories of each area."""
    edges = _edges(over_time)
    made = []
    for area in areas:
        rows = [row for row in over_time if row["area"] == area.key]
        if rows:
            made.append(
                FlowSteps(area.title, edges, _steps(rows, edges, "target_lpm"), _steps(rows, edges, "delivered_lpm"))
            )
    return tuple(made)


def resupply_steps(run: Run) -> tuple[ResupplySteps, ...]:
    """Return the running totals of extra cylinders per area; areas that need none are left out."""
    gas = [row for row in records(run.resupply) if row["litres"] == row["litres"]]
    has_immediate = "immediate" in set(run.coverage["category"])
    made = []
    for area in run.scenario.areas:
        totals = {
            goal: tuple(
                (float(row["by_min"]), float(row["total"]))
                for row in sorted(gas, key=lambda row: float(row["by_min"]))
                if row["area"] == area.key and row["goal"] == goal
            )
            for goal in ("everyone", "immediate")
        }
        if any(totals.values()):
            made.append(ResupplySteps(area.title, totals["everyone"], totals["immediate"] if has_immediate else None))
    return tuple(made)
