"""Flow wanted and flow delivered at one area, the gap hatched."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.figures.axes import clip, heading, value_axis
from mci.report.figures.style import INK, SUPPLY, WITHOUT
from mci.report.words import NOISE

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from mci.report.series import FlowSteps

__all__ = ["draw"]


def draw(data: FlowSteps, ax: Axes) -> Axes:
    """Fill what is delivered, hatch what is missing, outline what is wanted."""
    ax.stairs(data.delivered, data.edges, fill=True, facecolor=SUPPLY, alpha=0.55, linewidth=0)
    if any(want - got > NOISE for want, got in zip(data.target, data.delivered, strict=True)):
        ax.stairs(data.target, data.edges, baseline=data.delivered, fill=True, **WITHOUT)
    ax.stairs(data.target, data.edges, baseline=None, color=INK, linewidth=1.4)
    value_axis(ax, max(data.target), "L/min")
    heading(ax, clip(data.area, 34))
    return ax
