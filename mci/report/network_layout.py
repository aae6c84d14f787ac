"""Where the places of a network stand on a figure: near in travel time, near on paper; always the same.

Stress majorisation (SMACOF) of the travel times through the network, from a few fixed beginnings; each result is
turned to several angles, fitted to the page, and the boxes pushed apart; the one with the fewest crossings wins.
"""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["Box", "arrange", "boxes_overlap", "hits"]

#: Left, bottom, right, top [in].
Box = tuple[float, float, float, float]

_BEGINNINGS, _TURNS = 5, 9
#: Least room between two boxes, across and up [in]; more where a road with its label joins them.
_GAP, _ROAD_GAP = (0.30, 0.26), (1.40, 0.60)


def arrange(
    sizes: Sequence[tuple[float, float]], roads: Sequence[tuple[int, int, float]], width: float, height: float
) -> list[tuple[float, float]]:
    """Return the centre of every box [in].

    Parameters
    ----------
    sizes
        Width and height of each box [in].
    roads
        Two boxes, by number, and the travel time between them [min].
    width, height
        Of the page [in].
    """
    if len(sizes) == 1:
        return [(width / 2, height / 2)]
    distances = _distances(len(sizes), roads)
    links = sorted({(min(a, b), max(a, b)) for a, b, _ in roads if a != b})
    best: tuple[float, Array] | None = None
    room, extent = _room(np.array(sizes), links), np.array(sizes)
    for beginning in range(_BEGINNINGS):
        shape = _majorise(distances, beginning)
        for turn in range(_TURNS):
            placed = _fit(_turned(shape, math.pi * turn / _TURNS), extent, room, np.array((width, height)))
            cost = _cost(placed, sizes, links) + _crowding(placed, room)
            if best is None or cost < best[0] - 1e-9:
                best = cost, placed
    assert best is not None  # noqa: S101 - there is at least one beginning
    return [(float(x), float(y)) for x, y in best[1]]


def _distances(count: int, roads: Sequence[tuple[int, int, float]]) -> Array:
    """Return wanted distances: shortest ways (Floyd and Warshall), each road as long as the root of its minutes."""
    far = np.full((count, count), np.inf)
    np.fill_diagonal(far, 0.0)
    for a, b, minutes in roads:
        far[a, b] = far[b, a] = min(far[a, b], math.sqrt(max(minutes, 1.0)))
    for middle in range(count):
        far = np.minimum(far, far[:, middle, None] + far[None, middle, :])
    known = far[np.isfinite(far)].max() or 1.0
    whole: Array = np.where(np.isfinite(far), far, 1.5 * known)
    return whole


def _majorise(distances: Array, beginning: int) -> Array:
    """Move the places until their distances are as near to those wanted as they get; near pairs count most."""
    count = len(distances)
    angle = 2 * np.pi * np.random.default_rng(beginning).permutation(count) / count
    at: Array = np.column_stack((np.cos(angle), np.sin(angle))) * distances.max() / 2
    weights = np.zeros_like(distances)
    apart = ~np.eye(count, dtype=bool)
    weights[apart] = 1 / distances[apart] ** 2
    laplacian = np.diag(weights.sum(axis=1)) - weights
    inverse = np.linalg.pinv(laplacian)
    for _ in range(150):
        now = np.linalg.norm(at[:, None] - at[None], axis=2)
        ratio = np.divide(distances, now, out=np.zeros_like(now), where=now > 1e-9)
        pull = -weights * ratio
        np.fill_diagonal(pull, 0.0)
        np.fill_diagonal(pull, -pull.sum(axis=1))
        at = inverse @ pull @ at
    return at


def _turned(at: Array, angle: float) -> Array:
    cos, sin = math.cos(angle), math.sin(angle)
    turned: Array = at @ np.array(((cos, -sin), (sin, cos)))
    return turned


def _room(sizes: Array, links: Sequence[tuple[int, int]]) -> Array:
    """Return how far apart the centres of two boxes must be, across or up."""
    need: Array = (sizes[:, None] + sizes[None]) / 2 + np.array(_GAP)
    for a, b in links:
        need[a, b] = need[b, a] = (sizes[a] + sizes[b]) / 2 + np.array(_ROAD_GAP)
    return need


def _fit(at: Array, sizes: Array, need: Array, page: Array) -> Array:
    """Stretch the picture to the page, and push boxes apart that are too near."""
    low, high = at.min(axis=0), at.max(axis=0)
    margin = sizes.max(axis=0) / 2 + 0.06
    placed: Array = margin + (at - low) / np.maximum(high - low, 1e-9) * (page - 2 * margin)
    order = np.sign(np.arange(len(at))[:, None] - np.arange(len(at))[None])
    for _ in range(160):
        delta = placed[:, None] - placed[None]
        lack = need - np.abs(delta)
        near = (lack > 1e-6).all(axis=2)
        np.fill_diagonal(near, val=False)
        if not near.any():
            break
        along = lack.argmin(axis=2)  # the shorter way out
        for axis in (0, 1):
            side = np.where(delta[:, :, axis] == 0, order, np.sign(delta[:, :, axis]))
            push = np.where(near & (along == axis), side * lack[:, :, axis] / 2, 0.0)
            placed[:, axis] += 0.5 * push.sum(axis=1)
        placed = np.clip(placed, sizes / 2 + 0.04, page - sizes / 2 - 0.04)
    return placed


def _cost(at: Array, sizes: Sequence[tuple[float, float]], links: Sequence[tuple[int, int]]) -> float:
    """Count what makes a figure hard to read: boxes that touch, roads under boxes, roads that cross."""
    boxes = [(x - w / 2, y - h / 2, x + w / 2, y + h / 2) for (x, y), (w, h) in zip(at, sizes, strict=True)]
    touching = sum(boxes_overlap(one, other) for one, other in itertools.combinations(boxes, 2))
    under = sum(
        hits(tuple(at[a]), tuple(at[b]), box) for a, b in links for n, box in enumerate(boxes) if n not in (a, b)
    )
    crossing = sum(_cross(at[a], at[b], at[c], at[d]) for (a, b), (c, d) in itertools.combinations(links, 2)
                   if len({a, b, c, d}) == 4)  # fmt: skip
    length = sum(float(np.hypot(*(at[a] - at[b]))) for a, b in links)
    return 100.0 * touching + 12.0 * under + 3.0 * crossing + 0.1 * length


def _crowding(at: Array, need: Array) -> float:
    """Return how much room is missing between boxes [in], four times."""
    lack = (need - np.abs(at[:, None] - at[None])).min(axis=2)
    np.fill_diagonal(lack, 0.0)
    return 2.0 * float(np.maximum(lack, 0.0).sum())


def boxes_overlap(one: Box, other: Box) -> bool:
    """Whether two boxes have an inner point in common."""
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def hits(start: tuple[float, ...], end: tuple[float, ...], box: Box) -> bool:
    """Whether a straight line passes through a box (Liang and Barsky)."""
    enter, leave = 0.0, 1.0
    for axis in (0, 1):
        step = end[axis] - start[axis]
        low, high = box[axis] - start[axis], box[axis + 2] - start[axis]
        if abs(step) < 1e-12:
            if low >= 0 or high <= 0:
                return False
            continue
        first, last = sorted((low / step, high / step))
        enter, leave = max(enter, first), min(leave, last)
    return enter < leave


def _cross(a: Array, b: Array, c: Array, d: Array) -> bool:
    def side(p: Array, q: Array, r: Array) -> float:
        return float((q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]))

    return side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0
