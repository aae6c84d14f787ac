"""What a team reached over time, between what was needed and what was possible; the loss shaded."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.figures.axes import value_axis
from mci.report.figures.policies import STROKE
from mci.report.figures.style import INK, SUPPLY

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from mci.report.debrief_series import ReachedSteps

__all__ = ["LOST", "NEED_FILL", "draw"]

#: What was lost: a tone that also prints, between the team's line and the best one.
LOST = "#c3ccd3"
NEED_FILL = "#f0f2f3"


def draw(data: ReachedSteps, ax: Axes) -> Axes:
    """Draw need as a pale area, usual practice, best orders and team as lines; shaded where best is above team."""
    ax.stairs(data.need, data.edges, fill=True, facecolor=NEED_FILL, linewidth=0, zorder=0.2)
    above = [max(best, team) for best, team in zip(data.best, data.team, strict=True)]
    ax.stairs(above, data.edges, baseline=data.team, fill=True, facecolor=LOST, linewidth=0, zorder=0.8)
    ax.stairs(data.need, data.edges, baseline=None, color=INK, linewidth=0.7, zorder=1.5)
    if data.usual:
        ax.stairs(data.usual, data.edges, baseline=None, zorder=2.2, **STROKE["usual"])
    ax.stairs(data.best, data.edges, baseline=None, zorder=2.4, color=INK, linewidth=1.7)
    ax.stairs(data.team, data.edges, baseline=None, zorder=2.6, color=SUPPLY, linewidth=2.6)
    value_axis(ax, max((*data.need, *data.best, *data.team), default=0.0), "patients", whole=True)
    return ax
