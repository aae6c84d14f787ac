"""Usual practice: the top rung for whoever comes, until the cylinders run out.

Whoever is on oxygen keeps it; whoever waits gets the next free outlet, in the order of arrival or
by triage category and then arrival.  Nobody looks ahead.  Where the device or an outlet for the top
rung lacks, the best lower rung that can be had is given.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from mci.demand.groups import Demand
from mci.demand.stays import find_stays
from mci.dispatch.crew import Crew
from mci.dispatch.floor import Floor, Source
from mci.dispatch.policy import Here
from mci.plan.orders import Plan
from mci.scenario.model import CATEGORIES, Scenario

__all__ = ["USUAL", "Usual", "usual_practice"]

#: Names of the two ways.
USUAL = ("first come, first served", "sickest first, first come")


class _NoBudget:
    """Gas is drawn as long as there is any; a big cylinder goes on many outlets, as any crew would do."""

    def __init__(self, scenario: Scenario) -> None:
        self._usual: dict[str, tuple[float, float]] = {}
        for area in scenario.areas:
            stays = [stay for stay in find_stays(scenario) if stay.area == area.key]
            minutes = sum(stay.count * (stay.end - stay.start) for stay in stays)
            litres = sum(
                stay.count * (stay.end - stay.start) * scenario.ladders[stay.ladder].rungs[0].flow_lpm for stay in stays
            )
            until = max((stay.end for stay in stays), default=scenario.horizon)
            self._usual[area.key] = until, litres / minutes if minutes > 0 else 1.0

    def empty_by(self, source: Source) -> tuple[float, float]:
        """Return when the last patient leaves the area [min], and the mean prescribed flow there [L/min]."""
        return self._usual[source.supply.lot.area]

    def spare(self, floor: Floor, source: Source) -> float:  # noqa: ARG002
        """Let anything be drawn."""
        return math.inf


class Usual:
    """Everybody wants the top rung, whoever came first or is sickest first."""

    early = 0.0
    rest = math.inf

    def __init__(self, scenario: Scenario, *, by_category: bool) -> None:
        self.pace = _NoBudget(scenario)
        self._by_category = by_category

    def plan(self, crew: Crew, time: float) -> None:
        """Decide nothing: everybody wants the top rung."""

    def wish(self, here: Here) -> int | None:  # noqa: ARG002
        """Return the top rung."""
        return 0

    def turn(self, here: Here) -> tuple[float, ...]:
        """Let who came first come first."""
        category = CATEGORIES.index(here.stay.category) if self._by_category else 0
        return category, here.person.arrive

    def after(self, crew: Crew, time: float) -> None:
        """Do nothing: nobody looks ahead."""

    def why_less(self, crew: Crew, here: Here) -> str:
        """Say what of the cylinders is the reason."""
        return crew.why_not(here)


def usual_practice(scenario: Scenario, demand: Demand, names: Sequence[str] = USUAL) -> tuple[Plan, ...]:
    """Return what happens without a plan, in each of some ways of :data:`USUAL`."""
    return tuple(
        Plan(name, Crew(scenario, demand.grid.points, Usual(scenario, by_category=name == USUAL[1])).work())
        for name in names
    )
