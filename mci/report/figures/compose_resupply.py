"""The figures of a resupply plan: trips over the stock that they feed, and the network."""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING

import matplotlib as mpl
from matplotlib.figure import Figure

from mci.report.figures import network, stock, trips
from mci.report.figures.axes import time_axis
from mci.report.figures.style import RC
from mci.report.figures.svg import svg_text
from mci.report.network_series import WIDTH_IN, network_picture
from mci.report.series import stock_lines
from mci.report.trip_series import VehicleBars, vehicle_bars

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

    from mci.pipeline_resupply import ResupplyRun
    from mci.report.series import StockLine

__all__ = ["draw_resupply_figures"]

_LEFT, _RIGHT, _FOOT, _HEAD, _GAP, _STOCK_IN = 1.2, 0.14, 0.52, 0.06, 0.34, 0.85
_MOST_AREAS = 4  # on one figure, so that it fits on one page with its caption


def draw_resupply_figures(found: ResupplyRun) -> dict[str, tuple[str, ...]]:
    """Return every figure of a resupply run as SVG text, by name; none where there is nothing to draw."""
    with mpl.rc_context(RC), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing")  # only for measuring: the reader's fonts show it
        return {"trips": _trips(found), "network": _network(found)}


def _trips(found: ResupplyRun) -> tuple[str, ...]:
    """Draw the areas that are fed, a few at a time, each time under the trips that call there."""
    rows = vehicle_bars(found)
    titles = {area.key: area.title for area in found.run.scenario.areas}
    lines = {line.area: line for line in stock_lines(found.run)}
    called = {place for row in rows for bar in row.trips for place in bar.places}
    fed = [key for key in titles if key in called]
    parts = max(1, -(-len(fed) // _MOST_AREAS)) if rows else 0
    made = []
    for part in range(parts):
        areas = fed[len(fed) * part // parts : len(fed) * (part + 1) // parts]
        mine = _calling(rows, set(areas)) if parts > 1 else rows
        shown = [lines[titles[key]] for key in areas if titles[key] in lines]
        words = f"{sum(len(row.trips) for row in mine)} trips of {len(mine)} vehicles; stock at " + ", ".join(
            titles[key] for key in areas
        )
        made.append(
            svg_text(_timeline(found, mine, shown), f"trips{part}", "Trips and the stock that they feed", words)
        )
    return tuple(made)


def _calling(rows: Sequence[VehicleBars], areas: set[str]) -> list[VehicleBars]:
    kept = [VehicleBars(row.vehicle, tuple(bar for bar in row.trips if bar.places & areas)) for row in rows]
    return [row for row in kept if row.trips]


def _timeline(found: ResupplyRun, rows: Sequence[VehicleBars], lines: Sequence[StockLine]) -> Figure:
    heights = [trips.ROW_IN * (len(rows) + 0.15), *(_STOCK_IN for _ in lines)]
    total = _HEAD + sum(heights) + _GAP * len(lines) + _FOOT
    figure = Figure(figsize=(WIDTH_IN, total))
    top = total - _HEAD
    for number, height in enumerate(heights):
        ax = _panel(figure, total, top - height, height)
        time_axis(ax, found.scenario.horizon, found.scenario.start, labelled=number == len(lines), grid=number == 0)
        if number:
            stock.draw(lines[number - 1], ax)
        else:
            trips.draw(rows, ax)
        top -= height + _GAP
    return figure


def _panel(figure: Figure, total: float, bottom: float, height: float) -> Axes:
    width = WIDTH_IN - _LEFT - _RIGHT
    return figure.add_axes((_LEFT / WIDTH_IN, bottom / total, width / WIDTH_IN, height / total))


def _network(found: ResupplyRun) -> tuple[str, ...]:
    picture = network_picture(found)
    if not picture.places:
        return ()
    figure = Figure(figsize=(WIDTH_IN, picture.height))
    ax = figure.add_axes((0, 0, 1, 1))
    ax.set_axis_off()
    ax.set_xlim(0, WIDTH_IN)
    ax.set_ylim(0, picture.height)
    network.draw(picture, ax)
    busy = [road for road in picture.roads if road.forward + road.back]
    words = "; ".join(f"{road.key}: {road.forward + road.back} full cylinders" for road in busy) or "nothing is carried"
    return (svg_text(figure, "network", "Places, roads and what is carried over them", words),)
