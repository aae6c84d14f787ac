"""What was drawn of one number: bars of shares of the samples."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.figures.axes import clip_middle, heading
from mci.report.figures.scales import bottom_scale
from mci.report.figures.style import INK, SUPPLY

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from mci.report.figures.panels import Hovers
    from mci.report.risk_series import Histogram

__all__ = ["draw"]


def draw(data: Histogram, ax: Axes, hovers: Hovers) -> Axes:
    """Draw the bars; only their shape matters, so there is no scale upwards but the share of the highest."""
    top = max(data.shares)
    ax.set_xlim(data.edges[0], data.edges[-1])
    ax.set_ylim(0, 1.18 * top)
    for left, right, share in zip(data.edges, data.edges[1:], data.shares, strict=False):
        (mark,) = ax.bar(left, share, right - left, align="edge", facecolor=SUPPLY, edgecolor="white", linewidth=0.8)
        hovers.say(mark, f"{data.path}, {_between(data, left, right)}: {100 * share:.3g} % of the samples")
    highest = data.shares.index(top)
    middle = (data.edges[highest] + data.edges[highest + 1]) / 2
    ax.text(middle, top * 1.03, f"{100 * top:.2g} %", ha="center", va="bottom", fontsize=7, color=INK)
    bottom_scale(ax, data.ticks, data.words, "")
    heading(ax, clip_middle(data.path, 30))
    return ax


def _between(data: Histogram, left: float, right: float) -> str:
    for tick, word in zip(data.ticks, data.words, strict=True):
        if len(data.ticks) == len(data.shares) and left <= tick <= right:
            return word
    return f"{left:.5g} to {right:.5g}"
