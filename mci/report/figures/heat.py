"""Coverage by two numbers: the darker, the less is covered, with the number in every cell."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from matplotlib.colors import LinearSegmentedColormap
from matplotlib.patches import Rectangle

from mci.report.figures.axes import panel_inches
from mci.report.figures.scales import bottom_scale, side_names
from mci.report.figures.style import INK, SUPPLY
from mci.report.words import share

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from mci.report.figures.panels import Hovers
    from mci.report.whatif_series import HeatMap

__all__ = ["draw", "ink_on", "shade"]

#: From nothing covered to all covered; lightness falls evenly, so it reads the same in grey.
_SHADES = LinearSegmentedColormap.from_list("coverage", ["#12283a", SUPPLY, "#a9c3d4", "#ffffff"])
_LETTER_IN = 0.075
_EQUAL_CONTRAST = 0.2101  # luminance from which ink stands out as much as white


def draw(data: HeatMap, ax: Axes, floor: float, hovers: Hovers) -> Axes:
    """Fill the cells, darkest at a share ``floor``; crossed out: no result; framed: the numbers are as written."""
    columns, rows = len(data.across.words), len(data.up.words)
    ax.set_xlim(0, columns)
    ax.set_ylim(0, rows)
    size = min(8.5, 72 * (panel_inches(ax)[0] / columns) / (5 * _LETTER_IN * 10))
    for row, line in enumerate(data.shares):
        for column, value in enumerate(line):
            where = f"{data.across.words[column]}, {data.up.words[row]}"
            cell = ax.add_patch(_cell(column, row, value, floor))
            hovers.say(cell, f"{data.title}, {where}: {'no result' if math.isnan(value) else share(value)}")
            if not math.isnan(value):
                ax.text(column + 0.5, row + 0.5, _short(value), ha="center", va="center", fontsize=size,
                        color=ink_on(shade(value, floor)))  # fmt: skip
    if data.written is not None:
        ax.add_patch(Rectangle(data.written, 1, 1, fill=False, edgecolor=INK, linewidth=2.6, zorder=4, clip_on=False))
    bottom_scale(ax, [column + 0.5 for column in range(columns)], data.across.words, f"→ {data.across.label}")
    side_names(ax, [(row + 0.5, word) for row, word in enumerate(data.up.words)], size=7.5)
    ax.text(-0.75 / panel_inches(ax)[0], 1 + 0.09 / panel_inches(ax)[1], f"↑ {data.up.label}", transform=ax.transAxes)
    return ax


def _short(value: float) -> str:
    """Write percent without its sign, rounded down."""
    return share(value).removesuffix(" %")


def shade(value: float, floor: float) -> tuple[float, float, float, float]:
    """Return the colour of a share: white where all is covered, darkest at ``floor``."""
    return _SHADES(max(0.0, min(1.0, 0.15 + 0.85 * (value - floor) / (1 - floor))))


def ink_on(colour: tuple[float, float, float, float]) -> str:
    """Choose ink or white, whichever stands out more by its luminance (WCAG 2.1, contrast ratio)."""
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in colour[:3]]
    luminance = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    return INK if luminance > _EQUAL_CONTRAST else "white"


def _cell(column: int, row: int, value: float, floor: float) -> Rectangle:
    if math.isnan(value):
        return Rectangle((column, row), 1, 1, facecolor="white", edgecolor=INK, hatch="xx", linewidth=0.6)
    return Rectangle((column, row), 1, 1, facecolor=shade(value, floor), edgecolor=INK, linewidth=0.4)
