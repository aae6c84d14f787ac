"""Devices that patients bring from another area: the most that can have come that way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from mci.demand.stays import Stay
from mci.scenario.model import Scenario
from mci.timegrid import TimeGrid

__all__ = ["count_brought"]

Floats = npt.NDArray[np.float64]


def _elsewhere(scenario: Scenario, grid: TimeGrid, area: str, device: str) -> Floats:
    """Return how many devices of a kind all other areas have had, per period."""
    stock = np.zeros(grid.periods)
    for each in scenario.devices:
        if each.device == device and each.area != area:
            stock[int(grid.index(each.available_from)) :] += each.quantity
    return stock


def count_brought(scenario: Scenario, stays: Sequence[Stay], grid: TimeGrid) -> Mapping[tuple[str, str], Floats]:
    """Return per area and device how many can have come in with a patient by each period.

    At most the patients who have come from another area and had a ladder with that device in some
    other area before, and at most what all other areas have had.  Whoever moves to and fro counts
    each time: the number may be too large, never too small.
    """
    came: dict[tuple[str, str], Floats] = {}
    before: Stay | None = None
    had: set[tuple[str, str]] = set()  # area and device, earlier in the same course
    for stay in stays:  # the stays of one course follow each other
        if not stay.continues:
            before, had = None, set()
        if before is not None and before.area != stay.area:
            for device in sorted({device for area, device in had if area != stay.area}):
                counts = came.setdefault((stay.area, device), np.zeros(grid.periods))
                counts[int(grid.index(stay.start)) :] += stay.count
        had |= {(stay.area, rung.device.key) for rung in scenario.ladders[stay.ladder].rungs}
        before = stay
    return {
        (area, device): np.minimum(counts, _elsewhere(scenario, grid, area, device))
        for (area, device), counts in came.items()
    }
