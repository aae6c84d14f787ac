"""How the bounds of a choice close in, round by round."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mci.report.figures.axes import heading, value_axis
from mci.report.figures.scales import bottom_scale, nice_ticks, share_scale
from mci.report.figures.style import INK, SUPPLY

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from mci.report.stock_series import Rounds

__all__ = ["draw"]


def draw(data: Rounds, ax: Axes) -> Axes:
    """Draw what the best list found costs or misses, and below it what no list can do better than."""
    first, last = data.numbers[0], data.numbers[-1]
    ax.set_xlim(0.0, last + 0.3)
    top = max(value for value in (*data.lower, *data.upper) if math.isfinite(value))
    if data.unit == "missed":
        share_scale(ax, 0.0, top if top > 0 else 0.01)
        heading(ax, "missed share of the weighted need")
    else:
        value_axis(ax, top, "")
        heading(ax, f"cost of the list [{data.unit}]")
    ticks = [tick for tick in nice_ticks(first, last, 8, whole=True) if tick >= first]
    bottom_scale(ax, ticks, [f"{tick:.0f}" for tick in ticks], "round")
    upper = [value if math.isfinite(value) else math.nan for value in data.upper]
    ax.plot(data.numbers, upper, color=INK, linewidth=1.5, marker="o", markersize=3, zorder=3)
    ax.plot(data.numbers, data.lower, color=SUPPLY, linewidth=1.5, linestyle=(0, (5, 2)), zorder=2)
    return ax
