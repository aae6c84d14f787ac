"""How what could still be reached falls, stretch by stretch, with decisions and injects marked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.debrief_words import credit
from mci.report.figures.axes import panel_inches
from mci.report.figures.policies import STROKE
from mci.report.figures.reached import LOST
from mci.report.figures.scales import nice_ticks
from mci.report.figures.style import HAIR, INK, QUIET, SUPPLY

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from mci.report.debrief_series import StillPossible

__all__ = ["axis_from", "draw"]

_MUCH = 0.6  # of what was possible at first: where less than that is drawn, the axis begins at nothing
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
    _upward(ax, data)
    _ends(ax, data, first, last)
    _decisions(ax, data)
    _injects(ax, data)
    return ax


def axis_from(data: StillPossible) -> float:
    """Return where the axis begins: at nothing, or, where little was lost, at a round value below all that is drawn."""
    first, least = data.possible[0], min(*data.possible, data.possible[0] if data.usual is None else data.usual)
    if least < _MUCH * first:
        return 0.0
    below = least - (first - least) / 2
    return max([tick for tick in nice_ticks(0.0, first, 40) if tick <= below], default=0.0)


def _upward(ax: Axes, data: StillPossible) -> None:
    """Mark amounts upwards, and say so where the axis does not begin at nothing."""
    low, first = axis_from(data), data.possible[0]
    high = first + 0.12 * (first - low)
    ax.set_ylim(low, high)
    width, _ = panel_inches(ax)
    up, (left, right) = ax.get_yaxis_transform(), ax.get_xlim()
    for tick in nice_ticks(low, high, 4):
        ax.plot([left, right], [tick, tick], color=HAIR, linewidth=0.6, zorder=0.5)
        number = f"{tick:,.10g}".replace(",", " ")
        ax.text(-0.07 / width, tick, number, transform=up, ha="right", va="center_baseline")
    ax.plot([left, left], [low, high], color=QUIET, linewidth=0.6, zorder=0.5, clip_on=False)
    begins = f"\n(axis from {low:,.10g})".replace(",", " ") if low else ""
    ax.text(-0.6 / width, 0.5, f"weighted credit-min{begins}", transform=ax.transAxes, rotation=90, ha="center",
            va="center", linespacing=1.15)  # fmt: skip


def _ends(ax: Axes, data: StillPossible, first: float, last: float) -> None:
    """Write the values at both ends, to the right of the panel."""
    width, height = panel_inches(ax)
    low, high = ax.get_ylim()
    room = 0.13 * (high - low) / height
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
