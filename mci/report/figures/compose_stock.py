"""The figures of a packing list."""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING

import matplotlib as mpl

from mci.report.figures import closing, frontier_money
from mci.report.figures.panels import Hovers, make_panels
from mci.report.figures.style import RC
from mci.report.figures.svg import svg_text
from mci.report.stock_series import coverage_panels, mark_words, rounds, tail_panels
from mci.report.study_words import amount
from mci.report.words import join_words, share

if TYPE_CHECKING:
    from mci.stocking.result import Stock

__all__ = ["draw_stock_figures"]


def draw_stock_figures(found: Stock) -> dict[str, tuple[str, ...]]:
    """Return every figure of a packing list as SVG text, by name; none where there is nothing to draw."""
    with mpl.rc_context(RC), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing")  # only for measuring: the reader's fonts show it
        return {"coverage": _coverage(found), "tails": _tails(found), "rounds": _rounds(found)}


def _label(found: Stock) -> str:
    years = found.stocking.years
    return f"cost over {years:g} year{'' if years == 1 else 's'} [{found.stocking.money}]"


def _coverage(found: Stock) -> tuple[str, ...]:
    data = coverage_panels(found)
    if not data:
        return ()
    hovers = Hovers()
    figure, axes = make_panels(len(data), len(data), 2.5, left=0.5, right=0.72, head=0.28, foot=0.46, gap=0.0)
    for panel, ax in zip(data, axes, strict=True):
        frontier_money.draw(panel, ax, hovers, label=_label(found))
    told = [f"{panel.title}: up to {share(max(c.values[-1] for c in panel.curves))}" for panel in data]
    told += [mark_words(mark, data[0]) for mark in data[0].marks]
    return (svg_text(figure, "coverage", "Mean coverage over the cost of the list", join_words(told), hovers.texts),)


def _tails(found: Stock) -> tuple[str, ...]:
    data = tail_panels(found)
    if not data:
        return ()
    hovers, columns = Hovers(), min(len(data), 3)
    figure, axes = make_panels(len(data), columns, 1.7, left=0.68, right=0.15, head=0.28, foot=0.46, gap=0.86)
    for panel, ax in zip(data, axes, strict=True):
        frontier_money.draw(panel, ax, hovers, label=_label(found))
    told = [f"{p.title}: {amount(p.curves[0].values[0])} down to {amount(p.curves[0].values[-1])}" for p in data]
    title = "Patient-minutes without oxygen in the mean of the worst incidents over the cost of the list"
    return (svg_text(figure, "tails", title, join_words(told), hovers.texts),)


def _rounds(found: Stock) -> tuple[str, ...]:
    data = rounds(found)
    if data is None:
        return ()
    figure, (ax,) = make_panels(1, 1, 1.1, left=0.62, right=3.2, head=0.28, foot=0.46, gap=0.0)
    closing.draw(data, ax)
    words = f"after {data.numbers[-1]} rounds between {amount(data.lower[-1])} and {amount(data.upper[-1])}"
    if data.unit == "missed":
        words = f"after {data.numbers[-1]} rounds between {share(data.lower[-1])} and {share(data.upper[-1])}"
    return (svg_text(figure, "rounds", "How the bounds of the choice closed in", words),)
