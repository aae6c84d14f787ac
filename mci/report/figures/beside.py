"""Cases side by side: the same thing drawn for each, on one scale."""

from __future__ import annotations

import math
import textwrap
import warnings
from typing import TYPE_CHECKING

import matplotlib as mpl
from matplotlib.figure import Figure

from mci.report.beside_series import find_frame, need_rows, stock_rows
from mci.report.figures import need, stock
from mci.report.figures.axes import heading, time_axis, value_axis
from mci.report.figures.style import QUIET, RC
from mci.report.figures.svg import svg_text
from mci.report.words import about, category_word
from mci.units import format_litres, format_moment

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

    from mci.report.beside_cases import Chosen
    from mci.report.beside_series import Frame, PanelRow
    from mci.report.series import NeedSteps, StockLine

__all__ = ["draw_beside_figures"]

_WIDE_IN = 10.6  # between the margins of A4 on its side
_HEIGHT_IN = 1.15
_HEAD_IN, _LINE_IN = 0.12, 0.15  # above the panels, and for each line of their titles
_FOOT_IN = {True: 0.36, False: 0.24}  # with and without clock times
_LEFT_IN, _RIGHT_IN = 0.46, 0.1  # of each panel
_LETTER_IN = 0.075  # of a title
_MOST_LINES = 3  # of a title; the whole of it heads the table
_TICK_IN = 0.5  # room that the words of one tick take


def draw_beside_figures(chosen: Sequence[Chosen]) -> dict[str, tuple[str, ...]]:
    """Return one SVG per category (need) and per area (stock), each with a panel per case on one scale."""
    frame = find_frame(chosen)
    with mpl.rc_context(RC), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing")  # only for measuring: the reader's fonts show it
        return {
            "need": tuple(_need(row, frame, place) for place, row in enumerate(need_rows(chosen))),
            "stock": tuple(_stock(row, frame, place) for place, row in enumerate(stock_rows(chosen))),
        }


def _need(row: PanelRow[NeedSteps], frame: Frame, place: int) -> str:
    figure, axes = _panels(frame)
    told = []
    for title, panel, ax in zip(frame.titles, row.panels, axes, strict=True):
        value_axis(ax, row.top, "", whole=True)
        if panel is None:
            _nothing(ax, "no such patients")
            continue
        need.stack(panel, ax)
        most = max(low + dry for low, dry in zip(panel.lower, panel.without, strict=True))
        told.append(f"{title}: up to {about(max(panel.need))} in need, up to {about(most)} of them below target")
    return svg_text(figure, f"need{place}", f"Need and delivery: {category_word(row.key)}", "; ".join(told))


def _stock(row: PanelRow[StockLine], frame: Frame, place: int) -> str:
    figure, axes = _panels(frame)
    told = []
    for title, panel, ax in zip(frame.titles, row.panels, axes, strict=True):
        value_axis(ax, row.top, "")
        if panel is None:
            _nothing(ax, "nothing there")
            continue
        stock.curve(panel, ax)
        dry = "never empty" if panel.empty is None else f"first empty at {format_moment(panel.empty)}"
        told.append(f"{title}: {format_litres(panel.litres[0])} at the start, {dry}")
    return svg_text(figure, f"stock{place}", f"Usable oxygen: {row.key}", "; ".join(told))


def _panels(frame: Frame) -> tuple[Figure, list[Axes]]:
    """Make one panel per case with its title and the time axis."""
    each = _WIDE_IN / len(frame.titles)
    wide = each - _LEFT_IN - _RIGHT_IN
    letters = math.floor(wide / _LETTER_IN)
    titles = [textwrap.wrap(title, letters, max_lines=_MOST_LINES, placeholder="…") for title in frame.titles]
    foot = _FOOT_IN[frame.start is not None]
    tall = foot + _HEIGHT_IN + _HEAD_IN + _LINE_IN * max(map(len, titles))
    figure, axes = Figure(figsize=(_WIDE_IN, tall)), []
    for place, title in enumerate(titles):
        left = (place * each + _LEFT_IN) / _WIDE_IN
        ax = figure.add_axes((left, foot / tall, wide / _WIDE_IN, _HEIGHT_IN / tall))
        ticks = max(2, min(9, math.floor(wide / _TICK_IN)))
        time_axis(ax, frame.horizon, frame.start, labelled=True, named=False, most_ticks=ticks)
        heading(ax, "\n".join(title))
        axes.append(ax)
    return figure, axes


def _nothing(ax: Axes, words: str) -> None:
    ax.text(0.5, 0.5, words, transform=ax.transAxes, ha="center", va="center", color=QUIET)
