"""The network with what trips carry over it, placed on a figure: boxes, roads between them, one label a road."""

from __future__ import annotations

import math
import textwrap
from collections import defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from mci.report.network_labels import SMALL_LETTER_IN, SMALL_LINE_IN, label_box, place_labels
from mci.report.network_layout import Box, arrange
from mci.report.trip_words import TripWords
from mci.scenario.network import ItemKind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from mci.pipeline_resupply import ResupplyRun
    from mci.scenario.network import Network, Road

__all__ = ["LINE_IN", "WIDTH_IN", "NetworkPicture", "PlaceMark", "RoadLine", "carried", "network_picture"]

#: Width of the figure [in].
WIDTH_IN = 7.2
#: From line to line of titles [in].
LINE_IN = 0.135
_LETTER_IN = 0.070
_EDGE_IN = 0.06
_BEND_IN = 0.42  # between two roads that join the same places


@dataclass(frozen=True, slots=True)
class PlaceMark:
    """A place as a box: its title in lines, its kind, centre and size [in]."""

    key: str
    title: tuple[str, ...]
    kind: str
    x: float
    y: float
    width: float
    height: float

    @property
    def box(self) -> Box:
        """Left, bottom, right, top."""
        w, h = self.width / 2, self.height / 2
        return self.x - w, self.y - h, self.x + w, self.y + h


@dataclass(frozen=True, slots=True)
class RoadLine:
    """A road between two places: from ``start`` over ``bend`` to ``end`` [in].

    Parameters
    ----------
    label, at
        Lines of words, and their centre.
    forward, back
        Full cylinders carried from start to end, and from end to start.
    empties
        Empties carried over it.
    """

    key: str
    start: tuple[float, float]
    bend: tuple[float, float]
    end: tuple[float, float]
    label: tuple[str, ...]
    at: tuple[float, float]
    forward: int
    back: int
    empties: int
    closed: bool
    on_foot: bool

    def point(self, share: float) -> tuple[float, float]:
        """Return a point of the line, from 0 at the start to 1 at the end (a quadratic Bézier curve)."""
        a, b, c = (1 - share) ** 2, 2 * share * (1 - share), share**2
        (x0, y0), (x1, y1), (x2, y2) = self.start, self.bend, self.end
        return a * x0 + b * x1 + c * x2, a * y0 + b * y1 + c * y2

    @property
    def label_box(self) -> Box:
        """Left, bottom, right, top of the label."""
        return label_box(self.label, self.at)


@dataclass(frozen=True, slots=True)
class NetworkPicture:
    """The whole figure [in]."""

    height: float
    places: tuple[PlaceMark, ...]
    roads: tuple[RoadLine, ...]


def carried(found: ResupplyRun) -> dict[tuple[str, str], tuple[int, int]]:
    """Return full cylinders and empties carried over each road, by its key and the place where it begins."""
    words = TripWords(found.scenario)
    sums: dict[tuple[str, str], list[int]] = defaultdict(lambda: [0, 0])
    for trip in found.schedule.planned:
        aboard = [0, 0]
        for stop in trip.stops:
            for sign, cargoes in ((-1, stop.unload), (1, stop.load)):
                for cargo in cargoes:
                    kind = words.network.items[cargo.item].kind
                    if kind in (ItemKind.FULL, ItemKind.EMPTY):
                        aboard[kind is ItemKind.EMPTY] += sign * cargo.quantity
            for road in words.driven(stop):
                for place in (0, 1):
                    sums[road.key, road.start][place] += aboard[place]
    return {key: (full, empty) for key, (full, empty) in sums.items()}


def network_picture(found: ResupplyRun) -> NetworkPicture:
    """Place the network on paper."""
    network = TripWords(found.scenario).network
    height = min(8.7, 2.8 + 0.34 * len(network.places))
    places = _place_marks(network, height)
    roads = _road_lines(found, network, places)
    low = min(box[1] for box in (*(mark.box for mark in places), *(road.label_box for road in roads)))
    high = max(box[3] for box in (*(mark.box for mark in places), *(road.label_box for road in roads)))
    down = _EDGE_IN - low
    return NetworkPicture(
        high + down + _EDGE_IN,
        tuple(replace(mark, y=mark.y + down) for mark in places),
        tuple(_raised(road, down) for road in roads),
    )


