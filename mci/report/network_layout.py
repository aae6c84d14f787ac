"""Where the places of a network stand on a figure: near in travel time, near on paper; always the same.

Stress majorisation (SMACOF) of the travel times through the network, from a few fixed beginnings; each result is
turned to several angles, fitted to the page, and the boxes pushed apart; the one with the fewest crossings wins.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

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
    links = sorted({(min(a, b), max(a, b)) for a, b, _ in roads if a != b})
    distances, extent = _distances(len(sizes), roads), np.array(sizes)
    room = _room(extent, links)
    shapes = [_majorise(distances, beginning) for beginning in range(_BEGINNINGS)]
    turned = np.array([_turned(shape, math.pi * turn / _TURNS) for shape in shapes for turn in range(_TURNS)])
    placed = _fit(turned, extent, room, np.array((width, height)))
    cost = _cost(placed, extent, np.array(links, dtype=int).reshape(-1, 2)) + _crowding(placed, room)
    best = placed[int(cost.round(9).argmin())]
    return [(float(x), float(y)) for x, y in best]


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
    """Stretch each of several pictures to the page, and push boxes apart that are too near."""
    low, high = at.min(axis=1, keepdims=True), at.max(axis=1, keepdims=True)
    margin = sizes.max(axis=0) / 2 + 0.06
    placed: Array = margin + (at - low) / np.maximum(high - low, 1e-9) * (page - 2 * margin)
    apart = ~np.eye(len(sizes), dtype=bool)
    for _ in range(160):
        delta = placed[:, :, None] - placed[:, None]
        lack = need - np.abs(delta)
        picture, one, other = ((lack[..., 0] > 1e-6) & (lack[..., 1] > 1e-6) & apart).nonzero()
        if not len(picture):
            break
        lacking, away = lack[picture, one, other], delta[picture, one, other]
        axis = lacking.argmin(axis=1)  # the shorter way out
        shorter = np.arange(len(axis)), axis
        side = np.where(away[shorter] == 0, np.sign(one - other), np.sign(away[shorter]))
        np.add.at(placed, (picture, one, axis), side * lacking[shorter] / 4)
        placed = np.clip(placed, sizes / 2 + 0.04, page - sizes / 2 - 0.04)
    return placed


def _cost(at: Array, sizes: Array, links: NDArray[np.int_]) -> Array:
    """Count what makes each picture hard to read: boxes that touch, roads under boxes, roads that cross."""
    boxes = np.concatenate((at - sizes / 2, at + sizes / 2), axis=2)
    touching = np.triu(boxes_overlap(boxes[:, :, None], boxes[:, None]), 1).sum(axis=(1, 2))
    start, end = at[:, links[:, 0]], at[:, links[:, 1]]
    stops = (links[:, :, None] == np.arange(len(sizes))).any(axis=1)
    under = (hits(start[:, :, None], end[:, :, None], boxes[:, None]) & ~stops).sum(axis=(1, 2))
    meet = (links[:, None, :, None] == links[None, :, None, :]).any(axis=(2, 3))
    crossing = np.triu(_cross(start, end) & ~meet, 1).sum(axis=(1, 2))
    length = np.hypot(*np.moveaxis(start - end, 2, 0)).sum(axis=1)
    cost: Array = 100.0 * touching + 12.0 * under + 3.0 * crossing + 0.1 * length
    return cost


def _crowding(at: Array, need: Array) -> Array:
    """Return how much room is missing between the boxes of each picture [in], four times."""
    lack = (need - np.abs(at[:, :, None] - at[:, None])).min(axis=3)
    missing = np.where(np.eye(len(need), dtype=bool), 0.0, np.maximum(lack, 0.0))
    crowding: Array = 2.0 * missing.sum(axis=(1, 2))
    return crowding


def boxes_overlap(one: ArrayLike, other: ArrayLike) -> NDArray[np.bool_]:
    """Whether two boxes have an inner point in common; arrays of boxes pair by pair, as numpy broadcasts them."""
    a, b = np.asarray(one), np.asarray(other)
    both: NDArray[np.bool_] = (
        (a[..., 0] < b[..., 2]) & (b[..., 0] < a[..., 2]) & (a[..., 1] < b[..., 3]) & (b[..., 1] < a[..., 3])
    )
    return both


def hits(start: ArrayLike, end: ArrayLike, box: ArrayLike) -> NDArray[np.bool_]:
    """Whether a straight line passes through a box (Liang and Barsky); arrays of them as numpy broadcasts them."""
    begin, bounds = np.asarray(start), np.asarray(box)
    step = np.asarray(end) - begin
    low, high = bounds[..., :2] - begin, bounds[..., 2:] - begin
    still = np.abs(step) < 1e-12  # along this axis: within the box all the way, or never
    step = np.where(still, 1.0, step)
    never = np.where((low < 0) & (high > 0), -np.inf, np.inf)
    enter = np.where(still, never, np.minimum(low / step, high / step)).max(axis=-1)
    leave = np.where(still, -never, np.maximum(low / step, high / step)).min(axis=-1)
    passing: NDArray[np.bool_] = np.maximum(enter, 0.0) < np.minimum(leave, 1.0)
    return passing


def _cross(start: Array, end: Array) -> NDArray[np.bool_]:
    """Whether each two of the straight lines of each picture cross."""

    def side(of: Array) -> Array:
        way, to = (end - start)[:, :, None], of[:, None] - start[:, :, None]
        turned: Array = way[..., 0] * to[..., 1] - way[..., 1] * to[..., 0]
        return turned

    parted = side(start) * side(end) < 0  # the ends of the second are on different sides of the first
    crossing: NDArray[np.bool_] = parted & parted.swapaxes(1, 2)
    return crossing
