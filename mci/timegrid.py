"""The time grid: the moments at which something changes, and the periods between them.

Between two breakpoints every constraint of the programme is constant, so any feasible plan
averaged over a period stays feasible and keeps its litres and its credit: the grid costs no
accuracy.  Breakpoints are therefore only ever added, never removed.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["TimeGrid", "choose_step", "make_grid"]

#: Moments closer together than this are one moment [min]; far below anything that people do.
RESOLUTION = 1e-6

#: Lengths that people use [min].
_LENGTHS = (1.0, 2.0, 5.0, 10.0, 15.0, 20.0, 30.0, 60.0, 120.0, 180.0, 240.0, 360.0, 480.0, 720.0)


def choose_step(horizon: float, most: int) -> float:
    """Return the shortest usual length of which no more than ``most`` make up the horizon [min]."""
    return next((each for each in _LENGTHS if horizon <= most * each), _LENGTHS[-1])


@dataclass(frozen=True, slots=True)
class TimeGrid:
    """Breakpoints of one run.

    Parameters
    ----------
    points
        Increasing moments [min], shape ``(periods + 1,)``, from 0 to the horizon.
    """

    points: npt.NDArray[np.float64]

    @property
    def periods(self) -> int:
        """Number of periods."""
        return len(self.points) - 1

    @property
    def starts(self) -> npt.NDArray[np.float64]:
        """Start of each period [min], shape ``(periods,)``."""
        return self.points[:-1]

    @property
    def ends(self) -> npt.NDArray[np.float64]:
        """End of each period [min], shape ``(periods,)``."""
        return self.points[1:]

    @property
    def lengths(self) -> npt.NDArray[np.float64]:
        """Length of each period [min], shape ``(periods,)``."""
        return np.diff(self.points)

    def index(self, moments: npt.ArrayLike) -> npt.NDArray[np.intp]:
        """Return the breakpoint at which each moment lies (those beyond the horizon: the last).

        Raises
        ------
        ValueError
            If a moment within the horizon is not a breakpoint.
        """
        clipped = np.clip(np.asarray(moments, dtype=float), 0, self.points[-1])
        found: npt.NDArray[np.intp] = np.searchsorted(self.points, clipped - RESOLUTION)
        if np.any(np.abs(self.points[found] - clipped) > RESOLUTION):
            raise ValueError("a moment is not a breakpoint of the grid")
        return found


def make_grid(moments: Iterable[float], horizon: float, max_period: float = math.inf) -> TimeGrid:
    """Build the grid from every moment at which something changes.

    Parameters
    ----------
    moments
        Moments [min]; those outside 0..horizon are ignored.
    horizon
        End of the plan [min].
    max_period
        Longest period [min]; longer ones are split evenly.
    """
    inside = sorted({0.0, float(horizon), *(float(m) for m in moments if 0 < m < horizon)})
    kept = [inside[0]]
    kept.extend(moment for moment in inside[1:] if moment - kept[-1] > RESOLUTION)
    kept[-1] = float(horizon)  # the end stays exact even if a moment lay within the resolution before it
    points = [kept[0]]
    for start, end in itertools.pairwise(kept):
        pieces = max(1, math.ceil((end - start) / max_period - RESOLUTION))
        points.extend(start + (end - start) * piece / pieces for piece in range(1, pieces))
        points.append(end)
    return TimeGrid(np.asarray(points))
