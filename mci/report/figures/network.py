"""The network: places as boxes, roads as lines, thicker the more full cylinders go over them."""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING, Any

from matplotlib.collections import LineCollection
from matplotlib.patches import FancyBboxPatch, Polygon, Rectangle

from mci.report.figures.style import INK, QUIET, SUPPLY
from mci.report.network_labels import SMALL_LINE_IN
from mci.report.network_layout import boxes_overlap, hits
from mci.report.network_series import LINE_IN

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matplotlib.axes import Axes

    from mci.report.network_layout import Box
    from mci.report.network_series import NetworkPicture, PlaceMark, RoadLine

__all__ = ["draw"]

_SUPPLIES: Mapping[str, Any] = {"facecolor": "#e4eaee", "edgecolor": INK, "linewidth": 0.8}
_BOXES: Mapping[str, Mapping[str, Any]] = {
    "area": {"facecolor": "white", "edgecolor": INK, "linewidth": 1.8},
    "junction": {"facecolor": "white", "edgecolor": QUIET, "linewidth": 0.6},
    "staging": {"facecolor": "white", "edgecolor": INK, "linewidth": 1.0, "linestyle": (0, (4, 2))},
}
_STEPS = 40  # of a bent line
_CROSS_IN = 0.06


def draw(data: NetworkPicture, ax: Axes) -> Axes:
    """Draw roads first, then boxes and labels; arrowheads show which way full cylinders go."""
    most = max((road.forward + road.back for road in data.roads), default=0)
    boxes = {(mark.x, mark.y): mark for mark in data.places}
    for road in data.roads:
        _road(ax, road, most, boxes)
    for mark in data.places:
        _place(ax, mark)
    for road in data.roads:
        left, bottom, right, top = road.label_box
        ax.add_patch(Rectangle((left, bottom), right - left, top - bottom, facecolor="white", zorder=3.5, alpha=0.9))
        _lines(ax, road.label, road.at[0], top - 0.02, SMALL_LINE_IN, 6.5, "normal")
    _mark_closed(ax, data)
    return ax


def _lines(ax: Axes, lines: Sequence[str], x: float, top: float, step: float, size: float, weight: str) -> None:
    """Write lines one by one, each centred by whoever shows them, since the fonts of readers differ."""
    for number, line in enumerate(lines):
        ax.text(x, top - (number + 0.5) * step, line, ha="center", va="center_baseline", fontsize=size,
                fontweight=weight, zorder=5)  # fmt: skip


def _mark_closed(ax: Axes, data: NetworkPicture) -> None:
    """Put a cross on each closed road, where neither a label nor a box is."""
    taken = [*(mark.box for mark in data.places), *(road.label_box for road in data.roads)]
    for road in data.roads:
        if road.closed:
            spots = [road.point(0.5 + side * n / 40) for n in range(19) for side in (1, -1)]
            x, y = next((spot for spot in spots if not any(_near(spot, box) for box in taken)), spots[0])
            ax.plot([x], [y], marker="x", markersize=9, markeredgewidth=2.2, color=INK, zorder=6)


def _near(spot: tuple[float, float], box: Box) -> bool:
    x, y = spot
    return bool(boxes_overlap((x - _CROSS_IN, y - _CROSS_IN, x + _CROSS_IN, y + _CROSS_IN), box))


def _road(ax: Axes, road: RoadLine, most: int, boxes: Mapping[tuple[float, float], PlaceMark]) -> None:
    points = [road.point(step / _STEPS) for step in range(_STEPS + 1)]
    full = road.forward + road.back
    style = "dotted" if road.on_foot else (0, (5, 3)) if road.closed else "solid"
    width = 0.9 + 3.6 * full / most if most else 0.9
    colour = SUPPLY if full else QUIET
    ax.add_collection(LineCollection([points], colors=colour, linewidths=width, linestyles=[style], zorder=1))
    if road.forward:
        _arrow(ax, points, boxes[road.end], width)
    if road.back:
        _arrow(ax, points[::-1], boxes[road.start], width)


def _arrow(ax: Axes, points: list[tuple[float, float]], into: PlaceMark, width: float) -> None:
    """Put an arrowhead where a line reaches the box of a place."""
    pairs = itertools.pairwise(points)
    before, after = next(((a, b) for a, b in pairs if hits(a, b, into.box)), (points[-2], points[-1]))
    angle = math.atan2(after[1] - before[1], after[0] - before[0])
    size = 0.10 + 0.014 * width
    x, y = _border(before, after, into)
    back = [(x - size * math.cos(angle + turn), y - size * math.sin(angle + turn)) for turn in (-0.45, 0.45)]
    ax.add_patch(Polygon([(x, y), *back], closed=True, facecolor=INK, edgecolor="white", linewidth=0.4, zorder=2.5))


def _border(before: tuple[float, float], after: tuple[float, float], into: PlaceMark) -> tuple[float, float]:
    """Return where a short line enters a box, by halving."""
    low, high = 0.0, 1.0
    for _ in range(12):
        middle = (low + high) / 2
        inside = hits(before, _between(before, after, middle), into.box)
        low, high = (low, middle) if inside else (middle, high)
    return _between(before, after, low)


def _between(before: tuple[float, float], after: tuple[float, float], share: float) -> tuple[float, float]:
    return before[0] + share * (after[0] - before[0]), before[1] + share * (after[1] - before[1])


def _place(ax: Axes, mark: PlaceMark) -> None:
    left, bottom, right, top = mark.box
    look = _BOXES.get(mark.kind, _SUPPLIES)
    patch = FancyBboxPatch((left, bottom), right - left, top - bottom, boxstyle="round,pad=0,rounding_size=0.06",
                           zorder=2, **look)  # fmt: skip
    ax.add_patch(patch)
    _lines(ax, mark.title, mark.x, top - 0.04, LINE_IN, 7.5, "bold")
    ax.text(mark.x, bottom + 0.045, mark.kind, ha="center", va="bottom", fontsize=6.5, color=QUIET, zorder=5)
