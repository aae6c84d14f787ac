"""The figures of a risk study."""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING

import matplotlib as mpl

from mci.report.figures import chances, driver_bars, histogram, policy_dots, settling
from mci.report.figures.panels import Hovers, chunks, make_panels
from mci.report.figures.style import RC
from mci.report.figures.svg import svg_text
from mci.report.risk_series import chance_panels, dots, driver_panels, histograms, settlings
from mci.report.study_words import amount
from mci.report.words import join_words, share
from mci.surge.measures import POLICIES

if TYPE_CHECKING:
    from mci.surge.risk_result import Risk

__all__ = ["draw_risk_figures"]

_MOST_INPUTS = 12


def draw_risk_figures(found: Risk) -> dict[str, tuple[str, ...]]:
    """Return every figure of a risk study as SVG text, by name; none where there is nothing to draw."""
    with mpl.rc_context(RC), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing")  # only for measuring: the reader's fonts show it
        return {
            "policies": _policies(found),
            "chances": _chances(found),
            "settling": _settling(found),
            "drivers": _drivers(found),
            "inputs": _inputs(found),
        }


def _policies(found: Risk) -> tuple[str, ...]:
    data = dots(found)
    if not data:
        return ()
    hovers = Hovers()
    height = policy_dots.ROW_IN * policy_dots.row_count(data)
    figure, (ax,) = make_panels(1, 1, height, left=2.15, right=1.75, head=0.05, foot=0.5, gap=0.0)
    policy_dots.draw(data, ax, hovers)
    words = [f"{dot.title}, {POLICIES[dot.policy]}: {share(dot.mean)}" for dot in data]
    return (svg_text(figure, "policies", "Mean coverage by policy", join_words(words), hovers.texts),)


def _chances(found: Risk) -> tuple[str, ...]:
    data = chance_panels(found)
    if not data:
        return ()
    hovers, columns = Hovers(), 1 if len(data) == 1 else 2
    figure, axes = make_panels(len(data), columns, 1.6, left=0.62, right=0.45, head=0.28, foot=0.5, gap=0.8)
    for panel, ax in zip(data, axes, strict=True):
        chances.draw(panel, ax, hovers, label="at least so many patient-minutes without oxygen")
    words = [f"{panel.title}: up to {amount(max(c.amounts[-1] for c in panel.curves))}" for panel in data]
    title = "Share of incidents by patient-minutes without oxygen"
    return (svg_text(figure, "chances", title, join_words(words), hovers.texts),)


def _settling(found: Risk) -> tuple[str, ...]:
    made = []
    data = settlings(found)
    for part, panels in enumerate(chunks(data, 6)):
        columns = 1 if len(panels) == 1 else 2
        figure, axes = make_panels(len(panels), columns, 1.1, left=0.62, right=0.2, head=0.28, foot=0.5, gap=0.6)
        for place, (panel, ax) in enumerate(zip(panels, axes, strict=True)):
            lowest = place + columns >= len(panels)
            settling.draw(panel, ax, label="incidents drawn (scale by factors)" if lowest else "")
        words = [f"{p.title}: {share(p.mean[-1])} after {p.drawn[-1]}" for p in panels]
        made.append(svg_text(figure, f"settling{part}", "How the mean settles", join_words(words)))
    return tuple(made)


def _drivers(found: Risk) -> tuple[str, ...]:
    made = []
    for number, panel in enumerate(driver_panels(found)):
        hovers = Hovers()
        height = driver_bars.ROW_IN * len(panel.bars)
        figure, (ax,) = make_panels(1, 1, height, left=2.3, right=0.3, head=0.28, foot=0.5, gap=0.0)
        driver_bars.draw(panel, ax, hovers, label="share of the variance")
        words = join_words([f"{bar.input}: {100 * bar.total:.0f} % in all" for bar in panel.bars])
        made.append(svg_text(figure, f"drivers{number}", f"What drives {panel.title}", words, hovers.texts))
    return tuple(made)


def _inputs(found: Risk) -> tuple[str, ...]:
    made = []
    for part, data in enumerate(chunks(histograms(found), _MOST_INPUTS)):
        hovers, columns = Hovers(), min(3, len(data))
        figure, axes = make_panels(len(data), columns, 0.75, left=0.25, right=0.25, head=0.28, foot=0.28, gap=0.6)
        for piece, ax in zip(data, axes, strict=True):
            histogram.draw(piece, ax, hovers)
        words = join_words([f"{piece.path}: {piece.law}" for piece in data])
        made.append(svg_text(figure, f"inputs{part}", "What was drawn of each number", words, hovers.texts))
    return tuple(made)
