"""How a mean settles as samples are added: the line with its interval."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mci.report.figures.axes import clip, heading
from mci.report.figures.scales import bottom_scale, share_scale
from mci.report.figures.style import INK, SUPPLY
from mci.report.study_words import amount

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from mci.report.risk_series import Settling

__all__ = ["draw"]


def draw(data: Settling, ax: Axes, *, label: str) -> Axes:
    """Draw over the number of samples on a logarithmic scale."""
    first, last = math.log10(data.drawn[0]), math.log10(data.drawn[-1])
    ax.set_xlim(first - 0.01, max(last, first + 0.1))
    places = [math.log10(count) for count in data.drawn]
    ends = [value for value in (*data.low, *data.high, *data.mean) if not math.isnan(value)]
    share_scale(ax, max(0.0, min(ends)), min(1.0, max(ends)) if max(ends) > min(ends) else max(ends) + 0.01)
    powers = [value for n in range(7) for value in (10**n, 2 * 10**n, 5 * 10**n)]
    ticks = [value for value in powers if data.drawn[0] <= value <= data.drawn[-1]]
    bottom_scale(ax, [math.log10(tick) for tick in ticks], [amount(float(tick)) for tick in ticks], label)
    ax.fill_between(places, data.low, data.high, facecolor=SUPPLY, alpha=0.3, linewidth=0)
    ax.plot(places, data.low, color=SUPPLY, linewidth=0.8)
    ax.plot(places, data.high, color=SUPPLY, linewidth=0.8)
    ax.plot(places, data.mean, color=INK, linewidth=1.6)
    heading(ax, clip(data.title, 48))
    return ax
