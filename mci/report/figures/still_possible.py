"""How what could still be reached falls, stretch by stretch, with decisions and injects marked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.debrief_words import credit
from mci.report.figures.axes import panel_inches, value_axis
from mci.report.figures.policies import STROKE
from mci.report.figures.reached import LOST
from mci.report.figures.style import INK, QUIET, SUPPLY

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from mci.report.debrief_series import StillPossible

__all__ = ["draw"]

_APART_IN = 0.14  # letters closer than this stand above each other


def draw(data: StillPossible, ax: Axes) -> Axes:
    """Draw the falling line, known at its points, under what was possible at first; shaded what was lost."""
    first, last = data.possible[0], data.possible[-1]
    ax.fill_between(data.times, data.possible, first, facecolor=LOST, linewidth=0, zorder=0.8)
    ax.plot([data.times[0], data.times[-1]], [first, first], color=INK, linewidth=0.9, linestyle=(0, (4, 2)))
    if data.usual is not None:
        ax.plot([data.times[0], data.times[-1]], [data.usual] * 2, zorder=1.4, **STROKE["usual"])
    ax.plot(data.times, data.possible, color=SUPPLY, linewidth=2.4, marker="o", markersize=3.2, markeredgecolor=INK,
            markeredgewidth=0.5, markerfacecolor="white", zorder=2.4, clip_on=False)  # fmt: skip
    value_axis(ax, first, "weighted credit-min")
    _ends(ax, data, first, last)
    _decisions(ax, data)
    _injects(ax, data)
    return ax


def _ends(ax: Axes, data: StillPossible, first: float, last: float) -> None:
    """Write the values at both ends, to the right of the panel."""
    width, height = panel_inches(ax)
    room = 0.13 * ax.get_ylim()[1] / height
    places = [(first, f"{credit(first)} possible", INK), (last, f"{credit(last)} reached", SUPPLY)]
    if data.usual is not None:
        places.append((data.usual, f"{credit(data.usual)} usual", QUIET))
    free = None
    for value, words, colour in sorted(places, reverse=True):
        place = value if free is None else min(value, free - room)
        free = place
        ax.text(1 + 0.07 / width, place, words, transform=ax.get_yaxis_transform(), va="center", fontsize=7.5,
                color=colour, fontweight="bold")  # fmt: skip


def _decisions(ax: Axes, data: StillPossible) -> None:
    """Number the stretches of the decisions below the line."""
    height = panel_inches(ax)[1]
    across = ax.get_xaxis_transform()
    for number, start, end in data.decisions:
        ax.axvspan(start, end, ymin=0, ymax=0.055 / height * 4, facecolor=INK, alpha=0.14, linewidth=0, zorder=0.4)
        ax.text((start + end) / 2, 0.11 / height, number, transform=across, ha="center", va="center_baseline",
                fontsize=8.5, fontweight="bold")  # fmt: skip


def _injects(ax: Axes, data: StillPossible) -> None:
    """Mark what was not announced by a thin line down the panel, and a letter above it."""
    width, height = panel_inches(ax)
    left, right = ax.get_xlim()
    apart = _APART_IN * (right - left) / width
    across = ax.get_xaxis_transform()
    ends = [left - apart, left - apart, left - apart]
    for letter, minute in data.injects:
        row = next((row for row, end in enumerate(ends) if minute - end >= apart), len(ends) - 1)
        ends[row] = minute
        ax.plot([minute, minute], [0, 1], transform=across, color=INK, linewidth=0.7, linestyle=(0, (1, 2)), zorder=1.2)
        ax.text(minute, 1 + (0.05 + 0.12 * row) / height, letter, transform=across, ha="center", va="bottom",
                fontsize=8, fontweight="bold")  # fmt: skip
