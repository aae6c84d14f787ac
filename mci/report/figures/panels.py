"""Panels of a figure, laid out by hand in inches, so that they are quick and the same everywhere."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeVar

from matplotlib.figure import Figure

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.artist import Artist
    from matplotlib.axes import Axes

__all__ = ["WIDTH_IN", "Hovers", "chunks", "make_panels"]

T = TypeVar("T")

#: Width of every figure [in]: fits between the margins of A4 and of Letter.
WIDTH_IN = 7.2


@dataclass(slots=True)
class Hovers:
    """What is said when the pointer rests on a mark: texts by the id that the mark was given."""

    texts: dict[str, str] = field(default_factory=dict)

    def say(self, mark: Artist, text: str) -> None:
        """Give a mark its text."""
        key = f"hover-{len(self.texts)}"
        mark.set_gid(key)
        self.texts[key] = text


def make_panels(
    count: int, columns: int, height: float, *, left: float, right: float, head: float, foot: float, gap: float
) -> tuple[Figure, list[Axes]]:
    """Make panels of a height in columns; margins and gaps in inches."""
    rows = math.ceil(count / columns)
    total = foot + head + rows * height + (rows - 1) * gap
    figure = Figure(figsize=(WIDTH_IN, total))
    each = WIDTH_IN / columns
    made = []
    for index in range(count):
        row, column = divmod(index, columns)
        bottom = total - head - (row + 1) * height - row * gap
        box = (column * each + left, bottom, each - left - right, height)
        ax = figure.add_axes((box[0] / WIDTH_IN, box[1] / total, box[2] / WIDTH_IN, box[3] / total))
        ax.set_axis_off()
        made.append(ax)
    return figure, made


def chunks(data: Sequence[T], most: int) -> list[Sequence[T]]:
    """Split into parts of nearly equal size, so that none is left with a remnant."""
    parts = math.ceil(len(data) / most)
    return [data[len(data) * part // parts : len(data) * (part + 1) // parts] for part in range(parts)]
