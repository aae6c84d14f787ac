"""Coverage over one number: best possible against what orders and usual practice reach."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mci.report.figures.axes import clip_middle, heading, panel_inches
from mci.report.figures.policies import MARK, STROKE
from mci.report.figures.scales import bottom_scale, nice_ticks, share_scale
from mci.report.figures.style import CATEGORY_FILL, INK, QUIET
from mci.surge.measures import POLICIES

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from mci.report.figures.panels import Hovers
    from mci.report.whatif_series import LinePanel

__all__ = ["draw"]

_MOST_TICKS = 7
_LETTER_IN = 0.062
_APART_IN = 0.11  # marks; the line and the table have every point


def draw(data: LinePanel, ax: Axes, floor: float, hovers: Hovers, *, label: str) -> Axes:
    """Draw one line per policy, where coverage breaks and where the number is as written.

    Parameters
    ----------
    floor
        Share at the bottom of the scale.
    label
        Words below the scale of the number.
    """
    places = data.scale.places
    room = 0.04 * (places[-1] - places[0]) if data.scale.between else 0.5
    ax.set_xlim(places[0] - (room or 1.0), places[-1] + (room or 1.0))
    share_scale(ax, floor, 1.0)
    ticks, words = _ticks(data)
    bottom_scale(ax, ticks, words, label)
    heading(ax, clip_middle(data.title, 42))
    _marks(data, ax)
    for curve in reversed(data.curves):  # the best possible on top
        if data.scale.between:
            ax.plot(curve.places, curve.shares, zorder=2, **STROKE[curve.policy])
        look = dict(MARK[curve.policy])
        if curve.policy == "best" and data.category in CATEGORY_FILL:
            look["markerfacecolor"] = CATEGORY_FILL[data.category]
        free = -math.inf
        for place, share, told in zip(curve.places, curve.shares, curve.told, strict=True):
            if place < free:
                continue
            free = place + _APART_IN * (ax.get_xlim()[1] - ax.get_xlim()[0]) / panel_inches(ax)[0]
            (mark,) = ax.plot([place], [share], zorder=3, clip_on=False, markeredgecolor=INK, markeredgewidth=0.8,
                              **look)  # fmt: skip
            hovers.say(mark, f"{data.title}, {POLICIES[curve.policy]}, {told}")
    return ax


def _ticks(data: LinePanel) -> tuple[list[float], list[str]]:
    """Mark the values of the cases where there are few, else round ones; written in the same way."""
    places = list(data.scale.places)
    if len(places) <= _MOST_TICKS or not data.scale.between:
        return places, list(data.scale.words)
    known = dict(zip(places, data.scale.words, strict=True))
    round_ones = [tick for tick in nice_ticks(places[0], places[-1], _MOST_TICKS) if tick in known]
    shown = round_ones if len(round_ones) >= 3 else places[:: -(-len(places) // _MOST_TICKS)]
    return shown, [known[tick] for tick in shown]


def _marks(data: LinePanel, ax: Axes) -> None:
    """Draw the break as an upright line with its value, and a triangle on the scale for what is written."""
    up = ax.get_xaxis_transform()
    if data.kept_to is not None:
        ax.plot([data.kept_to] * 2, [0, 1], transform=up, color=INK, linewidth=0.9, linestyle=(0, (4, 2)), zorder=1)
        low, high = ax.get_xlim()
        words = f"all covered at {data.kept_words}"
        width = len(words) * _LETTER_IN * (high - low) / panel_inches(ax)[0]
        right = data.kept_to + width > high
        ax.annotate(words, (data.kept_to, 0), xycoords=up, xytext=(-4 if right else 4, 5), textcoords="offset points",
                    ha="right" if right else "left", fontsize=7, color=INK)  # fmt: skip
    if data.written is not None:
        ax.plot([data.written], [0], transform=up, marker="^", markersize=6, color=QUIET, clip_on=False, zorder=4)
