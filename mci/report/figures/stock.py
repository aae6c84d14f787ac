"""Usable litres at one area over time, with deliveries and the moment when it is first empty."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.figures.axes import clip, heading, value_axis
from mci.report.figures.style import INK, SUPPLY
from mci.units import format_litres, format_moment

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from mci.report.series import StockLine

__all__ = ["draw"]


def draw(data: StockLine, ax: Axes) -> Axes:
    """Draw the stock as an area; triangles mark deliveries, a cross the first moment without."""
    top = max(data.litres)
    ax.fill_between(data.times, data.litres, color=SUPPLY, alpha=0.35, linewidth=0)
    ax.plot(data.times, data.litres, color=SUPPLY, linewidth=1.6)
    value_axis(ax, top * 1.12, "litres of gas")
    heading(ax, clip(data.area, 34))
    horizon = ax.get_xlim()[1]
    for delivery in data.deliveries:
        ax.axvline(delivery.time, color=INK, linewidth=0.7, linestyle=(0, (4, 3)))
        ax.plot([delivery.time], [0.96], marker="v", markersize=5, color=INK, transform=ax.get_xaxis_transform())
    for delivery in data.deliveries[:6]:  # more would write over each other; the table has them all
        right = delivery.time > 0.7 * horizon
        ax.annotate(f"+{format_litres(delivery.litres)}", (delivery.time, 0.96), textcoords="offset points",
                    xycoords=ax.get_xaxis_transform(), xytext=(-6 if right else 6, -3), fontsize=7.5,
                    ha="right" if right else "left", color=INK)  # fmt: skip
    if data.empty is not None:
        right = data.empty > 0.7 * horizon
        ax.plot([data.empty], [0], marker="X", markersize=8, color=INK, clip_on=False, zorder=6)
        ax.annotate(f"empty {format_moment(data.empty)}", (data.empty, 0), textcoords="offset points",
                    xytext=(-9 if right else 9, 5), ha="right" if right else "left", fontsize=8, fontweight="bold",
                    color=INK)  # fmt: skip
    return ax
