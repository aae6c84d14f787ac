"""Programmes in two stages: what is decided now, and what each of many incidents then makes of it.

    minimise    c y + sum_m l_m mean_s h_sm
    plan        A y <= b,  lower <= y <= upper,  some of y whole
    incidents   (y, h_s) in K_s                          for every incident s
    goals       mean_s h_sm <= a_m,  or the mean of the worst share of incidents <= a_m

``y`` is the plan and ``h_sm`` the harm of kind ``m`` in incident ``s``.  ``K_s`` is convex and closed upwards: more
of the plan never does harm, and more harm is always possible.  It is known through :class:`Recourse` only, which says
of any point by how much it misses ``K_s`` and which half-space separates it.  So several kinds of harm of one incident
are those of one and the same care, and none is traded off unseen.

The mean of the worst share ``w`` of the incidents (conditional value at risk, expected shortfall) is written as
``eta + sum_s p_s max(0, h_s - eta) / w``, which is linear (R. T. Rockafellar and S. Uryasev, *Optimization of
conditional value-at-risk*, Journal of Risk 2 (2000), 21-41).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

__all__ = ["Aim", "Answers", "Plan", "Recourse", "Tail", "tail_mean", "tail_means"]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Plan:
    """What can be decided now.

    Parameters
    ----------
    lower, upper
        Bounds of each decision, shape ``(decisions,)``; the upper ones finite.
    whole
        Which of them are whole numbers, same shape.
    matrix
        Coefficients of the limits, shape ``(limits, decisions)``; their right-hand sides belong to an :class:`Aim`.
    """

    lower: Floats
    upper: Floats
    whole: npt.NDArray[np.bool_]
    matrix: Floats


@dataclass(frozen=True, slots=True)
class Tail:
    """A kind of harm, looked at in the worst share of incidents (1: in all of them)."""

    harm: int
    worst: float = 1.0


@dataclass(frozen=True, slots=True)
class Aim:
    """What is asked of a programme in two stages; the rest of it stays.

    Parameters
    ----------
    costs
        Of each decision, shape ``(decisions,)``.
    losses
        What the mean of each kind of harm costs, shape ``(harms,)``.
    limits
        Right-hand sides of the limits of the plan, shape ``(limits,)``.
    at_most
        What each tail may be, shape ``(tails,)``; ``inf`` where it does not matter.
    offset
        What is added to every value; gaps are relative to values.
    """

    costs: Floats
    losses: Floats
    limits: Floats
    at_most: Floats
    offset: float = 0.0


@dataclass(frozen=True, slots=True)
class Answers:
    """What incidents say of a plan ``y`` and of the harms ``h`` that are allowed.

    Parameters
    ----------
    excess
        How far each incident is outside, shape ``(incidents,)``; at most 0 where the harms can be kept to.
    attained
        Harms that can be kept to, all at once, shape ``(incidents, harms)``.
    by_plan
        By how much the excess changes per unit of each decision, shape ``(incidents, decisions)``; at most 0.
    by_harm
        By how much it falls per unit of harm allowed, shape ``(incidents, harms)``; at least 0.
    """

    excess: Floats
    attained: Floats
    by_plan: Floats
    by_harm: Floats


class Recourse(Protocol):
    """The second stage of every incident."""

    @property
    def chances(self) -> Floats:
        """Probability of each incident, shape ``(incidents,)``; they sum to 1."""

    @property
    def least(self) -> Floats:
        """What each kind of harm can never be below, shape ``(harms,)``."""

    def ask(self, plan: Floats, allowed: Floats) -> Answers:
        """Ask every incident.

        Parameters
        ----------
        plan
            A plan, not necessarily whole, shape ``(decisions,)``.
        allowed
            Harms, shape ``(incidents, harms)``.
        """


def tail_mean(harms: Floats, chances: Floats, worst: float) -> float:
    """Return the mean of the worst share of incidents; the last of them counts with what is left of the share.

    Parameters
    ----------
    harms, chances
        Harm and probability of each incident, shape ``(incidents,)``.
    worst
        The share, above 0 up to 1.
    """
    order = np.argsort(-harms, kind="stable")
    counted = np.minimum(chances[order], np.maximum(0.0, worst - (np.cumsum(chances[order]) - chances[order])))
    return float(counted @ harms[order] / worst)


def tail_means(harms: Floats, chances: Floats, tails: Sequence[Tail]) -> Floats:
    """Return the mean of each tail; ``harms`` has the shape ``(incidents, harms)``."""
    return np.array([tail_mean(harms[:, tail.harm], chances, tail.worst) for tail in tails])
