"""Cylinders over time: one bar each, from going on a regulator to coming off it, with the patients it serves."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from matplotlib.collections import LineCollection

from mci.report.figures.axes import clip, panel_inches
from mci.report.figures.style import HAIR, INK, QUIET, SUPPLY
from mci.units import format_litres

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matplotlib.axes import Axes

    from mci.report.cylinder_bars import CylinderBar, Use

__all__ = ["ROW_IN", "draw"]

#: Height of one cylinder [in].
ROW_IN = 0.205
_HEIGHT = 0.68  # of a bar, in rows
_LETTER_IN = 0.062  # width of a letter in a bar

#: Nobody, one patient, several: white, pale and deep, told apart in grey too; the words say the rest.
_FILLS: Mapping[str, Any] = {
    "waits": {"facecolor": "white", "edgecolor": QUIET, "linewidth": 0.6, "hatch": "...."},
    "one": {"facecolor": "#d3e1ea", "edgecolor": INK, "linewidth": 0.6},
    "several": {"facecolor": SUPPLY, "edgecolor": INK, "linewidth": 0.6},
}


def draw(data: Sequence[CylinderBar], ax: Axes) -> Axes:
    """Draw the cylinders from top to bottom; a triangle marks each change, a cross the moment when one is empty."""
    ax.set_ylim(len(data) - 0.45, -0.7)
    width = panel_inches(ax)[0]
    horizon = ax.get_xlim()[1]
    up = ax.get_yaxis_transform()
    rules = [[(0, place), (horizon, place)] for place in range(len(data))]
    ax.add_collection(LineCollection(rules, colors=HAIR, linewidths=0.5, zorder=0.5), autolim=False)
    for kind, fill in _FILLS.items():
        for place, bar in enumerate(data):
            spans = [(use.start, use.end - use.start) for use in bar.uses if _kind(use) == kind]
            if spans:
                ax.broken_barh(spans, (place - _HEIGHT / 2, _HEIGHT), **fill)
    for place, bar in enumerate(data):
        ax.text(-0.1 / width, place, _label(bar), transform=up, ha="right", va="center_baseline", fontsize=7.5)
        ax.text(1 + 0.66 / width, place, format_litres(bar.left), transform=up, ha="right", va="center_baseline")
        _name_patients(ax, place, bar, horizon / width)
    _mark_moments(ax, data)
    ax.text(1 + 0.66 / width, -0.62, "left at the end", transform=up, ha="right", va="bottom", fontsize=7)
    return ax


def _label(bar: CylinderBar) -> str:
    regulators = list(dict.fromkeys(regulator for _, regulator in bar.changes if regulator))
    return clip(f"{bar.mark} on {', '.join(regulators)}" if regulators else bar.mark, 20)


def _kind(use: Use) -> str:
    return "waits" if not use.patients else "one" if len(use.patients) == 1 else "several"


def _name_patients(ax: Axes, place: int, bar: CylinderBar, minutes_per_inch: float) -> None:
    """Write who is served, or how many, where there is room; a long name keeps its end, which tells people apart."""
    for use in bar.uses:
        room = int((use.end - use.start) / minutes_per_inch / _LETTER_IN) - (use.end == bar.empty)  # beside the cross
        if not use.patients:
            continue
        text = _who(use.patients, room)
        colour = "white" if len(use.patients) > 1 else INK
        if text:
            ax.text(
                (use.start + use.end) / 2, place, text, ha="center", va="center_baseline", fontsize=6.5, color=colour
            )


def _who(patients: Sequence[str], room: int) -> str:
    names = ", ".join(patients)
    if len(names) <= room:
        return names
    if len(patients) > 1:
        number = str(len(patients))
        return next((text for text in (f"{number} patients", number) if len(text) <= room), "")
    ends = (f"…{end}" for end in _ends(names))
    return next((end for end in ends if len(end) < room), "")


def _ends(name: str) -> list[str]:
    """Return the ends of a name, each a word shorter."""
    words = name.split(" ")
    return [" ".join(words[place:]) for place in range(1, len(words))]


def _mark_moments(ax: Axes, data: Sequence[CylinderBar]) -> None:
    changes = [(time, place - _HEIGHT / 2) for place, bar in enumerate(data) for time, _ in bar.changes]
    empties = [(bar.empty, place) for place, bar in enumerate(data) if bar.empty is not None]
    for moments, marker, size in ((changes, "v", 4.5), (empties, "X", 6.0)):
        if moments:
            times, places = zip(*moments, strict=True)
            ax.plot(times, places, linestyle="none", marker=marker, markersize=size, color=INK, clip_on=False, zorder=6,
                    markeredgecolor="white", markeredgewidth=0.5)  # fmt: skip
