"""How many whole cylinders must have been added at one area by when, for both goals."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.figures.axes import clip, heading, value_axis
from mci.report.figures.style import INK, QUIET, SUPPLY

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from mci.report.series import ResupplySteps

__all__ = ["draw"]


def draw(data: ResupplySteps, ax: Axes) -> Axes:
    """Step up at each moment; solid for everyone, dashed for Immediate patients only."""
    horizon = ax.get_xlim()[1]
    ends = []
    for steps, colour, style, width, name in (
        (data.everyone, SUPPLY, "solid", 2.4, "everyone"),
        (data.immediate, INK, (0, (5, 2)), 1.4, "Immediate only"),
    ):
        times = [0.0, *(time for time, _ in steps), horizon]
        totals = [0.0, *(total for _, total in steps), steps[-1][1] if steps else 0.0]
        ax.plot(times, totals, drawstyle="steps-post", color=colour, linestyle=style, linewidth=width, clip_on=False)
        ends.append((totals[-1], name))
    top = max(total for total, _ in ends)
    value_axis(ax, top, "cylinders", whole=True)
    heading(ax, clip(data.area, 34))
    _name_ends(ax, ends, top)
    return ax


def _name_ends(ax: Axes, ends: list[tuple[float, str]], top: float) -> None:
    """Name each line at its right end; lines that end together share one name."""
    (first, everyone), (second, immediate) = ends
    if abs(first - second) < 0.14 * top:
        ends = [(max(first, second), f"{first:g} {everyone},\n{second:g} {immediate}")]
    for total, name in ends:
        text = name if name[0].isdigit() else f"{total:g} {name}"
        ax.annotate(text, (1, total), xycoords=ax.get_yaxis_transform(), xytext=(6, 0), color=INK if total else QUIET,
                    textcoords="offset points", va="center", fontsize=7.5, annotation_clip=False)  # fmt: skip
