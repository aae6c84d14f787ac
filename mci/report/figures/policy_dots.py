"""Mean coverage by policy: a mark with its interval, and thinly what 9 of 10 incidents lie between."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.figures.axes import panel_inches
from mci.report.figures.policies import MARK
from mci.report.figures.scales import bottom_scale, nice_ticks, side_names
from mci.report.figures.style import CATEGORY_FILL, INK, QUIET
from mci.report.words import share
from mci.surge.measures import POLICIES

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

    from mci.report.figures.panels import Hovers
    from mci.report.risk_series import Dot

__all__ = ["ROW_IN", "draw", "row_count"]

#: Height of one row [in].
ROW_IN = 0.165


def row_count(data: Sequence[Dot]) -> int:
    """Return how many rows there are: one for each mark, one and a gap for each category."""
    return len(data) + 2 * len({dot.category for dot in data})


def draw(data: Sequence[Dot], ax: Axes, hovers: Hovers) -> Axes:
    """Draw the policies below each other, category after category."""
    ax.set_ylim(row_count(data) - 1.2, -0.8)
    low = min(min(dot.q05, dot.mean) for dot in data)
    ax.set_xlim(max(0.0, low - 0.03) - 0.01, 1.01)
    ticks = nice_ticks(max(0.0, low - 0.03), 1.0, 6)
    bottom_scale(ax, ticks, [f"{100 * tick:.4g} %" for tick in ticks], "coverage", grid=True)
    row, last = -1, ""
    for dot in data:
        if dot.category != last:
            row += 1 if row < 0 else 2
            side_names(ax, [(row, dot.title)], bold=True)
            _swatch(ax, row, dot.category)
            last = dot.category
        row += 1
        _row(ax, row, dot, hovers)
    return ax


def _row(ax: Axes, row: int, dot: Dot, hovers: Hovers) -> None:
    ax.plot([dot.q05, dot.q95], [row, row], color=QUIET, linewidth=0.8, zorder=2, solid_capstyle="butt")
    ax.plot([dot.low, dot.high], [row, row], color=INK, linewidth=3.2, zorder=2.5, solid_capstyle="butt")
    (mark,) = ax.plot([dot.mean], [row], zorder=3, markeredgecolor=INK, markeredgewidth=0.8, **MARK[dot.policy])
    interval = "" if dot.low != dot.low else f" ({share(dot.low)} to {share(dot.high)})"  # no interval is NaN
    hovers.say(mark, f"{dot.title}, {POLICIES[dot.policy]}: {share(dot.mean)}{interval}")
    side_names(ax, [(row, POLICIES[dot.policy])], size=7.5)
    right = 1 + 0.12 / panel_inches(ax)[0]
    ax.text(right, row, f"{share(dot.mean)}{interval}", transform=ax.get_yaxis_transform(), va="center_baseline",
            fontsize=7.5)  # fmt: skip


def _swatch(ax: Axes, row: int, category: str) -> None:
    if category in CATEGORY_FILL:
        left, up = -0.03 / panel_inches(ax)[0], ax.get_yaxis_transform()
        ax.plot([left], [row - 0.05], marker="s", markersize=5, transform=up, clip_on=False, markeredgecolor=INK,
                markeredgewidth=0.6, color=CATEGORY_FILL[category])  # fmt: skip
