"""Points in the unit cube, from which samples are made: plain random ones, or Sobol' points, which fill it evenly.

The mean over Sobol' points is far closer to the true mean, but their own spread does not say how close.  So the
points are :data:`REPLICATES` independently scrambled Sobol' sequences, interleaved: sample i is point i // R of
replicate i % R.  The means of the replicates are independent and alike, so their spread gives an interval with
Student's t.  Source: A. B. Owen, Error estimation for quasi-Monte Carlo, arXiv 2501.00150 (2025).
"""

from __future__ import annotations

from typing import Literal

import numpy as np
import numpy.typing as npt

from mci.surge.seeds import seed_of

__all__ = ["REPLICATES", "Way", "evenness", "random_points", "replicated_points", "sobol_points"]

Floats = npt.NDArray[np.float64]

#: How points are drawn.
Way = Literal["sobol", "plain"]

#: Independently scrambled sequences among Sobol' samples: enough for an interval, few enough to stay even.
REPLICATES = 16

#: Points keep this distance from the faces of the cube, where some laws have no value.
_EDGE = 2.0**-32


def random_points(samples: int, dimensions: int, seed: int) -> Floats:
    """Return random points, shape ``(samples, dimensions)``; point i does not depend on how many there are."""
    rows = [seed_of(seed, row).random(dimensions) for row in range(samples)]
    return np.clip(np.asarray(rows).reshape(samples, dimensions), _EDGE, 1 - _EDGE)


def sobol_points(samples: int, dimensions: int, seed: int, replicate: int = 0) -> Floats:
    """Return the first points of one scrambled Sobol' sequence, shape ``(samples, dimensions)``.

    ``replicate`` says which of the independent scramblings of this seed.
    """
    from scipy.stats import qmc  # heavy, and only needed where something is drawn

    sequence = qmc.Sobol(dimensions, scramble=True, seed=seed_of(seed, replicate))
    power = max(samples - 1, 0).bit_length()  # the library warns of any other number of first points
    whole: Floats = sequence.random_base2(power)
    return np.clip(whole[:samples], _EDGE, 1 - _EDGE)


def replicated_points(samples: int, dimensions: int, seed: int) -> Floats:
    """Return Sobol' points of :data:`REPLICATES` sequences, interleaved, shape ``(samples, dimensions)``."""
    each = -(-samples // REPLICATES)
    sequences = [sobol_points(each, dimensions, seed, replicate) for replicate in range(REPLICATES)]
    return np.stack(sequences, axis=1).reshape(each * REPLICATES, dimensions)[:samples]


def evenness(samples: int) -> str:
    """Say which number of Sobol' samples would be more even; empty where it is even already.

    A Sobol' sequence is balanced after every power of 2 of its points.
    """
    more = REPLICATES * 2 ** max(-(-samples // REPLICATES) - 1, 0).bit_length()
    if samples == more:
        return ""
    fewer = f" or {more // 2:,}" if more > REPLICATES else ""
    return f"{samples:,} samples; Sobol' samples are most even for {more:,}{fewer}"
