"""Sampled incidents as the second stage: each is a loaded programme that is asked of list after list."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from mci.demand.groups import count_demand
from mci.lp.cache_care import CacheCare, Harm, Supply
from mci.lp.two_stage import Answers
from mci.scenario.cache_reach import arrivals
from mci.scenario.stocking import CandidateKind

if TYPE_CHECKING:
    from mci.scenario.model import Scenario
    from mci.scenario.stocking import Candidate
    from mci.stocking.layout import Layout

__all__ = ["Incidents", "load_incident"]

Floats = npt.NDArray[np.float64]


def load_incident(scenario: Scenario, layout: Layout, harms: Sequence[Harm]) -> CacheCare:
    """Load the programme of one incident."""
    reached = {id(station): arrivals(station, scenario.network) for station, _ in layout.supplies}
    moments = {m for arrive in reached.values() for m in arrive.values() if m < scenario.horizon}
    demand = count_demand(scenario, moments=sorted(moments))
    supplies = [
        _supply(number, candidate, reached[id(station)], layout)
        for number, (station, candidate) in enumerate(layout.supplies)
    ]
    return CacheCare(scenario, demand, supplies, harms)


def _supply(number: int, candidate: Candidate, arrives: Mapping[str, float], layout: Layout) -> Supply:
    most = float(layout.units[number] @ layout.plan.upper)
    people = 1.0 if candidate.kind is CandidateKind.STAFF else 0.0
    key = f"#{number} {candidate.key}"
    return Supply(key, math.ceil(most), arrives, candidate.lot, candidate.outlets, candidate.device, people)


class Incidents:
    """Incidents in this process (:class:`mci.lp.two_stage.Recourse`).

    Parameters
    ----------
    scenarios
        The incidents, alike but for numbers.
    layout
        What can be packed.
    harms
        What is counted.
    """

    def __init__(self, scenarios: Sequence[Scenario], layout: Layout, harms: Sequence[Harm]) -> None:
        self._units = layout.units
        self._cares = [load_incident(each, layout, harms) for each in scenarios]
        self.chances = np.full(len(scenarios), 1.0 / max(1, len(scenarios)))
        self.least = np.zeros(len(harms))

    def ask(self, plan: Floats, allowed: Floats) -> Answers:
        """Ask every incident."""
        stock = self._units @ plan
        found = [care.ask(stock, allowed[number]) for number, care in enumerate(self._cares)]
        excess, attained, by_stock, by_harm = zip(*found, strict=True)
        return Answers(np.array(excess), np.array(attained), np.array(by_stock) @ self._units, np.array(by_harm))

    def harms(self, plan: Floats) -> Floats:
        """Return the least harm of each kind that a list leaves in each incident, each kind by itself.

        Shape ``(incidents, harms)``.
        """
        stock = self._units @ plan
        return np.array([care.least(stock) for care in self._cares])

    def alone(self, number: int) -> Incidents:
        """Return one of the incidents by itself."""
        one = object.__new__(Incidents)
        one._units, one._cares = self._units, [self._cares[number]]
        one.chances, one.least = np.ones(1), self.least
        return one
