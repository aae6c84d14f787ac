"""Following a plan although others have come than it expected."""

from __future__ import annotations

import numpy as np
import pandas as pd

from mci.demand.groups import Demand
from mci.dispatch.budget import Budget
from mci.dispatch.follow import Follow, Group, Style
from mci.scenario.model import CATEGORIES, Scenario

__all__ = ["FollowExpected"]


class FollowExpected(Follow):
    """Follows a plan, and finds a rung for whoever it did not expect.

    One more of a group gets what the plan gives to the last of that group.  Where it expects none of them now, to
    the last when it next expects some, or to the last of those with the same need at the same area; else the
    top rung, as usual.  Fewer than expected leave their rungs to the others of the group, and their gas to
    whoever it does most for (:mod:`mci.dispatch.surplus`).
    """

    def __init__(self, scenario: Scenario, demand: Demand, budget: Budget, service: pd.DataFrame, style: Style) -> None:
        super().__init__(scenario, demand, budget, service, style)
        self._expected = {
            (group.area, group.category, group.ladder): present
            for group, present in zip(demand.groups, demand.present, strict=True)
        }

    def _rungs(self, group: Group, period: int, count: int) -> list[int]:
        rungs = super()._rungs(group, period, count)
        more = count - (round(self._expected[group][period]) if group in self._expected else 0)
        last = self._last(group, period) if more > 0 else None
        return rungs if last is None else [*rungs, *[last] * more]

    def _last(self, group: Group, period: int) -> int | None:
        """Return the rung of the last of a group, or of a similar one; ``None`` where somebody of it has none."""
        for like in (group, *self._similar(group)):
            expected = self._expected.get(like)
            coming = [] if expected is None else np.flatnonzero(expected[period:] > 0).tolist()
            if expected is not None and coming:
                when = period + coming[0]
                rungs = super()._rungs(like, when, 0)
                return rungs[-1] if len(rungs) >= round(expected[when]) else None
        return 0

    def _similar(self, group: Group) -> list[Group]:
        """Return the groups with the same need at the same area, the most similar category first."""
        area, category, ladder = group
        here = CATEGORIES.index(category)
        like = [(abs(CATEGORIES.index(c) - here), (a, c, rungs)) for a, c, rungs in self._expected]
        return [group for _, group in sorted(like) if (group[0], group[2]) == (area, ladder)]
