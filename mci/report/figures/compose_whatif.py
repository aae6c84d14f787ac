"""The figures of a what-if study: lines, maps and swings."""

from __future__ import annotations

import math
import warnings
from typing import TYPE_CHECKING

import matplotlib as mpl

from mci.report.figures import heat, number_lines, tornado
from mci.report.figures.panels import Hovers, chunks, make_panels
from mci.report.figures.style import RC
from mci.report.figures.svg import svg_text
from mci.report.whatif_series import heat_maps, line_panels, swing_bars
from mci.report.words import join_words, share

if TYPE_CHECKING:
    from mci.surge.whatif_result import WhatIf

__all__ = ["draw_whatif_figures"]

_LINES_IN, _MOST_PANELS, _MOST_SWINGS = 1.5, 6, 24
_CELL_IN = (0.34, 6.1)  # height of a cell, width of a map


def draw_whatif_figures(found: WhatIf) -> dict[str, tuple[str, ...]]:
    """Return every figure of a what-if study as SVG text, by name; none where there is nothing to draw."""
    with mpl.rc_context(RC), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing")  # only for measuring: the reader's fonts show it
        return {"lines": _lines(found), "map": _maps(found), "swings": _swings(found)}


def _lines(found: WhatIf) -> tuple[str, ...]:
    data = line_panels(found)
    if not data:
        return ()
    floor = _floor([share for panel in data for curve in panel.curves for share in curve.shares])
    one = len(found.numbers) == 1
    made = []
    for part, panels in enumerate(chunks(data, _MOST_PANELS)):
        columns = 1 if len(panels) == 1 else 2
        hovers = Hovers()
        figure, axes = make_panels(
            len(panels), columns, _LINES_IN, left=0.62, right=0.2, head=0.28, foot=0.46, gap=0.86 if not one else 0.62
        )
        for place, (panel, ax) in enumerate(zip(panels, axes, strict=True)):
            lowest = place + columns >= len(panels)
            label = panel.scale.label if one else panel.scale.label.partition(": ")[2]
            number_lines.draw(panel, ax, floor, hovers, label=label if lowest or not one else "")
        words = "; ".join(
            f"{p.title}: at best {share(min(p.curves[0].shares))} to {share(max(p.curves[0].shares))}" for p in panels
        )
        made.append(svg_text(figure, f"lines{part}", "Coverage as one number varies", words, hovers.texts))
    return tuple(made)


def _maps(found: WhatIf) -> tuple[str, ...]:
    made, maps = [], heat_maps(found)
    every = [value for data in maps for line in data.shares for value in line if not math.isnan(value)]
    floor = _floor(every)  # of all maps, so that shades compare
    for number, data in enumerate(maps):
        hovers = Hovers()
        wide = min(_CELL_IN[1], max(3.0, 0.75 * len(data.across.words)))
        figure, (ax,) = make_panels(
            1, 1, _CELL_IN[0] * len(data.up.words), left=0.95, right=7.2 - 0.95 - wide, head=0.28, foot=0.5, gap=0.0
        )
        heat.draw(data, ax, floor, hovers)
        known = [value for line in data.shares for value in line if not math.isnan(value)]
        words = f"{data.title}: {share(min(known))} to {share(max(known))} at best"
        made.append(svg_text(figure, f"map{number}", "Coverage by two numbers", words, hovers.texts))
    return tuple(made)


def _swings(found: WhatIf) -> tuple[str, ...]:
    data = swing_bars(found)[:_MOST_SWINGS]
    if not data:
        return ()
    hovers = Hovers()
    figure, (ax,) = make_panels(1, 1, tornado.ROW_IN * len(data), left=2.25, right=0.3, head=0.05, foot=0.5, gap=0.0)
    tornado.draw(data, ax, hovers)
    words = join_words([f"{bar.path} from {share(bar.at_low)} to {share(bar.at_high)}" for bar in data])
    return (svg_text(figure, "swings", "How far each number by itself moves coverage", words, hovers.texts),)


def _floor(shares: list[float]) -> float:
    """Return where a scale of shares begins: a tenth below the least, at most nine tenths."""
    return max(0.0, min([0.9, *(math.floor(value * 10) / 10 for value in shares)]))
