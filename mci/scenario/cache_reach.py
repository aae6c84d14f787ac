"""When a cache can be at an area: by the minutes that the planner wrote, or over the roads of the network."""

from __future__ import annotations

import heapq
import math
from collections import defaultdict
from typing import TYPE_CHECKING

from mci.scenario.network import PlaceKind

if TYPE_CHECKING:
    from collections.abc import Mapping

    from mci.scenario.network import Network, Road
    from mci.scenario.stocking import Station

__all__ = ["arrivals"]


def arrivals(station: Station, network: Network | None) -> Mapping[str, float]:
    """Return when a cache that stands at a station is at each area [min after T+0], one trip to one area.

    An area to which it never comes is not named; one that it comes to after the end of the plan is.  A cache takes
    roads, not paths, and waits where one is closed.
    """
    if station.reaches or network is None:
        return {area: station.sets_off + minutes for area, minutes in station.reaches.items()}
    areas = [place.key for place in network.places if place.kind is PlaceKind.AREA]
    earliest = _earliest(network, station.place, station.sets_off)
    return {area: earliest[area] for area in areas if area in earliest}


def _earliest(network: Network, start: str, moment: float) -> dict[str, float]:
    """Return the earliest moment at each place [min]: setting out later never helps, since one can wait anywhere."""
    ways: dict[str, list[Road]] = defaultdict(list)
    for road in network.roads:
        if not road.on_foot:
            ways[road.start].append(road)
    found: dict[str, float] = {}
    rest = [(moment, start)]
    while rest:
        now, place = heapq.heappop(rest)
        if place in found:
            continue
        found[place] = now
        for road in ways[place]:
            there = _through(road, now)
            if math.isfinite(there):
                heapq.heappush(rest, (there, road.end))
    return found


def _through(road: Road, moment: float) -> float:
    """Return when one is at the end of a road that is taken as soon as it can be, from a moment on [min]."""
    for closed in road.closed:  # in their order, apart from each other
        if moment + road.minutes > closed.start and moment < closed.end:
            moment = closed.end
    return moment + road.minutes
