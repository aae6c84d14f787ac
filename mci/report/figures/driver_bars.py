"""What drives the result: the share of the variance that each input brings, by itself and in all."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from mci.report.figures.axes import clip_middle, heading
from mci.report.figures.scales import bottom_scale, nice_ticks, side_names
from mci.report.figures.style import INK, SUPPLY

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matplotlib.axes import Axes

    from mci.report.figures.panels import Hovers
    from mci.report.risk_series import DriverBar, DriverPanel

__all__ = ["ROW_IN", "draw"]

#: Height of one input [in].
ROW_IN = 0.36
_HEIGHT = 0.3  # of a bar, in rows
_FILL: Mapping[str, Mapping[str, Any]] = {
    "total": {"facecolor": "white", "hatch": "//////"},
    "first": {"facecolor": SUPPLY},
}


def draw(data: DriverPanel, ax: Axes, hovers: Hovers, *, label: str) -> Axes:
    """Draw two bars for each input, with intervals as whiskers; a share below 0 is chance, so it is cut off."""
    ends = [value for bar in data.bars for value in (bar.total_high, bar.first_high, bar.total, bar.first)]
    most = max([0.1, *(value for value in ends if not math.isnan(value))])
    ax.set_xlim(0, most * 1.03)
    ax.set_ylim(len(data.bars) - 0.4, -0.6)
    ticks = nice_ticks(0.0, most, 5)
    bottom_scale(ax, ticks, [f"{100 * tick:.4g} %" for tick in ticks], label, grid=True)
    for place, bar in enumerate(data.bars):
        _bar(ax, place - 0.17, bar, "first", hovers)
        _bar(ax, place + 0.17, bar, "total", hovers)
    side_names(ax, [(place, clip_middle(bar.input, 38)) for place, bar in enumerate(data.bars)], size=7.5)
    heading(ax, data.title)
    return ax


def _bar(ax: Axes, place: float, bar: DriverBar, kind: str, hovers: Hovers) -> None:
    value, low, high = (getattr(bar, name) for name in (kind, f"{kind}_low", f"{kind}_high"))
    (mark,) = ax.barh(place, max(value, 0.0), _HEIGHT, edgecolor=INK, linewidth=0.7, zorder=2, **_FILL[kind])
    words = {"first": "by itself", "total": "in all"}[kind]
    interval = "" if math.isnan(low) else f" ({100 * low:.0f} to {100 * high:.0f} %)"
    hovers.say(mark, f"{bar.input} {words}: {100 * value:.0f} % of the variance{interval}".replace("-", "−"))
    if not math.isnan(low):
        ax.plot([max(low, 0.0), max(high, 0.0)], [place, place], color=INK, linewidth=1.3, zorder=3)
        for end in (low, high):
            ax.plot([max(end, 0.0)] * 2, [place - 0.1, place + 0.1], color=INK, linewidth=1.3, zorder=3)
