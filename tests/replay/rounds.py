"""Trips on the small network that can be carried out, with every law one step away from being broken."""

from __future__ import annotations

from small_network import incident, network, stop, trip

from mci.plan.trips import Trip
from mci.scenario.model import Scenario

__all__ = ["made_incident", "made_trips"]


def made_incident(**changes: object) -> Scenario:
    """Return the incident with no more people than are under way at once, and fields of its network changed."""
    return incident(network(**{"crews": 5, **changes}))


def made_trips() -> list[Trip]:
    """Return the trips; the rows that findings count stand beside the stops."""
    return [
        trip(
            "truck 1",
            "truck",
            stop("depot", 0, 3, "bridge", load="6 small full, 2 large full, 2 reg, 10 mask"),  # 1 to 4
            stop("a", 13, 18, "lane", unload="4 small full, 1 reg, 10 mask", load="1 small empty"),  # 5 to 8
            stop("b", 23, 25, "hill", unload="2 small full, 2 large full, 1 reg"),  # 9 to 11
            # two empties are there and full at T+35 and T+40; the one that comes is ready at T+47, full at T+52
            stop("filling", 45, 55, "hill", unload="1 small empty", load="3 small full"),  # 12, 13
            stop("b", 75, 77, unload="2 small full"),  # 14
        ),
        trip(
            "truck 2",
            "truck",
            stop("b", 80, 80, "lane"),  # 15
            stop("a", 85, 87, "ring east", "ring west", unload="1 small full"),  # 16
            stop("depot", 102, 105, "bridge", load="1 small full"),  # 17
            stop("a", 115, 117, unload="1 small full"),  # 18
        ),
        trip(
            "van 1",
            "van",
            stop("a", 0, 3, "lane", load="2 small full, 1 reg"),  # 19, 20
            stop("b", 8, 10, unload="2 small full, 1 reg"),  # 21, 22
        ),
        trip(
            "van 2",
            "van",
            stop("b", 10, 10, "lane", "gate", "market road"),  # 23
            stop("market", 60, 63, "market road", load="4 small full"),  # 24
            stop("yard", 69, 74, "gate", unload="2 small full", load="1 small full"),  # 25, 26
            stop("a", 76, 78, unload="3 small full"),  # 27
        ),
        trip(
            "porters 1",
            "porters",
            stop("a", 20, 21, "path", load="1 small full"),  # 28
            stop("b", 25, 26, unload="1 small full"),  # 29
        ),
    ]
