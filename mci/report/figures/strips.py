"""When and where each category is short: one strip per area and category."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from mci.report.figures.axes import category_axis, clip
from mci.report.figures.style import CATEGORY_FILL, INK, LOWER, WITHOUT
from mci.report.words import NOISE, about, category_word

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

    from mci.report.series import ShortStrip, Span

__all__ = ["draw"]

_HEIGHT = 0.4


def draw(data: Sequence[ShortStrip], ax: Axes) -> Axes:
    """Draw the strips from top to bottom, lined where someone is below target, hatched where without."""
    for place, strip in enumerate(data):
        _bars(ax, place, strip.below, LOWER)
        _bars(ax, place, strip.without, WITHOUT)
        ax.plot([0], [place + 0.1], marker="s", markersize=6, clip_on=False, zorder=5, markeredgecolor=INK,
                markeredgewidth=0.6, color=CATEGORY_FILL[strip.category])  # fmt: skip
        _numbers(ax, place, strip)
    category_axis(ax, [f"{clip(s.area, 20)}, {category_word(s.category)}" for s in data], 0.1)
    return ax


def _bars(ax: Axes, place: int, spans: Sequence[Span], fill: Any) -> None:
    if spans:
        ranges = [(span.begin, span.end - span.begin) for span in spans]
        ax.broken_barh(ranges, (place - _HEIGHT / 2 + 0.14, _HEIGHT), **fill)


def _numbers(ax: Axes, place: int, strip: ShortStrip) -> None:
    """Write the most patients short above each stretch, where there is room for it."""
    low, high = ax.get_xlim()
    free_from = low
    for span in strip.below:
        dry = max((gap.most for gap in strip.without if span.begin <= gap.begin < span.end), default=0.0)
        text = _words(span.most, dry)
        width = len(text) * 0.0095 * (high - low)
        begin = min(span.begin, high - width)
        if begin >= free_from:
            ax.text(begin, place - _HEIGHT / 2 + 0.06, text, fontsize=7, va="bottom", color=INK)
            free_from = begin + width


def _words(below: float, dry: float) -> str:
    if dry <= NOISE:
        return f"{about(below)} below target"
    return (
        f"{about(dry)} without" if about(dry) == about(below) else f"{about(below)} below target, {about(dry)} without"
    )
