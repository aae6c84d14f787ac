"""All figures of a report: panels laid out by hand (quick, and the same everywhere), then made SVG."""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING, TypeVar

import matplotlib as mpl

from mci.report.cylinder_bars import cylinder_sheets
from mci.report.figures import cylinders, flow, need, resupply, stock, strips
from mci.report.figures.axes import heading, time_axis
from mci.report.figures.panels import chunks, make_panels
from mci.report.figures.style import RC
from mci.report.figures.svg import svg_text
from mci.report.series import flow_steps, need_steps, records, resupply_steps, short_strips, shown_shortage, stock_lines
from mci.report.words import about, category_word, join_words

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from mci.pipeline import Run

__all__ = ["draw_figures"]

T = TypeVar("T")

_FOOT, _HEAD, _GAP = 0.52, 0.30, 0.34
_MOST_CYLINDERS = 40  # likewise
_MOST_PANELS = 8  # on one figure, so that it fits on one page


def _panels(
    count: int, columns: int, height: float, left: float, right: float, head: float = _HEAD
) -> tuple[Figure, list[Axes]]:
    """Make panels with the foot that a time axis needs."""
    return make_panels(count, columns, height, left=left, right=right, head=head, foot=_FOOT, gap=_GAP)


def _grid(
    run: Run, data: Sequence[T], draw: Callable[[T, Axes], Axes], height: float, columns: int, right: float = 0.14
) -> Figure:
    """Draw one panel per piece of data, each with the same time axis."""
    figure, axes = _panels(len(data), columns, height, 0.78, right)
    scenario = run.scenario
    for index, (piece, ax) in enumerate(zip(data, axes, strict=True)):
        lowest = index + columns >= len(data)
        time_axis(ax, scenario.horizon, scenario.start, labelled=lowest, most_ticks=9 if columns == 1 else 5)
        draw(piece, ax)
    return figure


def draw_figures(run: Run) -> dict[str, tuple[str, ...]]:
    """Return every figure of a run as SVG text, by name; none where there is nothing to draw."""
    with mpl.rc_context(RC), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing")  # only for measuring: the reader's fonts show it
        return {"need": _need(run), "short": _short(run), "stock": _stock(run), "flow": _flow(run)} | {
            "resupply": _resupply(run),
            "cylinders": _cylinders(run),
        }


def _need(run: Run) -> tuple[str, ...]:
    data = need_steps(records(run.over_time))
    if not data:
        return ()
    figure = _grid(run, data, need.draw, 1.25, 1)
    peaks = [
        f"{category_word(d.category)}: up to {about(max(d.need))} patients in need, "
        f"up to {about(max(a + b for a, b in zip(d.lower, d.without, strict=True)))} of them below target"
        for d in data
    ]
    return (svg_text(figure, "need", "Need and delivery over time by category", "; ".join(peaks)),)


def _short(run: Run) -> tuple[str, ...]:
    data = short_strips(records(shown_shortage(run)), run.scenario.areas)
    made = []
    for part, strip in enumerate(chunks(data, _MOST_PANELS)):
        figure, (ax,) = _panels(1, 1, 0.36 * len(strip) + 0.1, 1.95, 0.14, head=0.05)
        time_axis(ax, run.scenario.horizon, run.scenario.start, labelled=True, most_ticks=7)
        strips.draw(strip, ax)
        who = [f"{category_word(piece.category)} at {piece.area}" for piece in strip]
        made.append(svg_text(figure, f"short{part}", "When and where patients are below target", join_words(who)))
    return tuple(made)


def _stock(run: Run) -> tuple[str, ...]:
    data = stock_lines(run)
    made = []
    for part, lines in enumerate(chunks(data, _MOST_PANELS)):
        figure = _grid(run, lines, stock.draw, 1.35, 1 if len(data) <= 2 else 2)
        words = [
            f"{line.area}: {line.litres[0]:.0f} litres at the start, "
            + ("never empty" if line.empty is None else f"first empty {line.empty:.0f} minutes after the start")
            for line in lines
        ]
        made.append(svg_text(figure, f"stock{part}", "Usable oxygen at each area over time", "; ".join(words)))
    return tuple(made)


def _flow(run: Run) -> tuple[str, ...]:
    data = flow_steps(records(run.over_time), run.scenario.areas)
    made = []
    for part, flows in enumerate(chunks(data, _MOST_PANELS)):
        figure = _grid(run, flows, flow.draw, 1.15, 1 if len(data) <= 2 else 2)
        words = [f"{d.area}: up to {max(d.target):.0f} L/min wanted, {max(d.delivered):.0f} delivered" for d in flows]
        made.append(svg_text(figure, f"flow{part}", "Flow wanted and delivered at each area", "; ".join(words)))
    return tuple(made)


def _resupply(run: Run) -> tuple[str, ...]:
    data = resupply_steps(run)
    made = []
    for part, steps in enumerate(chunks(data, _MOST_PANELS)):
        figure = _grid(run, steps, resupply.draw, 1.1, 1, right=1.15)
        words = [
            f"{d.area}: {d.everyone[-1][1] if d.everyone else 0:g} cylinders for everyone"
            + ("" if d.immediate is None else f", {d.immediate[-1][1] if d.immediate else 0:g} for Immediate patients")
            for d in steps
        ]
        made.append(svg_text(figure, f"resupply{part}", "Cylinders that must be added by when", "; ".join(words)))
    return tuple(made)


def _cylinders(run: Run) -> tuple[str, ...]:
    if run.executable is None:
        return ()
    made = []
    for number, sheet in enumerate(cylinder_sheets(run.scenario, run.executable)):
        parts = chunks(sheet.bars, _MOST_CYLINDERS)
        for part, bars in enumerate(parts):
            figure, (ax,) = _panels(1, 1, cylinders.ROW_IN * (len(bars) + 0.3), 1.2, 0.72)
            time_axis(ax, run.scenario.horizon, run.scenario.start, labelled=True, grid=True)
            cylinders.draw(bars, ax)
            which = f", part {part + 1} of {len(parts)}" if len(parts) > 1 else ""
            heading(ax, f"{sheet.area}{which}")
            dry = sum(bar.empty is not None for bar in bars)
            words = f"{len(bars)} cylinders, {sum(len(bar.changes) for bar in bars)} changes, {dry} emptied"
            made.append(
                svg_text(figure, f"cylinders{number}-{part}", f"Cylinders over time: {sheet.area}{which}", words)
            )
    return tuple(made)
