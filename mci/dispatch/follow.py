"""Following the programme: whole patients per rung and period become wishes, patient by patient."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import numpy as np
import pandas as pd

from mci.demand.groups import Demand
from mci.dispatch.balance import Pool
from mci.dispatch.budget import Budget
from mci.dispatch.crew import Crew
from mci.dispatch.policy import Here
from mci.dispatch.surplus import Surplus
from mci.plan.orders import Order
from mci.scenario.model import CATEGORIES, Scenario

__all__ = ["Follow", "Group", "Style", "follow_plan"]

#: Area, category and ladder of patients alike.
Group = tuple[str, str, str]


@dataclass(frozen=True, slots=True)
class Style:
    """How closely to follow, and how far to look ahead: what does best differs from incident to incident.

    Parameters
    ----------
    leeway
        Share of a lot by which it may be ahead of the plan before patients are moved.
    largest
        Weight of the largest flow, beside the mean one, in what an outlet will be able to give.
    early
        How many times as long before it is empty a cylinder may be changed as it would otherwise be too late.
    rest
        Nobody is moved again within this time, nor to a supply that lasts for less [min].
    generous
        Whether what the plan does not need any more is handed out.
    """

    leeway: float = 0.1
    largest: float = 0.3
    early: float = 4.0
    rest: float = 15.0
    generous: bool = True


class Follow:
    """Who stays on what: better rungs go to those who have them, then to those who have waited longest."""

    def __init__(self, scenario: Scenario, demand: Demand, budget: Budget, service: pd.DataFrame, style: Style) -> None:
        self.early, self.rest = style.early, style.rest
        self.pace = budget
        self._scenario = scenario
        self._style = style
        self._starts = {float(start) for start in demand.grid.starts}
        self._counts: dict[tuple[Group, int], dict[int, int]] = defaultdict(dict)
        periods = demand.grid.index(service["start_min"].to_numpy())
        columns = (service[name] for name in ("area", "category", "ladder", "rung", "patients"))
        for area, category, ladder, rung, patients, k in zip(*columns, periods, strict=True):
            self._counts[(area, category, ladder), int(k)][int(rung)] = round(patients)
        self._wishes: dict[str, int] = {}
        self._surplus = Surplus(scenario, budget)
        self._pools: list[Pool] | None = None

    def plan(self, crew: Crew, time: float) -> None:
        """Decide who should be on which rung from now on."""
        period = self.pace.enter(time)
        groups: dict[Group, list[Here]] = defaultdict(list)
        for here in crew.here.values():
            groups[here.stay.area, here.stay.category, here.stay.ladder].append(here)
        self._wishes = {}
        promised = {key: self._surplus.rung(here, time) for key, here in crew.here.items()}
        for group, members in groups.items():
            members.sort(key=lambda here: self._claim(crew, here))
            rungs = self._rungs(group, period, len(members))
            self._wishes.update({here.person.key: rung for here, rung in zip(members, rungs, strict=False)})
        for key, given in promised.items():
            if given is not None:
                self._wishes[key] = min(given, self._wishes.get(key, given))

    def _rungs(self, group: Group, period: int, count: int) -> list[int]:  # noqa: ARG002
        """Return the rungs for so many patients of a group; whoever comes after the last of them has none."""
        counts = self._counts.get((group, period), {})
        return [rung for rung in sorted(counts) for _ in range(counts[rung])]

    @staticmethod
    def _claim(crew: Crew, here: Here) -> tuple[float, float]:
        link = crew.floor.links.get(here.person.key)
        return (link.rung if link else np.inf), here.person.arrive

    def wish(self, here: Here) -> int | None:
        """Return the rung decided on."""
        return self._wishes.get(here.person.key)

    def turn(self, here: Here) -> tuple[float, ...]:
        """Let who gains most come first."""
        rung = self._scenario.ladders[here.stay.ladder].rungs[self._wishes[here.person.key]]
        worth = self._scenario.weights[here.stay.category] * rung.credit
        return -worth, CATEGORIES.index(here.stay.category), here.person.arrive

    def look_again(self) -> None:
        """Forget which supplies are balanced with each other: others are there."""
        self._pools = None

    def after(self, crew: Crew, time: float) -> None:
        """Keep every lot at the pace of the plan, and cylinders in balance, whenever a period begins."""
        if time not in self._starts:
            return
        self._keep_pace(crew)
        if self._pools is None:
            self._pools = self.pace.pools(crew.floor, self._style.largest)
        period = self.pace.enter(time)
        for pool in self._pools:
            pool.look_ahead(crew, period)
        if self._style.generous:
            self._surplus.hand_out(crew, time)

    def _keep_pace(self, crew: Crew) -> None:
        """Move patients off lots that get ahead of the plan, where another lot has an outlet for them."""
        minutes, links = self.pace.minutes_left(crew.floor.time), crew.floor.links
        for sources in crew.floor.lots.values():
            slack = self._style.leeway * sources[0].supply.lot.litres
            stuck: set[tuple[float, bool]] = set()
            people = [key for source in sources for key in source.people]
            for key in sorted(people, key=lambda key: -links[key].flow):
                kind = links[key].flow, links[key].strong
                if sources[0].made or -self.pace.spare(crew.floor, sources[0]) * minutes <= slack:
                    break
                here = crew.here[key]
                if kind not in stuck and not (crew.outlets.relocate(here) or crew.outlets.exchange(here)):
                    stuck.add(kind)

    def why_less(self, crew: Crew, here: Here) -> str:
        """Say whether the plan or the cylinders are the reason."""
        wish, link = self._wishes.get(here.person.key), crew.floor.links.get(here.person.key)
        if wish is None or (link is not None and link.rung <= wish):
            return "what there is does more for others"
        return crew.why_not(here)


def follow_plan(
    scenario: Scenario, demand: Demand, service: pd.DataFrame, draw: pd.DataFrame, style: Style | None = None
) -> tuple[Order, ...]:
    """Return orders that follow a plan of whole patients per rung.

    Parameters
    ----------
    scenario, demand
        The incident and its patients, counted.
    service, draw
        Whole patients per rung and litres per lot, as :class:`mci.lp.whole.Whole` has them.
    style
        How closely to follow.
    """
    budget = Budget(demand.grid, service, draw)
    return Crew(scenario, demand.grid.points, Follow(scenario, demand, budget, service, style or Style())).work()