def _raised(road: RoadLine, up: float) -> RoadLine:
    points = {name: (x, y + up) for name in ("start", "bend", "end", "at") for x, y in (getattr(road, name),)}
    return replace(road, **points)  # type: ignore[arg-type]


def _place_marks(network: Network, height: float) -> tuple[PlaceMark, ...]:
    titles = [tuple(textwrap.wrap(place.title, 17, max_lines=2, placeholder="…")) for place in network.places]
    sizes = [
        (
            max(*(len(line) * _LETTER_IN for line in lines), len(place.kind) * SMALL_LETTER_IN) + 0.16,
            len(lines) * LINE_IN + SMALL_LINE_IN + 0.1,
        )
        for place, lines in zip(network.places, titles, strict=True)
    ]
    number = {place.key: index for index, place in enumerate(network.places)}
    roads = [(number[road.start], number[road.end], road.minutes) for road in network.roads]
    centres = arrange(sizes, roads, WIDTH_IN, height)
    return tuple(
        PlaceMark(place.key, lines, str(place.kind), *centre, *size)
        for place, lines, centre, size in zip(network.places, titles, centres, sizes, strict=True)
    )


def _road_lines(found: ResupplyRun, network: Network, places: Sequence[PlaceMark]) -> tuple[RoadLine, ...]:
    """Join both directions of a road, bend those that join the same places, and find room for each label."""
    flows = carried(found)
    marks = {mark.key: mark for mark in places}
    groups: dict[tuple[str, frozenset[str]], list[Road]] = defaultdict(list)
    for road in network.roads:
        groups[road.key, frozenset((road.start, road.end))].append(road)
    beside: dict[frozenset[str], int] = defaultdict(int)
    for _, ends in groups:
        beside[ends] += 1
    seen: dict[frozenset[str], int] = defaultdict(int)
    lines: list[RoadLine] = []
    for (_, ends), roads in groups.items():
        bend = _BEND_IN * 2 * (seen[ends] - (beside[ends] - 1) / 2)
        seen[ends] += 1
        lines.append(_road_line(roads, marks, flows, bend, TripWords(found.scenario), found.scenario.horizon))
    spots = place_labels(lines, [mark.box for mark in places], WIDTH_IN)
    return tuple(replace(line, at=at) for line, at in zip(lines, spots, strict=True))


def _road_line(
    roads: Sequence[Road],
    marks: dict[str, PlaceMark],
    flows: dict[tuple[str, str], tuple[int, int]],
    bend: float,
    words: TripWords,
    horizon: float,
) -> RoadLine:
    road = roads[0]
    start, end = marks[road.start], marks[road.end]
    if start.key > end.key:
        bend = -bend  # so that roads that are written from different ends do not bend onto each other
    forward, back = flows.get((road.key, road.start), (0, 0)), flows.get((road.key, road.end), (0, 0))
    dx, dy = end.x - start.x, end.y - start.y
    length = math.hypot(dx, dy) or 1.0
    middle = ((start.x + end.x) / 2 - dy / length * bend, (start.y + end.y) / 2 + dx / length * bend)
    closures = words.closures(roads, horizon)
    empties = forward[1] + back[1]
    minutes = "/".join(dict.fromkeys(f"{each.minutes:g}" for each in roads))
    only = "" if len(roads) > 1 else f"only to {_clip(' '.join(end.title))}"
    notes = [closures, "on foot" if road.on_foot else "", only]
    full = forward[0] + back[0]
    cargo = [f"{full} full" if full else "", f"{empties} empty" if empties else ""]
    label = (f"{_clip(road.key)}, {minutes} min", ", ".join(filter(None, cargo)), *notes)
    return RoadLine(
        key=road.key,
        start=(start.x, start.y),
        bend=middle,
        end=(end.x, end.y),
        label=tuple(filter(None, label)),
        at=middle,
        forward=forward[0],
        back=back[0],
        empties=empties,
        closed=bool(closures),
        on_foot=road.on_foot,
    )


def _clip(text: str) -> str:
    return text if len(text) <= 20 else f"{text[:19].rstrip()}…"
