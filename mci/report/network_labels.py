"""Where the labels of roads stand on the figure of a network."""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING

from mci.report.network_layout import boxes_overlap, hits

if TYPE_CHECKING:
    from collections.abc import Sequence

    from mci.report.network_layout import Box
    from mci.report.network_series import RoadLine

__all__ = ["SMALL_LETTER_IN", "SMALL_LINE_IN", "label_box", "place_labels"]

#: Width of a letter, and from line to line, of small words [in].
SMALL_LETTER_IN, SMALL_LINE_IN = 0.056, 0.118
_ALONG = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8)  # of what is seen of a road
_TIP_IN = 0.13  # room for an arrowhead
_SWEEPS = 4  # until labels have found room beside each other


def label_box(label: Sequence[str], at: tuple[float, float]) -> Box:
    """Return left, bottom, right and top of a label, by its centre; letters are reckoned wide."""
    width = max(len(line) for line in label) * SMALL_LETTER_IN + 0.04
    height = len(label) * SMALL_LINE_IN + 0.03
    return at[0] - width / 2, at[1] - height / 2, at[0] + width / 2, at[1] + height / 2


def place_labels(lines: Sequence[RoadLine], boxes: Sequence[Box], width: float) -> list[tuple[float, float]]:
    """Return the centre of each label [in]: on or beside its own road, and clear of all else as far as that goes.

    Boxes, arrowheads and other labels weigh most, then other roads; a label should not hide half of its own road.

    Parameters
    ----------
    lines
        The roads, their labels anywhere.
    boxes
        The places.
    width
        Of the page [in].
    """
    seen = [_seen(line, boxes) for line in lines]
    tips = [line.point(share) for line, pair in zip(lines, seen, strict=True)
            for share, full in zip(pair, (line.back, line.forward), strict=True) if full]  # fmt: skip
    taken = [*boxes, *((x - _TIP_IN, y - _TIP_IN, x + _TIP_IN, y + _TIP_IN) for x, y in tips)]
    spots = [_spots(line, *pair) for line, pair in zip(lines, seen, strict=True)]
    fixed = [
        [_fixed_cost(line, pair, spot, taken, lines, width) + 0.02 * rank for rank, spot in enumerate(mine)]
        for line, pair, mine in zip(lines, seen, spots, strict=True)
    ]
    placed: dict[int, Box] = {}
    chosen = dict.fromkeys(range(len(lines)), 0)
    for _ in range(_SWEEPS):
        for index, line in enumerate(lines):
            others = [box for number, box in placed.items() if number != index]
            rooms = [label_box(line.label, spot) for spot in spots[index]]
            costs = [
                fixed[index][place] + 10.0 * sum(boxes_overlap(room, box) for box in others)
                for place, room in enumerate(rooms)
            ]
            chosen[index] = costs.index(min(costs))
            placed[index] = rooms[chosen[index]]
    return [mine[chosen[index]] for index, mine in enumerate(spots)]


def _seen(line: RoadLine, boxes: Sequence[Box]) -> tuple[float, float]:
    """Return the shares of a line between which it is outside the boxes of its ends."""
    ends = [box for box in boxes if _inside(box, line.start) or _inside(box, line.end)]
    shares = [step / 60 for step in range(61)]
    outside = [share for share in shares if not any(_inside(box, line.point(share)) for box in ends)]
    return (outside[0], outside[-1]) if outside else (0.4, 0.6)


def _inside(box: Box, spot: tuple[float, float]) -> bool:
    return box[0] < spot[0] < box[2] and box[1] < spot[1] < box[3]


def _spots(line: RoadLine, first: float, last: float) -> list[tuple[float, float]]:
    """Return where a label may stand: on the line, then beside it."""
    on = [line.point(first + share * (last - first)) for share in _ALONG]
    dx, dy = line.end[0] - line.start[0], line.end[1] - line.start[1]
    length = math.hypot(dx, dy) or 1.0
    across, up = -dy / length, dx / length
    left, bottom, right, top = label_box(line.label, (0.0, 0.0))
    off = abs(across) * (right - left) / 2 + abs(up) * (top - bottom) / 2 + 0.05
    return on + [
        (x + side * far * off * across, y + side * far * off * up)
        for far in (0.9, 1.4)
        for x, y in on
        for side in (1, -1)
    ]


def _fixed_cost(
    line: RoadLine,
    seen: tuple[float, float],
    at: tuple[float, float],
    taken: Sequence[Box],
    lines: Sequence[RoadLine],
    width: float,
) -> float:
    """Return what is wrong with a place for a label, whatever the other labels do."""
    box = label_box(line.label, at)
    outside = box[0] < 0.02 or box[2] > width - 0.02
    first, last = seen
    points = [line.point(first + (last - first) * step / 20) for step in range(21)]
    hidden = sum(_inside(box, point) for point in points) / len(points)
    crossed = sum(_passes(other, box) for other in lines if other is not line)
    touched = sum(boxes_overlap(box, each) for each in taken) + outside
    return 10.0 * touched + crossed + 3.0 * max(hidden - (0.25 if line.closed else 0.45), 0.0)


def _passes(line: RoadLine, box: Box) -> bool:
    points = [line.point(step / 6) for step in range(7)]
    return any(hits(one, other, box) for one, other in itertools.pairwise(points))
