"""The figures of a debrief."""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING

import matplotlib as mpl

from mci.report.debrief_series import reached_steps, still_possible
from mci.report.debrief_words import credit
from mci.report.figures import reached
from mci.report.figures import still_possible as possible_figure
from mci.report.figures.axes import time_axis
from mci.report.figures.panels import make_panels
from mci.report.figures.style import RC
from mci.report.figures.svg import svg_text
from mci.report.words import moment

if TYPE_CHECKING:
    from mci.drills.debriefed import Debrief

__all__ = ["draw_debrief_figures"]


def draw_debrief_figures(debrief: Debrief) -> dict[str, tuple[str, ...]]:
    """Return every figure of a debrief as SVG text, by name; none where there is nothing to draw."""
    with mpl.rc_context(RC), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing")  # only for measuring: the reader's fonts show it
        return {"reached": _reached(debrief), "possible": _possible(debrief)}


def _reached(debrief: Debrief) -> tuple[str, ...]:
    data = reached_steps(debrief)
    if len(data.edges) < 2:
        return ()
    scenario = debrief.scenario
    figure, (ax,) = make_panels(1, 1, 1.4, left=0.72, right=0.12, head=0.06, foot=0.52, gap=0.0)
    time_axis(ax, scenario.horizon, scenario.start, labelled=True)
    reached.draw(data, ax)
    worst = max(range(len(data.team)), key=lambda place: data.best[place] - data.team[place])
    told = (
        f"At {moment(data.edges[worst], scenario.start)} the team gave {data.team[worst]:.3g} patient equivalents, "
        f"the best orders {data.best[worst]:.3g}, of {data.need[worst]:.3g} needed; there the gap is widest."
    )
    title = "Oxygen given over time: need, team, usual practice and best orders"
    return (svg_text(figure, "reached", title, told),)


def _possible(debrief: Debrief) -> tuple[str, ...]:
    data = still_possible(debrief)
    if not data.times or data.possible[0] <= 0:
        return ()
    scenario = debrief.scenario
    figure, (ax,) = make_panels(1, 1, 2.0, left=0.72, right=1.05, head=0.42, foot=0.62, gap=0.0)
    time_axis(ax, scenario.horizon, scenario.start, labelled=True)
    possible_figure.draw(data, ax)
    told = f"From {credit(data.possible[0])} down to {credit(data.possible[-1])} weighted credit-minutes."
    return (svg_text(figure, "possible", "What could still be reached at most, over time", told),)
