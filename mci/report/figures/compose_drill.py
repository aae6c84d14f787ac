"""The figures of a drill."""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING

import matplotlib as mpl

from mci.report.drill_series import cover_lines, timeline_data
from mci.report.figures import drill_cover, drill_timeline
from mci.report.figures.axes import time_axis
from mci.report.figures.panels import make_panels
from mci.report.figures.style import RC
from mci.report.figures.svg import svg_text
from mci.report.words import category_word, join_words

if TYPE_CHECKING:
    from mci.drills.result import Drill

__all__ = ["draw_cover", "draw_timeline"]

_FOOT = 0.52


def draw_timeline(drill: Drill) -> tuple[str, ...]:
    """Return arrivals, injects and deliveries over time as SVG text."""
    data = timeline_data(drill)
    with mpl.rc_context(RC), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing")  # only for measuring: the reader's fonts show it
        height = drill_timeline.ROW_IN * (drill_timeline.row_count(data) + 0.3)
        figure, (ax,) = make_panels(1, 1, height, left=1.35, right=0.2, head=0.06, foot=_FOOT, gap=0.0)
        time_axis(ax, data.horizon, data.start, labelled=True, grid=True)
        drill_timeline.draw(data, ax)
        told = [f"{len(dots)} {category_word(category)}" for category, dots in data.arrivals]
        told += [f"{len(data.injects)} injects", f"{len(data.deliveries)} deliveries"]
        return (svg_text(figure, "timeline", "The exercise over time", join_words(told)),)


def draw_cover(drill: Drill) -> tuple[str, ...]:
    """Return need and what each plan meets of it over time as SVG text; none where nothing was counted."""
    data = cover_lines(drill)
    if not data.plans:
        return ()
    with mpl.rc_context(RC), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing")
        figure, (ax,) = make_panels(1, 1, 2.5, left=0.78, right=0.2, head=0.3, foot=_FOOT, gap=0.0)
        time_axis(ax, drill.actual.horizon, drill.actual.start, labelled=True)
        drill_cover.draw(data, ax)
        peak = max(data.need.values)
        told = f"up to {peak:g} casualties in need; " + join_words([line.title for line in data.plans])
        return (svg_text(figure, "cover", "How much of the need each plan meets over time", told),)
