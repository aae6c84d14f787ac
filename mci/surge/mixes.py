"""Whole counts of a mix: shares that follow a Dirichlet distribution, handed out so that they sum to the total."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

__all__ = ["dirichlet", "hand_out"]

Floats = npt.NDArray[np.float64]

#: Below this a gamma quantile is told by the first term of its series, in logarithms, so that none becomes 0.
_TINY = 1e-200


def dirichlet(points: Floats, weights: Sequence[float]) -> Floats:
    """Return shares that follow a Dirichlet distribution, each row with the sum 1.

    Independent gamma variables with the weights as shapes, divided by their sum.  Source: L. Devroye, Non-Uniform
    Random Variate Generation (1986), chapter XI.4.

    Parameters
    ----------
    points
        Coordinates above 0 and below 1, shape ``(samples, parts)``.
    weights
        Parameters, all above 0, one a part.
    """
    from scipy import special  # heavy, and only needed where something is drawn

    shapes = np.asarray(weights, dtype=float)
    gammas = special.gammaincinv(shapes, points)
    series = (np.log(points) + special.gammaln(shapes + 1)) / shapes  # P(a, x) = x^a / Gamma(a + 1) for small x
    logs = np.where(gammas > _TINY, np.log(np.maximum(gammas, _TINY)), series)
    parts = np.exp(logs - logs.max(axis=1, keepdims=True))
    shares: Floats = parts / parts.sum(axis=1, keepdims=True)
    return shares


def hand_out(totals: Floats, shares: Floats, least: Floats) -> tuple[Floats, int]:
    """Return whole counts that sum to the totals, by largest remainder.

    A count below the least that it can be is raised at the expense of the largest counts of its row.

    Parameters
    ----------
    totals
        Whole numbers, shape ``(samples,)``, none below the sum of ``least``.
    shares
        Shape ``(samples, parts)``, rows with the sum 1.
    least
        Whole numbers, shape ``(parts,)``.

    Returns
    -------
    tuple
        Counts, shape ``(samples, parts)``, and the number of samples in which one was raised.
    """
    wanted = totals[:, None] * shares
    counts = np.floor(wanted)
    ranks = np.argsort(np.argsort(counts - wanted, axis=1, kind="stable"), axis=1)
    counts += ranks < (totals - counts.sum(axis=1))[:, None]
    spare = counts - least
    owed = -np.minimum(spare, 0).sum(axis=1)
    raised = int(np.count_nonzero(owed))
    spare = np.maximum(spare, 0)
    while owed.any():
        rows = np.flatnonzero(owed)
        spare[rows, spare[rows].argmax(axis=1)] -= 1
        owed[rows] -= 1
    return spare + least, raised
