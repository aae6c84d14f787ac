"""Trips over time: one row per vehicle; under way, loading and unloading told apart without colour."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from matplotlib.collections import LineCollection

from mci.report.figures.axes import clip, panel_inches
from mci.report.figures.style import HAIR, INK, SUPPLY

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matplotlib.axes import Axes

    from mci.report.trip_series import VehicleBars

__all__ = ["ROW_IN", "draw"]

#: Height of one vehicle [in].
ROW_IN = 0.40
_HEIGHT = 0.40  # of a bar, in rows
_LETTER_IN = 0.062

#: Under way deep, loading hatched, unloading white.
_FILLS: Mapping[str, Any] = {
    "drive": {"facecolor": SUPPLY, "edgecolor": INK, "linewidth": 0.5},
    "load": {"facecolor": "white", "edgecolor": INK, "linewidth": 0.5, "hatch": "//////"},
    "unload": {"facecolor": "white", "edgecolor": INK, "linewidth": 0.5},
}


def draw(data: Sequence[VehicleBars], ax: Axes) -> Axes:
    """Draw the vehicles from top to bottom; the line below each goes from its departure to the last safe one."""
    ax.set_ylim(len(data) - 0.35, -0.75)
    horizon, width = ax.get_xlim()[1], panel_inches(ax)[0]
    up = ax.get_yaxis_transform()
    rules = [[(0, place), (horizon, place)] for place in range(len(data))]
    ax.add_collection(LineCollection(rules, colors=HAIR, linewidths=0.5, zorder=0.5), autolim=False)
    for place, row in enumerate(data):
        below = place + _HEIGHT / 2 + 0.12
        slack = [[(bar.leave, below), (bar.leave_by, below)] for bar in row.trips]
        ends = [[(bar.leave_by, below - 0.1), (bar.leave_by, below + 0.1)] for bar in row.trips]
        ax.add_collection(LineCollection(slack + ends, colors=INK, linewidths=[0.8] * len(slack) + [1.6] * len(ends),
                                         zorder=3), autolim=False)  # fmt: skip
        for kind, fill in _FILLS.items():
            spans = [(leg.start, leg.end - leg.start) for bar in row.trips for leg in bar.legs if leg.kind == kind]
            if spans:
                ax.broken_barh(spans, (place - _HEIGHT / 2, _HEIGHT), zorder=2, **fill)
        _number(ax, place, row, horizon / width)
        ax.text(
            -0.1 / width, place, clip(row.vehicle, 17), transform=up, ha="right", va="center_baseline", fontsize=7.5
        )
    return ax


def _number(ax: Axes, place: int, row: VehicleBars, minutes_per_inch: float) -> None:
    """Write the number of each trip above its beginning, where there is room."""
    free = -1.0
    for bar in row.trips:
        if bar.start >= free:
            ax.text(bar.start, place - _HEIGHT / 2 - 0.06, bar.label, fontsize=6.5, va="bottom", ha="left")
            free = bar.start + (len(bar.label) + 0.6) * _LETTER_IN * minutes_per_inch
