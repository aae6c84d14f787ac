"""The numbers behind the figures of cases side by side, with the scales that all cases share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, TypeVar

from mci.report.series import NeedSteps, StockLine, need_steps, records, stock_lines
from mci.scenario.model import CATEGORIES

if TYPE_CHECKING:
    from collections.abc import Sequence

    from mci.report.beside_cases import Chosen

__all__ = ["Frame", "PanelRow", "find_frame", "need_rows", "stock_rows"]

Panel = TypeVar("Panel")


@dataclass(frozen=True, slots=True)
class Frame:
    """The time that all panels show: to the longest plan [min]; clock time of T+0 where it is the same in all."""

    horizon: float
    start: int | None
    titles: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PanelRow(Generic[Panel]):
    """One panel per case, ``None`` where there is nothing to show; ``top`` is the highest value in any of them."""

    key: str
    panels: tuple[Panel | None, ...]
    top: float


def find_frame(chosen: Sequence[Chosen]) -> Frame:
    """Find the time that all panels show."""
    starts = {case.run.scenario.start for case in chosen}
    return Frame(
        horizon=max(case.run.scenario.horizon for case in chosen),
        start=starts.pop() if len(starts) == 1 else None,
        titles=tuple(case.title for case in chosen),
    )


def need_rows(chosen: Sequence[Chosen]) -> tuple[PanelRow[NeedSteps], ...]:
    """Return need and delivery over time at best, a row per category that occurs in any case."""
    found = [{steps.category: steps for steps in need_steps(records(case.run.over_time))} for case in chosen]
    rows = []
    for category in CATEGORIES:
        panels = tuple(each.get(category) for each in found)
        top = max((max(panel.need) for panel in panels if panel is not None), default=0.0)
        if top > 0:
            rows.append(PanelRow(category, panels, top))
    return tuple(rows)


def stock_rows(chosen: Sequence[Chosen]) -> tuple[PanelRow[StockLine], ...]:
    """Return the stock over time at best, a row per area that has cylinders or vessels in any case."""
    found = [{line.area: line for line in stock_lines(case.run)} for case in chosen]
    areas = dict.fromkeys(area.title for case in chosen for area in case.run.scenario.areas)
    rows = []
    for area in areas:
        panels = tuple(each.get(area) for each in found)
        if any(panels):
            top = max(max(panel.litres) for panel in panels if panel is not None)
            rows.append(PanelRow(area, panels, top))
    return tuple(rows)
