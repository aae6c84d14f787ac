"""Swings: how far each number by itself moves coverage, the largest at the top."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from mci.report.figures.axes import clip_middle, panel_inches
from mci.report.figures.scales import bottom_scale, nice_ticks, side_names
from mci.report.figures.style import INK, SUPPLY
from mci.report.words import share

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matplotlib.axes import Axes

    from mci.report.figures.panels import Hovers
    from mci.report.whatif_series import SwingBar

__all__ = ["ROW_IN", "draw"]

#: Height of one number [in].
ROW_IN = 0.36
_HEIGHT = 0.52  # of a bar, in rows
_ENDS: Mapping[str, Mapping[str, Any]] = {
    "low": {"facecolor": "white", "hatch": "//////"},
    "high": {"facecolor": SUPPLY},
}


def draw(data: Sequence[SwingBar], ax: Axes, hovers: Hovers) -> Axes:
    """Draw a bar to either side of what is written, each end with the value that the number has there."""
    ends = [value for bar in data for value in (bar.at_low, bar.at_high, bar.as_written)]
    room = 0.16 * max(max(ends) - min(ends), 0.01)
    ax.set_xlim(min(ends) - room, max(ends) + room)
    ax.set_ylim(len(data) - 0.4, -0.6)
    ticks = nice_ticks(max(0.0, min(ends) - room), min(1.0, max(ends) + room), 7)
    bottom_scale(ax, ticks, [f"{100 * tick:.4g} %" for tick in ticks], "weighted coverage at best", grid=True)
    for place, bar in enumerate(data):
        for end, words, at in (("low", bar.low, bar.at_low), ("high", bar.high, bar.at_high)):
            (mark,) = ax.barh(place, at - bar.as_written, _HEIGHT, left=bar.as_written, edgecolor=INK, linewidth=0.7,
                              zorder=2, **_ENDS[end])  # fmt: skip
            hovers.say(mark, f"{bar.path} at {words}: {share(at)}; as written {share(bar.as_written)}")
        _name_ends(ax, place, bar)
    ax.plot([data[0].as_written] * 2, [-0.6, len(data) - 0.4], color=INK, linewidth=1.2, zorder=3)
    side_names(ax, [(place, clip_middle(bar.path, 38)) for place, bar in enumerate(data)], size=7.5)
    return ax


def _name_ends(ax: Axes, place: int, bar: SwingBar) -> None:
    """Write the value at each end outside the bar; both on one side where both move coverage the same way."""
    gap = 0.05 * (ax.get_xlim()[1] - ax.get_xlim()[0]) / panel_inches(ax)[0]
    least, most = sorted(((bar.at_low, bar.low), (bar.at_high, bar.high)))
    left, right = min(least[0], bar.as_written), max(most[0], bar.as_written)
    same_side = least[0] > bar.as_written or most[0] < bar.as_written
    sides = {"left": least[1], "right": most[1]}
    if same_side:
        sides = {"left": f"{least[1]}, {most[1]}"} if most[0] < bar.as_written else {"right": f"{least[1]}, {most[1]}"}
    for side, words in sides.items():
        at, align = (left - gap, "right") if side == "left" else (right + gap, "left")
        ax.text(at, place, words, ha=align, va="center_baseline", fontsize=7.5)
