"""Arrival patterns: how many patients of a batch arrive at which moment.

The pattern gives the share ``F(t)`` of the batch that has arrived; patient ``i`` of ``N``
arrives where ``F = (i + 1/2) / N``, rounded down to the batch's own time step.  No chance is
involved: the same batch always arrives the same way.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from mci.scenario.model import Arrival, Pattern

__all__ = ["EARLY_MEAN_SHARE", "WAVE_SHARES", "cohorts", "moment_of"]

Floats = npt.NDArray[np.float64]

#: Mean of the exponential of ``EARLY`` as a share of the whole time.  Assumption: two thirds arrive
#: within the first third, after the planning figure that half to four fifths of acute casualties
#: reach hospital within 90 minutes (epicenterla.org, derived from CDC).
EARLY_MEAN_SHARE = 1 / 3
#: Share of the patients in the first and in the second of the ``WAVES``.  Assumption.
WAVE_SHARES = (0.6, 0.4)


def _share_arrived(pattern: Pattern, elapsed: Floats) -> Floats:
    """Share of the batch that has arrived when ``elapsed`` (0..1) of the time is over."""
    if pattern is Pattern.EARLY:
        return np.expm1(-elapsed / EARLY_MEAN_SHARE) / math.expm1(-1 / EARLY_MEAN_SHARE)
    if pattern is Pattern.WAVES:
        return np.interp(elapsed, [0, 1 / 3, 2 / 3, 1], [0, WAVE_SHARES[0], WAVE_SHARES[0], 1])
    return elapsed


def cohorts(arrival: Arrival, count: int) -> tuple[Floats, npt.NDArray[np.int64]]:
    """Split a batch into cohorts that arrive together.

    Parameters
    ----------
    arrival
        Pattern, first moment, time over which, and step [min].
    count
        Patients in the batch.

    Returns
    -------
    moments, counts
        Arrival moments [min], increasing, and patients at each (above 0; they sum to ``count``).
    """
    if arrival.pattern is Pattern.TOGETHER or arrival.over <= 0:
        return np.array([float(arrival.at)]), np.array([count], dtype=np.int64)
    steps = max(1, math.ceil(arrival.over / arrival.step - 1e-9))
    elapsed = np.minimum(np.arange(steps + 1) * arrival.step / arrival.over, 1.0)
    arrived = np.ceil(count * _share_arrived(arrival.pattern, elapsed) - 0.5).astype(np.int64)
    arrived[0], arrived[-1] = 0, count
    counts = np.diff(arrived)
    moments: Floats = arrival.at + arrival.step * np.arange(steps, dtype=np.float64)
    return moments[counts > 0], counts[counts > 0]


def moment_of(arrival: Arrival, share: float) -> float:
    """Return when a share (0 to 1) of a batch has arrived [min]: the inverse of its pattern, not rounded to steps."""
    elapsed = share
    if arrival.pattern is Pattern.TOGETHER:
        elapsed = 0.0
    elif arrival.pattern is Pattern.EARLY:
        elapsed = -EARLY_MEAN_SHARE * math.log1p(share * math.expm1(-1 / EARLY_MEAN_SHARE))
    elif arrival.pattern is Pattern.WAVES:
        first, second = WAVE_SHARES
        elapsed = share / first / 3 if share < first else (2 + (share - first) / second) / 3
    return arrival.at + arrival.over * min(elapsed, 1.0)
