"""What trips are worth to care: asked area by area, and only of areas where something changed.

Patients and litres are divisible here, as in the bound, so that the answer is quick and a trip that comes
later is never worth more.  A moment counts from the next step on, in nobody's favour.  While trips are looked for,
alike cylinders of an area are one stock; what is told of them at last is asked with each batch apart.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from mci.demand.groups import Demand, count_demand
from mci.lp.area_value import AreaValue, Value
from mci.lp.given import Grant
from mci.lp.goal_rows import goal_weights
from mci.lp.parts import split
from mci.plan.deliver import Batch, hand_over

if TYPE_CHECKING:
    from mci.plan.trips import Trip
    from mci.scenario.model import Scenario
    from mci.scenario.network import Network
    from mci.settings import Settings

__all__ = ["NOTHING", "Care", "Worth", "difference"]

Floats = npt.NDArray[np.float64]

#: Credit-minutes too few to count.
NOTHING = 1e-3


@dataclass(frozen=True, slots=True)
class Worth:
    """What all areas reach together.

    Parameters
    ----------
    missing
        Per goal (area, category), the credit-minutes missing.
    weighted
        Weighted coverage [weighted credit-minutes].
    credit
        Credit-minutes per category.
    unkept
        Litres missing of reserves [L].
    """

    missing: Mapping[tuple[str, str], float]
    weighted: float
    credit: Mapping[str, float]
    unkept: float = 0.0

    @property
    def short(self) -> float:
        """Credit-minutes missing of all goals, those of a category that is treated earlier counting for more."""
        weights = goal_weights({category for _, category in self.missing})
        return sum(weights.get(category, 1.0) * minutes for (_, category), minutes in self.missing.items())

    def as_good_as(self, other: Worth, tolerance: float) -> bool:
        """Tell whether no more is missing, and where there are no goals no less is reached, within a tolerance."""
        if self.unkept > other.unkept + tolerance:
            return False
        if self.missing:
            return self.short <= other.short + tolerance
        return self.weighted >= other.weighted - tolerance


def difference(now: Mapping[str, float], then: Mapping[str, float]) -> dict[str, float]:
    """Return the credit-minutes that are lost from one to the other, per category; what is too little is nothing."""
    lost = {category: minutes - then.get(category, 0.0) for category, minutes in now.items()}
    return {category: minutes if abs(minutes) > NOTHING else 0.0 for category, minutes in lost.items()}


def _in_order(network: Network, trips: Sequence[Trip]) -> list[Batch]:
    """Return what stays at areas, in the order of coming."""
    return sorted((batch for batch in hand_over(network, trips) if batch.left > 0), key=lambda each: each.at)


def _patient_minutes(demand: Demand, category: str) -> float:
    groups = [number for number, group in enumerate(demand.groups) if group.category == category]
    return float(demand.present[groups].sum(axis=0) @ demand.grid.lengths)


class Care:
    """The programmes of all areas, loaded when they are first asked.

    Parameters
    ----------
    scenario
        The incident without what areas lend.
    grants
        What may be given where.
    starts
        Start of each step [min].
    goals
        Per category, the share that every area is to reach.

    Attributes
    ----------
    needed
        Per goal (area, category), the credit-minutes that it asks for.
    """

    def __init__(
        self,
        scenario: Scenario,
        grants: Sequence[Grant],
        starts: Floats,
        goals: Mapping[str, float],
        settings: Settings,
    ) -> None:
        demand = count_demand(scenario, moments=starts.tolist())
        self._scenario = scenario
        self._parts = {part.areas[0].key: (part, counted) for part, counted in split(scenario, demand)}
        self._grants = {area: [each for each in grants if each.area == area] for area in self._parts}
        self._starts, self._goals, self._settings = starts, goals, settings
        self.needed = {
            (area, category): share * minutes
            for area, (_, counted) in self._parts.items()
            for category, share in goals.items()
            if (minutes := _patient_minutes(counted, category)) > 0
        }
        self._loaded: dict[str, AreaValue] = {}
        self._known: dict[tuple[str, bytes], Value] = {}

    def worth(self, network: Network, trips: Sequence[Trip]) -> Worth:
        """Return what all areas reach with some trips.

        Parameters
        ----------
        network
            The network, of which what areas lend counts.
        trips
            In any order; whether they can be carried out is not asked.
        """
        values = {area: self._value(area, given) for area, given in self.given(network, trips).items()}
        credit: dict[str, float] = {}
        for value in values.values():
            for category, minutes in value.credit.items():
                credit[category] = credit.get(category, 0.0) + minutes
        return Worth(
            missing={(area, c): m for area, value in values.items() for c, m in value.missing.items()},
            unkept=sum(value.unkept for value in values.values()),
            weighted=sum(value.weighted for value in values.values()),
            credit=credit,
        )

    def given(self, network: Network, trips: Sequence[Trip]) -> dict[str, Floats]:
        """Return, per area, what is given of each grant by each step, shape ``(grants, steps)``."""
        given = {area: np.zeros((len(grants), len(self._starts))) for area, grants in self._grants.items()}
        rows: dict[tuple[str, str], list[int]] = {}
        for grants in self._grants.values():
            for row, grant in enumerate(grants):
                rows.setdefault((grant.area, grant.item.key), []).append(row)
        for batch in _in_order(network, trips):
            free = rows.get((batch.area, batch.item), [])
            if free:
                first = int(np.searchsorted(self._starts, batch.at - 1e-6))
                given[batch.area][free[0], first:] += batch.left
            if len(free) > 1:  # the last one takes all that is left
                free.pop(0)
        return given

    def apart(self, network: Network, trips: Sequence[Trip]) -> Care:
        """Return the programmes in which each batch of cylinders that trips bring is given apart.

        As long as these trips bring what they bring, at whatever time, they say what it is really worth.
        """
        batches = Counter((batch.area, batch.item) for batch in _in_order(network, trips))
        grants = [
            replace(grant, batch=number)
            for known in self._grants.values()
            for grant in known
            for number in range(batches[grant.area, grant.item.key] if grant.item.lot is not None else 1)
        ]
        return Care(self._scenario, grants, self._starts, self._goals, self._settings)

    def unused(self, network: Network, trips: Sequence[Trip]) -> dict[tuple[str, str], int]:
        """Return, per area and full cylinder, how many of those given no patient needs."""
        found = {}
        for area, given in self.given(network, trips).items():
            drawn = self._value(area, given).drawn
            for row, grant in enumerate(self._grants[area]):
                if grant.item.lot is not None:
                    needed = np.ceil(drawn[row, -1] / grant.item.lot.litres_each - 1e-6)
                    found[area, grant.item.key] = int(given[row, -1] - needed)
        return found

    def _value(self, area: str, given: Floats) -> Value:
        question = (area, given.tobytes())
        if question not in self._known:
            if area not in self._loaded:
                part, demand = self._parts[area]
                grants = self._grants[area]
                self._loaded[area] = AreaValue(part, demand, grants, self._starts, self._goals, self._settings)
            self._known[question] = self._loaded[area].value(given)
        return self._known[question]
