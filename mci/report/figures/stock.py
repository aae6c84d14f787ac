"""Usable litres at one area over time, with deliveries and the moment when it is first empty."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.figures.axes import clip, heading, panel_inches, value_axis
from mci.report.figures.style import INK, SUPPLY
from mci.units import format_litres, format_moment

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

    from mci.report.series import Delivery, StockLine

__all__ = ["curve", "draw"]

_LETTER_IN = 0.068


def draw(data: StockLine, ax: Axes) -> Axes:
    """Draw the stock on a scale of its own, and write how much comes and when it is empty."""
    curve(data, ax)
    value_axis(ax, max(data.litres) * 1.12, "litres of gas")
    heading(ax, clip(data.area, 34))
    _amounts(ax, data.deliveries)
    if data.empty is not None:
        right = data.empty > 0.7 * ax.get_xlim()[1]
        ax.annotate(f"empty {format_moment(data.empty)}", (data.empty, 0), textcoords="offset points",
                    xytext=(-9 if right else 9, 5), ha="right" if right else "left", fontsize=8, fontweight="bold",
                    color=INK)  # fmt: skip
    return ax


def curve(data: StockLine, ax: Axes) -> None:
    """Draw the stock as an area; triangles mark deliveries, a cross the first moment without; no scale, no words."""
    ax.fill_between(data.times, data.litres, color=SUPPLY, alpha=0.35, linewidth=0)
    ax.plot(data.times, data.litres, color=SUPPLY, linewidth=1.6)
    for delivery in data.deliveries:
        ax.axvline(delivery.time, color=INK, linewidth=0.7, linestyle=(0, (4, 3)))
        ax.plot([delivery.time], [0.96], marker="v", markersize=5, color=INK, transform=ax.get_xaxis_transform())
    if data.empty is not None:
        ax.plot([data.empty], [0], marker="X", markersize=8, color=INK, clip_on=False, zorder=6)


def _amounts(ax: Axes, deliveries: Sequence[Delivery]) -> None:
    """Write how much comes beside each mark, where there is room; the table has them all."""
    horizon = ax.get_xlim()[1]
    free = 0.0
    for place, delivery in enumerate(deliveries):
        text = f"+{format_litres(delivery.litres)}"
        width = (len(text) + 2) * _LETTER_IN * horizon / panel_inches(ax)[0]
        right = delivery.time > 0.7 * horizon
        begin = delivery.time - width if right else delivery.time
        later = deliveries[place + 1].time if place + 1 < len(deliveries) else horizon
        if begin >= free and (right or begin + width <= max(later, 0.0)):
            ax.annotate(text, (delivery.time, 0.96), textcoords="offset points", xycoords=ax.get_xaxis_transform(),
                        xytext=(-6 if right else 6, -3), fontsize=7.5, ha="right" if right else "left",
                        color=INK)  # fmt: skip
            free = max(begin + width, delivery.time)
        else:
            free = max(free, delivery.time)
