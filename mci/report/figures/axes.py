"""The axes that all figures share: time to the right, a quantity upwards, a heading above.

Ticks, grid and labels are placed here as a few lines and texts: one report has some hundred ticks, and
matplotlib's own tick objects took more time than all the rest of the drawing together.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from matplotlib.collections import LineCollection
from matplotlib.ticker import MaxNLocator

from mci.report.figures.style import HAIR, QUIET
from mci.units import format_clock

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

__all__ = ["category_axis", "clip", "clip_middle", "heading", "panel_inches", "time_axis", "value_axis"]

_STEPS_MIN = (5, 10, 15, 20, 30, 60, 120, 180, 240, 360, 720, 1440)
_TICK_IN, _GAP_IN, _LABEL_IN = 0.04, 0.07, 0.62  # from an axis: end of its ticks, its numbers, its name


def panel_inches(ax: Axes) -> tuple[float, float]:
    """Return width and height of the panel [in]."""
    box, page = ax.get_position(), ax.figure.bbox
    return box.width * page.width / ax.figure.dpi, box.height * page.height / ax.figure.dpi


def clip(text: str, length: int) -> str:
    """Shorten a name that would run into its neighbour."""
    return text if len(text) <= length else text[: length - 1].rstrip() + "…"


def clip_middle(text: str, length: int) -> str:
    """Shorten the path of a number; its end tells it from others of the same thing, so the middle gives way."""
    if len(text) <= length:
        return text
    tail = min(len(text) - 1 - text.rfind("."), length // 2)
    return f"{text[: length - tail - 1].rstrip()}…{text[-tail:]}"


def heading(ax: Axes, text: str) -> None:
    """Put a panel's name above its left edge."""
    ax.text(0, 1 + 0.08 / panel_inches(ax)[1], text, transform=ax.transAxes, fontsize=9, fontweight="bold")


def time_axis(
    ax: Axes,
    horizon: float,
    start: int | None,
    *,
    labelled: bool,
    named: bool = True,
    most_ticks: int = 9,
    grid: bool = False,
) -> None:
    """Mark the time after the start of the incident, with clock time where there is one.

    ``grid`` on a tall panel; not ``named`` on one that is narrower than the name.
    """
    ax.set_axis_off()
    ax.set_xlim(0, horizon)
    step = next((step for step in _STEPS_MIN if horizon / step <= most_ticks), None)
    step = step or 1440 * math.ceil(horizon / 1440 / most_ticks)
    ticks = range(0, math.floor(horizon) + 1, step)
    width, height = panel_inches(ax)
    across = ax.get_xaxis_transform()
    lines = [[(tick, 0.0), (tick, -_TICK_IN / height)] for tick in ticks]
    _lines(ax, [[(0, 0), (horizon, 0)], *lines], across, QUIET)
    if grid:
        _lines(ax, [[(tick, 0.0), (tick, 1.0)] for tick in ticks], across, HAIR)
    if not labelled:
        return
    for tick in ticks:
        clock = "" if start is None else f"\n{format_clock(tick, start)}"
        last = tick == ticks[-1]  # may carry "+1 d": keep it inside the figure
        place = tick + 0.13 * horizon / width if last else tick
        ax.text(place, -_GAP_IN / height, f"T+{tick}{clock}", transform=across, va="top", linespacing=1.15,
                ha="right" if last else "center")  # fmt: skip
    if not named:
        return
    name = "minutes after the start (T+)" + ("" if start is None else ", and clock time")
    ax.text(0.5, -(0.36 if start is not None else 0.25) / height, name, transform=ax.transAxes, ha="center", va="top")


def value_axis(ax: Axes, top: float, label: str, *, whole: bool = False) -> None:
    """Mark a quantity from zero up, a little room above the highest value."""
    ceiling = top * 1.12 if top > 0 else 1.0
    ax.set_ylim(0, ceiling)
    horizon, width = ax.get_xlim()[1], panel_inches(ax)[0]
    values = MaxNLocator(4, integer=whole, steps=[1, 2, 2.5, 5, 10]).tick_values(0, ceiling)
    values = [float(value) for value in values if 0 <= value <= ceiling]
    _lines(ax, [[(0, value), (horizon, value)] for value in values if value > 0], ax.transData, HAIR)
    _lines(ax, [[(0, 0), (0, 1)]], ax.transAxes, QUIET)
    up = ax.get_yaxis_transform()
    for value in values:
        number = f"{value:,.10g}".replace(",", " ")
        ax.text(-_GAP_IN / width, value, number, transform=up, ha="right", va="center_baseline")
    ax.text(-_LABEL_IN / width, 0.5, label, transform=ax.transAxes, rotation=90, ha="center", va="center")


def category_axis(ax: Axes, names: Sequence[str], offset: float) -> None:
    """Name rows from top to bottom, and draw the hours as thin lines."""
    ax.set_ylim(len(names) - 0.45, -0.6)
    up = ax.get_yaxis_transform()
    for place, name in enumerate(names):
        ax.text(
            -0.14 / panel_inches(ax)[0],
            place + offset,
            name,
            transform=up,
            ha="right",
            va="center_baseline",
            fontsize=8,
        )


def _lines(ax: Axes, segments: Sequence[Sequence[tuple[float, float]]], transform: object, colour: str) -> None:
    lines = LineCollection(segments, colors=colour, linewidths=0.6, zorder=0.5, clip_on=False, transform=transform)
    ax.add_collection(lines, autolim=False)
