"""Need and delivery of one category over time, the shortage lined and hatched."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.figures.axes import heading, value_axis
from mci.report.figures.style import CATEGORY_FILL, INK, LOWER, WITHOUT
from mci.report.words import NOISE, category_word

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from mci.report.series import NeedSteps

__all__ = ["draw", "stack"]


def draw(data: NeedSteps, ax: Axes) -> Axes:
    """Draw the patients of one category over time, on a scale of their own."""
    stack(data, ax)
    value_axis(ax, max(data.need), "patients", whole=True)
    heading(ax, category_word(data.category))
    return ax


def stack(data: NeedSteps, ax: Axes) -> None:
    """Stack patients at target, on a lower rung and without oxygen under the outline of the need; no scale."""
    lower_top = [a + b for a, b in zip(data.at_target, data.lower, strict=True)]
    ax.stairs(data.at_target, data.edges, fill=True, facecolor=CATEGORY_FILL[data.category], linewidth=0)
    if max(data.lower) > NOISE:
        ax.stairs(lower_top, data.edges, baseline=data.at_target, fill=True, **LOWER)
    if max(data.without) > NOISE:
        ax.stairs(data.need, data.edges, baseline=lower_top, fill=True, **WITHOUT)
    ax.stairs(data.need, data.edges, baseline=None, color=INK, linewidth=1.4)
