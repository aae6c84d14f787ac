"""How often it is at least as bad: the share of incidents over the amount, one line per policy."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.figures.axes import panel_inches
from mci.report.figures.policies import STROKE
from mci.report.figures.scales import bottom_scale, nice_ticks, share_scale
from mci.report.figures.style import CATEGORY_FILL, INK
from mci.report.study_words import amount
from mci.surge.measures import POLICIES

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from mci.report.figures.panels import Hovers
    from mci.report.risk_series import ChancePanel

__all__ = ["draw"]

_ONE_IN_20 = 0.05


def draw(data: ChancePanel, ax: Axes, hovers: Hovers, *, label: str) -> Axes:
    """Step down from left to right; the thin line is where one of 20 incidents is as bad or worse."""
    most = max(curve.amounts[-1] for curve in data.curves)
    ax.set_xlim(-0.02 * most, 1.02 * most)
    share_scale(ax, 0.0, 1.0)
    ticks = nice_ticks(0.0, most, 5)
    bottom_scale(ax, ticks, [amount(tick) for tick in ticks], label)
    for curve in reversed(data.curves):  # the best possible on top
        amounts, shares = [0.0, *curve.amounts, curve.amounts[-1]], [curve.shares[0], *curve.shares, 0.0]
        (line,) = ax.plot(amounts, shares, drawstyle="steps-pre", zorder=2, **STROKE[curve.policy])
        beyond = max((a for a, s in zip(curve.amounts, curve.shares, strict=True) if s >= _ONE_IN_20), default=0.0)
        hovers.say(line, f"{data.title}, {POLICIES[curve.policy]}: 1 of 20 incidents reaches {amount(beyond)}")
    ax.plot([0, most], [_ONE_IN_20] * 2, color=INK, linewidth=0.7, linestyle=(0, (1, 2)), zorder=1)
    ax.annotate("1 of 20", (1.02 * most, _ONE_IN_20), xytext=(2, 0), textcoords="offset points", va="center_baseline",
                fontsize=7)  # fmt: skip
    _name(ax, data)
    return ax


def _name(ax: Axes, data: ChancePanel) -> None:
    """Put the category above the panel, behind its colour."""
    width, height = panel_inches(ax)
    up = 1 + 0.13 / height
    ax.plot([0.05 / width], [up], marker="s", markersize=6.5, transform=ax.transAxes, clip_on=False,
            color=CATEGORY_FILL[data.category], markeredgecolor=INK, markeredgewidth=0.6)  # fmt: skip
    ax.text(0.16 / width, up, data.title, transform=ax.transAxes, va="center_baseline", fontsize=9, fontweight="bold")
