"""How many whole cylinders must have been added at one area by when, for both goals."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.figures.axes import clip, heading, value_axis
from mci.report.figures.style import INK, SUPPLY

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from mci.report.series import ResupplySteps

__all__ = ["draw"]


def draw(data: ResupplySteps, ax: Axes) -> Axes:
    """Step up at each moment; solid for everyone, dashed for Immediate patients only."""
    horizon = ax.get_xlim()[1]
    ends: list[tuple[float, str]] = []
    for steps, colour, style, width, name in (
        (data.everyone, SUPPLY, "solid", 2.4, "everyone"),
        (data.immediate, INK, (0, (5, 2)), 1.4, "Immediate only"),
    ):
        if steps is None:
            continue
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
    """Name each line at its right end; lines that end close together share one place."""
    names = [(total, f"{total:g} {name}") for total, name in ends]
    totals = [total for total, _ in ends]
    if len(ends) > 1 and max(totals) - min(totals) < 0.16 * top:
        names = [(max(totals), ",\n".join(name for _, name in names))]
    for total, name in names:
        ax.annotate(name, (1, total), xycoords=ax.get_yaxis_transform(), xytext=(6, 0), va="center",
                    textcoords="offset points", annotation_clip=False)  # fmt: skip
