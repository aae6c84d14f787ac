"""Scales of figures of studies: shares upwards, any quantity to the right; as few objects as for the time axis."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matplotlib.collections import LineCollection
from matplotlib.ticker import MaxNLocator

from mci.report.figures.axes import panel_inches
from mci.report.figures.style import HAIR, QUIET

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

__all__ = ["bottom_scale", "nice_ticks", "share_scale", "side_names"]

_GAP_IN, _TICK_IN, _LABEL_IN = 0.07, 0.04, 0.27
_LETTER_IN = 0.065


def nice_ticks(low: float, high: float, most: int, *, whole: bool = False) -> list[float]:
    """Return round numbers between two values, both ends counted where they are round."""
    room = 1e-9 * max(abs(low), abs(high), 1.0)
    found = MaxNLocator(most, integer=whole, steps=[1, 2, 2.5, 5, 10]).tick_values(low, high)
    return [float(value) for value in found if low - room <= value <= high + room]


def share_scale(ax: Axes, low: float, high: float, *, labelled: bool = True) -> None:
    """Mark shares upwards in percent, with room for marks at both ends."""
    room = 0.06 * (high - low)
    ax.set_ylim(low - room, high + room)
    width, _ = panel_inches(ax)
    ticks = nice_ticks(low, high, 5)
    left, right = ax.get_xlim()
    _draw(ax, [[(left, tick), (right, tick)] for tick in ticks], ax.transData, HAIR)
    for tick in ticks if labelled else ():
        ax.text(-_GAP_IN / width, tick, f"{100 * tick:.4g} %", transform=ax.get_yaxis_transform(), ha="right",
                va="center_baseline")  # fmt: skip


def bottom_scale(ax: Axes, ticks: Sequence[float], words: Sequence[str], label: str, *, grid: bool = False) -> None:
    """Mark values along the bottom; names that would run into their neighbour are left out."""
    width, height = panel_inches(ax)
    left, right = ax.get_xlim()
    across = ax.get_xaxis_transform()
    marks = [[(tick, 0.0), (tick, -_TICK_IN / height)] for tick in ticks]
    _draw(ax, [[(left, 0.0), (right, 0.0)], *marks], across, QUIET)
    if grid:
        _draw(ax, [[(tick, 0.0), (tick, 1.0)] for tick in ticks], across, HAIR)
    free = left - 1e9
    for tick, word in zip(ticks, words, strict=True):
        half = (len(word) / 2 + 0.4) * _LETTER_IN * (right - left) / width
        if tick - half >= free:
            ax.text(tick, -_GAP_IN / height, word, transform=across, va="top", ha="center")
            free = tick + half
    if label:
        ax.text(0.5, -_LABEL_IN / height, label, transform=ax.transAxes, ha="center", va="top")


def side_names(ax: Axes, names: Sequence[tuple[float, str]], *, size: float = 8.0, bold: bool = False) -> None:
    """Write names to the left of rows."""
    width, _ = panel_inches(ax)
    for place, name in names:
        ax.text(-0.1 / width, place, name, transform=ax.get_yaxis_transform(), ha="right", va="center_baseline",
                fontsize=size, fontweight="bold" if bold else "normal")  # fmt: skip


def _draw(ax: Axes, segments: Sequence[Sequence[tuple[float, float]]], transform: object, colour: str) -> None:
    lines = LineCollection(segments, colors=colour, linewidths=0.6, zorder=0.5, clip_on=False, transform=transform)
    ax.add_collection(lines, autolim=False)
