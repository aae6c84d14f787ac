"""What the best lists reach over their cost: steps upwards, with other lists as marks beside them."""

from __future__ import annotations

import math
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from mci.report.figures.axes import heading, panel_inches, value_axis
from mci.report.figures.scales import bottom_scale, nice_ticks, share_scale
from mci.report.figures.style import CATEGORY_FILL, INK, QUIET, SUPPLY
from mci.report.stock_series import mark_words
from mci.report.stock_words import money_words, without_noise
from mci.report.study_words import amount
from mci.report.words import share

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matplotlib.axes import Axes

    from mci.report.figures.panels import Hovers
    from mci.report.stock_series import ListMark, MoneyCurve, MoneyPanel

__all__ = ["draw"]

_ALL: Mapping[str, Any] = MappingProxyType({"color": INK, "linestyle": "solid", "linewidth": 1.5})
_STROKE: Mapping[str, Mapping[str, Any]] = {
    "immediate": {"color": INK, "linestyle": "solid", "linewidth": 1.2},
    "delayed": {"color": INK, "linestyle": (0, (6, 2)), "linewidth": 1.2},
    "minimal": {"color": INK, "linestyle": (0, (1.4, 1.8)), "linewidth": 1.4},
    "expectant": {"color": INK, "linestyle": (0, (6, 2, 1.4, 2)), "linewidth": 1.2},
}
#: Lists as marks: a rule of thumb is a disc with its letter.
_MARK: Mapping[str, Mapping[str, Any]] = {
    "chosen": {"marker": "*", "markersize": 13.0, "markerfacecolor": INK, "markeredgecolor": "white", "zorder": 6},
    "owned": {"marker": "v", "markersize": 7.5, "markerfacecolor": "white", "markeredgecolor": INK, "zorder": 5},
    "average": {"marker": "X", "markersize": 8.0, "markerfacecolor": "white", "markeredgecolor": INK, "zorder": 5},
    "rule": {"marker": "o", "markersize": 9.5, "markerfacecolor": "white", "markeredgecolor": INK, "zorder": 5},
}
_APART_IN, _NAME_IN = 0.10, 0.125  # least distance between dots of a line; between names at its end


def draw(data: MoneyPanel, ax: Axes, hovers: Hovers, *, label: str) -> Axes:
    """Draw curves, what nothing can pass, the target, and the lists."""
    most = max([*(cost for curve in data.curves for cost in curve.costs), *(mark.cost for mark in data.marks)])
    most = max([most, *(money for money, _ in data.bound)])
    ax.set_xlim(0.0, 1.03 * most if most > 0 else 1.0)
    values = [value for curve in data.curves for value in curve.values]
    values += [mark.value for mark in data.marks]
    if data.shares:
        share_scale(ax, min(0.9, math.floor(min(values) * 10) / 10), 1.0)
    else:
        value_axis(ax, max([*values, 0.0 if math.isnan(data.wanted) else data.wanted]), "patient-min")
    ticks = nice_ticks(0.0, most, 5)
    bottom_scale(ax, ticks, [amount(tick) for tick in ticks], label)
    heading(ax, data.title)
    if data.bound:
        moneys, shares = zip(*data.bound, strict=True)  # each holds for less money too
        ax.plot(moneys, shares, color=QUIET, linewidth=1.0, linestyle=(0, (1, 1.6)), zorder=1.5, drawstyle="steps-pre")
    if not math.isnan(data.wanted):
        _target(data, ax)
    for curve in data.curves:
        _line(data, curve, ax, hovers)
    for mark in data.marks:
        _mark(data, mark, ax, hovers)
    if len(data.curves) > 1:
        _names(data, ax)
    return ax


def _target(data: MoneyPanel, ax: Axes) -> None:
    ax.plot(ax.get_xlim(), [data.wanted] * 2, color=INK, linewidth=0.8, linestyle=(0, (4, 2)), zorder=1.2)
    words = f"dashed: goal, at most {amount(data.wanted)}"
    ax.text(1, 1, words, transform=ax.transAxes, ha="right", va="top", fontsize=7)


def _line(data: MoneyPanel, curve: MoneyCurve, ax: Axes, hovers: Hovers) -> None:
    """Draw a curve as steps, since a list can be had for more money too; dots are the lists themselves."""
    end = ax.get_xlim()[1]
    stroke = _STROKE.get(curve.category, _ALL)
    ax.plot([*curve.costs, end], [*curve.values, curve.values[-1]], drawstyle="steps-post", zorder=2, **stroke)
    fill = CATEGORY_FILL.get(curve.category, SUPPLY)
    free = -math.inf
    for cost, value in zip(curve.costs, curve.values, strict=True):
        if cost < free:
            continue
        free = cost + _APART_IN * end / panel_inches(ax)[0]
        (dot,) = ax.plot([cost], [value], marker="s" if curve.category else "o", markersize=4.2, color=fill,
                         markeredgecolor=INK, markeredgewidth=0.6, zorder=3, clip_on=False)  # fmt: skip
        told = share(value) if data.shares else f"{amount(without_noise(value))} patient-min"
        hovers.say(dot, f"{curve.name}, {money_words(cost, data.money)}: {told}")


def _mark(data: MoneyPanel, mark: ListMark, ax: Axes, hovers: Hovers) -> None:
    (drawn,) = ax.plot([mark.cost], [mark.value], markeredgewidth=0.9, clip_on=False, linestyle="none",
                       **_MARK[mark.kind])  # fmt: skip
    hovers.say(drawn, mark_words(mark, data))
    if mark.letter:
        ax.text(mark.cost, mark.value, mark.letter, ha="center", va="center_baseline", fontsize=6.5, fontweight="bold",
                zorder=5.5)  # fmt: skip


def _names(data: MoneyPanel, ax: Axes) -> None:
    """Name curves at their right end, apart from each other."""
    width, height = panel_inches(ax)
    low, high = ax.get_ylim()
    ends = sorted(((curve.values[-1] - low) / (high - low) * height, curve.name) for curve in data.curves)
    places = [place for place, _ in ends]
    for number in range(len(places) - 2, -1, -1):  # from the top down, since they meet at 100 %
        places[number] = min(places[number], places[number + 1] - _NAME_IN)
    for place, (_, name) in zip(places, ends, strict=True):
        ax.text(1 + 0.07 / width, place / height, name, transform=ax.transAxes, va="center_baseline", fontsize=7.5)
