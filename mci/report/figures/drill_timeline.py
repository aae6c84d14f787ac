"""An exercise over time: who comes by category, what happens, what is delivered; readable in black and white."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matplotlib.collections import LineCollection

from mci.report.figures.axes import category_axis, clip, panel_inches
from mci.report.figures.style import CATEGORY_FILL, HAIR, INK, QUIET
from mci.report.words import category_word

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matplotlib.axes import Axes

    from mci.report.drill_series import TimelineData

__all__ = ["ROW_IN", "draw", "row_count"]

#: Height of one row [in].
ROW_IN = 0.42
_DOT_IN, _BOX_IN = 0.095, 0.2  # width that a dot and the number of an event take
_UP = 0.2  # of a row, by which a dot moves up where one is in its place


def row_count(data: TimelineData) -> int:
    """Return how many rows there are."""
    return len(data.arrivals) + 2 + len(data.deliveries)


def draw(data: TimelineData, ax: Axes) -> Axes:
    """Draw arrivals as dots (hollow: unannounced), injects by the number of their event, deliveries as triangles."""
    names = [category_word(category) for category, _ in data.arrivals]
    names += ["Injects", "", *(clip(name, 22) for name, _, _ in data.deliveries)]
    names = names if data.deliveries else names[:-1]
    category_axis(ax, names, 0.0)
    ax.set_ylim(len(names) - 0.4, -0.75)
    per_inch = data.horizon / panel_inches(ax)[0]
    rules = [[(0, place), (data.horizon, place)] for place, name in enumerate(names) if name]
    ax.add_collection(LineCollection(rules, colors=HAIR, linewidths=0.6, zorder=0.4), autolim=False)
    for place, (category, dots) in enumerate(data.arrivals):
        _dots(ax, place, category, dots, per_inch)
    _numbers(ax, len(data.arrivals), data.injects, per_inch)
    for place, (_, told, real) in enumerate(data.deliveries, start=len(data.arrivals) + 2):
        _delivery(ax, place, told, real)
    return ax


def _dots(ax: Axes, place: int, category: str, dots: Sequence[tuple[float, bool]], per_inch: float) -> None:
    lanes = _lanes([at for at, _ in dots], _DOT_IN * per_inch)
    for (at, hollow), lane in zip(dots, lanes, strict=True):
        fill = "white" if hollow else CATEGORY_FILL[category]
        ax.plot(at, place - lane * _UP, marker="o", markersize=5.4, markerfacecolor=fill, markeredgecolor=INK,
                markeredgewidth=0.8, zorder=3, clip_on=False)  # fmt: skip


def _numbers(ax: Axes, place: int, injects: Sequence[tuple[float, str]], per_inch: float) -> None:
    """Write the number of each inject in a box; those too close to each other stand one below the other."""
    lanes = _lanes([at for at, _ in injects], _BOX_IN * per_inch)
    for (at, number), lane in zip(injects, lanes, strict=True):
        ax.plot([at, at], [place - 0.3, place + 0.5 * lane], color=QUIET, linewidth=0.7, zorder=1)
        ax.text(at, place + 0.5 * lane, number, ha="center", va="center", fontsize=7.5, fontweight="bold", color=INK,
                zorder=4, bbox={"boxstyle": "square,pad=0.25", "facecolor": "white", "edgecolor": INK,
                                "linewidth": 0.9})  # fmt: skip


def _lanes(moments: Sequence[float], apart: float) -> list[int]:
    """Return for each moment the first lane that is free there."""
    return list(_free_lanes(moments, apart))


def _free_lanes(moments: Sequence[float], apart: float) -> Iterator[int]:
    last: list[float] = []
    for at in moments:
        lane = next((lane for lane, before in enumerate(last) if at - before >= apart), len(last))
        if lane == len(last):
            last.append(at)
        last[lane] = at
        yield lane


def _delivery(ax: Axes, place: int, told: float, real: float) -> None:
    if real > told:
        ax.plot([told, real], [place, place], color=INK, linewidth=1.0, linestyle=(0, (3, 2)), zorder=2)
        ax.plot(told, place, marker="v", markersize=6, markerfacecolor="white", markeredgecolor=INK, zorder=3)
    ax.plot(real, place, marker="v", markersize=6.5, markerfacecolor=INK, markeredgecolor=INK, zorder=3, clip_on=False)
