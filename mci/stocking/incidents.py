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
from mci.resupply.routes import Routes
from mci.scenario.stocking import CandidateKind

if TYPE_CHECKING:
    from mci.scenario.model import Scenario
    from mci.scenario.stocking import Candidate, Station
    from mci.stocking.layout import Layout

__all__ = ["Incidents", "arrivals", "load_incident"]

Floats = npt.NDArray[np.float64]


def arrivals(scenario: Scenario, station: Station) -> Mapping[str, float]:
    """Return when a cache from a station gets to each area that it can reach [min].

    What the planner wrote goes before the roads of the network.
    """
    found = {area: station.sets_off + minutes for area, minutes in station.reaches.items()}
    network = scenario.network
    if network is None or all(place.key != station.place for place in network.places):
        return found
    routes = Routes(network, on_foot=False)
    for area in scenario.areas:
        leg = routes.soonest(station.place, area.key, station.sets_off)
        if area.key not in found and leg is not None and math.isfinite(leg.arrive):
            found[area.key] = leg.arrive
    return found


def load_incident(scenario: Scenario, layout: Layout, harms: Sequence[Harm], max_period: float) -> CacheCare:
    """Load the programme of one incident."""
    reached = {id(station): arrivals(scenario, station) for station, _ in layout.supplies}
    moments = {m for arrive in reached.values() for m in arrive.values() if m < scenario.horizon}
    demand = count_demand(scenario, max_period, moments=sorted(moments))
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
    """Incidents in this process.

    Parameters
    ----------
    scenarios
        The incidents, alike but for numbers.
    layout
        What can be packed.
    harms
        What is counted.
    max_period
        Longest period of the time grid [min].
    """

    def __init__(self, scenarios: Sequence[Scenario], layout: Layout, harms: Sequence[Harm], max_period: float) -> None:
        self._units = layout.units
        self._cares = [load_incident(each, layout, harms, max_period) for each in scenarios]
        self.chances = np.full(len(scenarios), 1.0 / len(scenarios))
        self.least = np.zeros(len(harms))

    def ask(self, plan: Floats, allowed: Floats) -> Answers:
        """Ask every incident (:class:`mci.lp.two_stage.Recourse`)."""
        stock = self._units @ plan
        found = [care.ask(stock, allowed[number]) for number, care in enumerate(self._cares)]
        excess, attained, by_stock, by_harm = zip(*found, strict=True)
        return Answers(np.array(excess), np.array(attained), np.array(by_stock) @ self._units, np.array(by_harm))
