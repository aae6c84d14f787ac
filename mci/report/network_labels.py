"""Where the labels of roads stand on the figure of a network."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from mci.report.network_layout import boxes_overlap, hits

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

    from mci.report.network_layout import Array, Box
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
    rooms = [np.array([label_box(line.label, spot) for spot in mine]) for line, mine in zip(lines, spots, strict=True)]
    pieces = [np.array([line.point(step / 6) for step in range(7)]) for line in lines]
    fixed = [
        _fixed_cost(line, seen[index], rooms[index], taken, [*pieces[:index], *pieces[index + 1 :]], width)
        for index, line in enumerate(lines)
    ]
    chosen: dict[int, int] = {}
    for _ in range(_SWEEPS):
        for index, mine in enumerate(rooms):
            others = [rooms[number][place] for number, place in chosen.items() if number != index]
            chosen[index] = int((fixed[index] + 10.0 * _touched(mine, others)).argmin())
    return [mine[chosen[index]] for index, mine in enumerate(spots)]


def _seen(line: RoadLine, boxes: Sequence[Box]) -> tuple[float, float]:
    """Return the shares of a line between which it is outside the boxes of its ends."""
    shares = [step / 60 for step in range(61)]
    inside = _inside(boxes, [line.point(share) for share in shares])
    hidden = np.atleast_1d(inside[inside[:, 0] | inside[:, -1]].any(axis=0)).tolist()
    outside = [share for share, under in zip(shares, hidden, strict=True) if not under]
    return (outside[0], outside[-1]) if outside else (0.4, 0.6)


def _inside(boxes: ArrayLike, points: ArrayLike) -> NDArray[np.bool_]:
    """Whether each box has each point in it."""
    box, point = np.asarray(boxes)[:, None], np.asarray(points)
    return np.asarray(((box[..., :2] < point) & (point < box[..., 2:])).all(axis=2), dtype=np.bool_)


def _touched(boxes: Array, others: Sequence[Box] | Sequence[Array]) -> NDArray[np.int_]:
    """Return how many of the others each box overlaps."""
    touched: NDArray[np.int_] = boxes_overlap(boxes[:, None], np.array(others).reshape(1, -1, 4)).sum(axis=1)
    return touched


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
    boxes: Array,
    taken: Sequence[Box],
    others: Sequence[Array],
    width: float,
) -> Array:
    """Return what is wrong with each place for a label, the first ones being the best, whatever other labels do."""
    first, last = seen
    hidden = _inside(boxes, [line.point(first + (last - first) * step / 20) for step in range(21)]).mean(axis=1)
    starts, ends = (np.reshape([road[part] for road in others], (-1, 6, 2)) for part in (np.s_[:-1], np.s_[1:]))
    crossed = hits(starts, ends, boxes[:, None, None]).any(axis=2).sum(axis=1)
    outside = (boxes[:, 0] < 0.02) | (boxes[:, 2] > width - 0.02)
    cost: Array = 10.0 * (_touched(boxes, taken) + outside) + crossed + 0.02 * np.arange(len(boxes))
    cost += 3.0 * np.maximum(hidden - (0.25 if line.closed else 0.45), 0.0)
    return cost
