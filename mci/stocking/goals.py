"""Goals as the harms, tails and aims of a programme in two stages."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from mci.lp.cache_care import Harm, HarmKind
from mci.lp.two_stage import Aim, Tail, tail_mean
from mci.scenario.model import CATEGORIES

if TYPE_CHECKING:
    from collections.abc import Sequence

    from mci.scenario.stocking import Goal, Stocking
    from mci.stocking.layout import Layout

__all__ = ["WORST", "Targets", "make_targets", "reaches"]

Floats = npt.NDArray[np.float64]

#: Share of incidents that are called the worst where the planner's goals do not say.
WORST = 0.05


@dataclass(frozen=True, slots=True)
class Targets:
    """What is counted in every incident, and what the goals ask of it.

    Parameters
    ----------
    goals
        As the planner wrote them.
    categories
        Categories of the goals, in the order of treatment.
    harms
        The first is the weighted need that is missed; then, per category, the share that is missed and the
        patient-minutes without oxygen.
    tails
        One per goal, in their order.
    """

    goals: tuple[Goal, ...]
    categories: tuple[str, ...]
    harms: tuple[Harm, ...]
    tails: tuple[Tail, ...]

    def missed(self, category: str) -> int:
        """Return the number of the harm that is the missed share of a category."""
        return 1 + 2 * self.categories.index(category)

    def without(self, category: str) -> int:
        """Return the number of the harm that is the patient-minutes without oxygen of a category."""
        return 2 + 2 * self.categories.index(category)

    def limits(self, goals: Sequence[Goal] | None = None) -> Floats:
        """Return what each tail may be, of the goals as written or of others in their place."""
        return np.array([_limit(goal) for goal in (self.goals if goals is None else goals)])

    def cheapest(self, layout: Layout, goals: Sequence[Goal] | None = None) -> Aim:
        """Return the aim of the least cost that meets the goals."""
        return Aim(layout.costs, np.zeros(len(self.harms)), layout.limits, self.limits(goals), layout.offset)

    def most(self, layout: Layout, budget: float) -> Aim:
        """Return the aim of the most weighted coverage for a budget [money]; its value is the coverage, negated."""
        losses = np.zeros(len(self.harms))
        losses[0] = 1.0
        limits = layout.limits.copy()
        limits[-1] = budget - layout.offset
        return Aim(np.zeros_like(layout.costs), losses, limits, np.full(len(self.tails), math.inf), -1.0)

    def nearest(self, layout: Layout, number: int) -> Aim:
        """Return the aim of the least mean harm of one goal, whatever it costs within the budget."""
        losses = np.zeros(len(self.harms))
        losses[self.tails[number].harm] = 1.0
        return Aim(np.zeros_like(layout.costs), losses, layout.limits, np.full(len(self.tails), math.inf))

    def reached(self, harms: Floats, chances: Floats) -> list[float]:
        """Return, per goal, the mean coverage or the mean patient-minutes without oxygen in its tail."""
        values = [tail_mean(harms[:, tail.harm], chances, tail.worst) for tail in self.tails]
        return [1.0 - v if goal.coverage is not None else v for goal, v in zip(self.goals, values, strict=True)]

    def met(self, harms: Floats, chances: Floats) -> list[bool]:
        """Tell, per goal, whether it is met."""
        return [
            reaches(value, goal.without_min or 0.0, coverage=False)
            if goal.coverage is None
            else reaches(value, goal.coverage, coverage=True)
            for goal, value in zip(self.goals, self.reached(harms, chances), strict=True)
        ]


def reaches(value: float, target: float, *, coverage: bool) -> bool:
    """Tell whether a coverage is enough, or patient-minutes few enough, but for the solver's rounding.

    That is a millionth of coverage, and a hundredth of a patient-minute.
    """
    return bool(value >= target - 1e-6 if coverage else value <= target + 0.01)


def _limit(goal: Goal) -> float:
    return 1.0 - goal.coverage if goal.coverage is not None else float(goal.without_min or 0.0)


def make_targets(stocking: Stocking, occurring: Sequence[str]) -> Targets:
    """Write goals as targets; without goals what is counted besides is the first category that occurs.

    Parameters
    ----------
    occurring
        Categories that occur.
    """
    wanted = {goal.category for goal in stocking.goals} or set(sorted(occurring, key=CATEGORIES.index)[:1])
    categories = tuple(category for category in CATEGORIES if category in wanted)
    harms = [Harm(HarmKind.WEIGHTED)]
    for category in categories:
        harms += [Harm(HarmKind.MISSED, category), Harm(HarmKind.WITHOUT, category)]
    targets = Targets(stocking.goals, categories, tuple(harms), ())
    tails = [
        Tail(targets.missed(goal.category))
        if goal.coverage is not None
        else Tail(targets.without(goal.category), goal.worst)
        for goal in stocking.goals
    ]
    return replace(targets, tails=tuple(tails))
