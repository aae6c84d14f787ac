"""What each plan of a drill meets of the need over time; told apart by stroke, injects by the number of their event."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.figures.axes import panel_inches, value_axis
from mci.report.figures.policies import STROKE
from mci.report.figures.style import HAIR, INK, QUIET

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from mci.report.drill_series import CoverLines, Line

__all__ = ["draw"]

_NUMBER_IN = 0.17  # width that the number of an event takes


def draw(data: CoverLines, ax: Axes) -> Axes:
    """Draw the need as an area with an outline, and a line for each plan."""
    times, values = _to_horizon(data.need, ax)
    ax.fill_between(times, values, step="post", facecolor="#eef1f2", linewidth=0, zorder=0.4)
    ax.step(times, values, where="post", color=INK, linewidth=0.8, zorder=1)
    for line in data.plans:
        times, values = _to_horizon(line, ax)
        ax.step(times, values, where="post", zorder=3 if line.kind == "best" else 2, **STROKE[line.kind])
    value_axis(ax, max(data.need.values, default=1.0), "casualties", whole=True)
    _injects(data, ax)
    return ax


def _to_horizon(line: Line, ax: Axes) -> tuple[list[float], list[float]]:
    return [*line.times, ax.get_xlim()[1]], [*line.values, line.values[-1]]


def _injects(data: CoverLines, ax: Axes) -> None:
    """Write the number of each inject above the panel, with a hair down to the axis."""
    width = panel_inches(ax)[0]
    apart = _NUMBER_IN * ax.get_xlim()[1] / width
    across = ax.get_xaxis_transform()
    free = -apart
    for at, number in data.injects:
        ax.plot([at, at], [0, 1], transform=across, color=QUIET, linewidth=0.6, linestyle=(0, (1, 2)), zorder=0.6)
        place = max(at, free)
        ax.text(place, 1.02, number, transform=across, ha="center", va="bottom", fontsize=7.5, fontweight="bold",
                bbox={"boxstyle": "square,pad=0.15", "facecolor": "white", "edgecolor": HAIR,
                      "linewidth": 0.6})  # fmt: skip
        free = place + apart
