"""The resupply planner: from an incident with a network to trips with last safe times.

network in steps -> programme (bound, what is due) -> whole trips -> as late as is safe -> what a loss costs
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

from mci.lp.haul_plan import HaulPlan, plan_hauls, write_joint
from mci.lp.outcome import Status
from mci.plan.deliver import hand_over
from mci.resupply.care import NOTHING, Care, Worth
from mci.resupply.dues import LEAST_PART, find_needs, find_spent
from mci.resupply.latest import find_latest
from mci.resupply.losses import find_losses
from mci.resupply.needs import Need
from mci.resupply.obstacles import find_obstacles
from mci.resupply.schedule import TOO_FEW, Goal, Met, Obstacle, Schedule, how_far_met
from mci.resupply.steps import (
    count_own,
    cut,
    find_grants,
    less_of,
    make_haulage,
    with_allowance,
    without_lent,
)
from mci.resupply.trip_planner import STYLES, Style, plan_trips
from mci.scenario.network import ItemKind, PlaceKind, network_of
from mci.scenario.reach import Reach
from mci.timegrid import choose_step

if TYPE_CHECKING:
    from mci.lp.haulage import Haulage
    from mci.plan.trips import Trip
    from mci.resupply.needs import Spent
    from mci.scenario.model import Scenario
    from mci.scenario.network import Network
    from mci.settings import Settings

__all__ = ["Planner"]

#: Steps of the programme, and of the times that are told, at most.
STEPS, FINE_STEPS = 40, 144
#: Columns up to which the programme itself is solved again without something; else what it says is due still counts.
SMALL = 10_000
#: How many needs are tried to be left out where goals are met: enough for the incidents of an afternoon.
TRIES = 60
#: How many of the styles are tried where trips are planned again without something.
AGAIN = 3
#: How often more is asked for where whole trips miss a goal that the programme meets.
ROUNDS = 6


@dataclass(frozen=True, slots=True)
class _Candidate:
    """Trips, what they were made for, and what they are worth."""

    trips: tuple[Trip, ...]
    needs: tuple[Need, ...]
    style: Style
    worth: Worth

    @property
    def rank(self) -> tuple[float, float, float, int]:
        """Order of preference: what is missing of reserves and goals, then coverage, then the number of trips."""
        unkept, missing = (round(each / NOTHING) * NOTHING for each in (self.worth.unkept, self.worth.short))
        if self.worth.missing and missing <= NOTHING:
            return unkept, missing, len(self.trips), 0
        return unkept, missing, -self.worth.weighted, len(self.trips)


class Planner:
    """One incident with its network, asked for trips.

    Parameters
    ----------
    scenario
        An incident with a network.
    settings
        Limits of the solver.
    goals
        What every area is to reach; none to maximise the weighted coverage.
    allowance
        Share of the gas of every cylinder on which the trips are not to count, 0 to 1: what orders may strand.

    Attributes
    ----------
    network
        The network, of which each full cylinder holds the allowance less.
    fine
        Length of the steps in which trips are valued and last safe times are told [min].
    haulage
        The network in the steps of the programme, which are longer.
    care
        What trips are worth.
    answer
        What the programme answers.
    spent
        When empties are free, as the programme reckons.

    Raises
    ------
    UsageError
        If the incident has no network.
    """

    def __init__(
        self, scenario: Scenario, settings: Settings, goals: Sequence[Goal] = (), allowance: float = 0.0
    ) -> None:
        network = with_allowance(network_of(scenario), allowance)
        scenario = replace(scenario, network=network, lots=tuple(less_of(lot, allowance) for lot in scenario.lots))
        self._scenario, self._settings, self._asked = scenario, settings, tuple(goals)
        self.network: Network = network
        self._goals = {goal.category: goal.share for goal in goals}
        self.fine = choose_step(scenario.horizon, FINE_STEPS)
        self._step = choose_step(scenario.horizon, STEPS)
        self.haulage = self._in_steps(network)
        starts = cut(scenario.horizon, self.fine)[0]
        own = without_lent(scenario, self.network)
        self.care = Care(own, find_grants(self.haulage), starts, self._goals, settings)
        self.answer = self._hauls(scenario, self.haulage, self._goals)
        self.spent = find_spent(self.answer, self.haulage)

    @cached_property
    def bound(self) -> float:
        """Weighted coverage that no trips and orders can beat, whatever the goals [weighted credit-minutes]."""
        return self._hauls(self._scenario, self.haulage, {}).bound if self._asked else self.answer.bound

    def _in_steps(self, network: Network) -> Haulage:
        """Cut a network into the steps of the programme."""
        return make_haulage(network, self._scenario.horizon, self._step)

    def _hauls(self, scenario: Scenario, haulage: Haulage, goals: Mapping[str, float]) -> HaulPlan:
        """Solve the programme for the incident as it is or changed."""
        own = without_lent(scenario, haulage.network)
        grants = find_grants(haulage)
        demand = count_own(own, grants, haulage.starts)
        return plan_hauls(write_joint(own, demand, grants, haulage, goals), self._settings)

    def _candidate(self, needs: Sequence[Need], spent: Sequence[Spent], style: Style) -> _Candidate:
        """Make trips for needs in one style."""
        trips = plan_trips(self.network, needs, spent, self._scenario.horizon, style)
        return _Candidate(trips, tuple(needs), style, self.care.worth(self.network, trips))

    def _best(self, needs: Sequence[Need], spent: Sequence[Spent]) -> _Candidate:
        """Make trips in every style and keep the best."""
        return min((self._candidate(needs, spent, style) for style in STYLES), key=lambda each: each.rank)

    def trips(self, spent: Sequence[Spent] | None = None) -> tuple[Trip, ...]:
        """Return whole trips so that oxygen goes as far as it can, or so that goals are met with the least.

        Parameters
        ----------
        spent
            When empties are free; as the programme reckons if not given.
        """
        spent = self.spent if spent is None else spent
        needs: Sequence[Need] = find_needs(self.answer, self.haulage)
        found = self._best(needs, spent)
        for _ in range(ROUNDS if self._goals else 0):
            if found.worth.short <= NOTHING:
                break
            again = self._best(self._more(found), spent)
            found = min(found, again, key=lambda each: each.rank)
        found = self._used(found, spent)
        if self._goals and found.worth.short <= NOTHING:
            found = self._fewer_things(found, spent)
        return self._fewer_trips(found, spent).trips

    def _more(self, found: _Candidate) -> list[Need]:
        """Ask for one more cylinder, and everything a step earlier, at areas where a goal is missed."""
        step = float(self.haulage.ends[0])
        short = {area for (area, _), missing in found.worth.missing.items() if missing > NOTHING}
        needs = [replace(n, due=max(0.0, n.due - step)) if n.area in short else n for n in found.needs]
        for area in sorted(short):
            full = [n for n in needs if n.area == area and self.network.items[n.item].kind is ItemKind.FULL]
            if full:
                needs.append(full[-1])
        return needs

    def _used(self, found: _Candidate, spent: Sequence[Spent]) -> _Candidate:
        """Leave out what is given and not used, if nothing is lost by it."""
        unused = Counter({key: max(0, count) for key, count in self.care.unused(self.network, found.trips).items()})
        return self._without(found, unused, spent) or found

    def _fewer_things(self, found: _Candidate, spent: Sequence[Spent]) -> _Candidate:
        """Leave out one need after the other, the last to be due first, while the goals are met; some tries only."""
        for need in sorted(found.needs, key=lambda each: -each.due)[:TRIES]:
            found = self._without(found, Counter([(need.area, need.item)]), spent) or found
        return found

    def _fewer_trips(self, found: _Candidate, spent: Sequence[Spent]) -> _Candidate:
        """Leave out whole trips, the last first, as long as nothing is lost by it."""
        for trip in sorted(found.trips, key=lambda each: -each.stops[0].arrive):
            others = [each for each in found.trips if each.key != trip.key]
            if self.care.worth(self.network, others).as_good_as(found.worth, NOTHING):
                brought = Counter[tuple[str, str]]()
                for batch in hand_over(self.network, [trip]):
                    brought[batch.area, batch.item] += batch.quantity * bool(batch.trip)
                found = self._without(found, brought, spent) or found
        return found

    def _without(
        self, found: _Candidate, things: Counter[tuple[str, str]], spent: Sequence[Spent]
    ) -> _Candidate | None:
        """Return trips without some things at areas, the last to be due; ``None`` if something is lost by it."""
        left, needs = things.copy(), []
        for need in sorted(found.needs, key=lambda each: -each.due):
            if left[need.area, need.item] > 0:
                left[need.area, need.item] -= 1
            else:
                needs.append(need)
        again = self._candidate(needs[::-1], spent, found.style)
        fewer = len(again.trips) <= len(found.trips)
        return again if fewer and again.worth.as_good_as(found.worth, NOTHING) else None

    def _replan(self, network: Network, spent: Sequence[Spent]) -> tuple[Trip, ...]:
        """Return trips for what is due on a network that has lost something."""
        if not network.vehicles:
            return ()
        answers = [(self.answer, self.haulage, spent)]
        if self.answer.report.columns <= SMALL:
            haulage = self._in_steps(network)
            again = self._hauls(self._scenario, haulage, self._goals)
            answers.append((again, haulage, find_spent(again, haulage)))
        made = [
            plan_trips(network, find_needs(answer, haulage), empties, self._scenario.horizon, style)
            for answer, haulage, empties in answers
            for style in STYLES[:AGAIN]
        ]
        return max(made, key=lambda trips: _pair(self.care.worth(network, trips)))

    def schedule(
        self,
        trips: Sequence[Trip],
        spent: Sequence[Spent] | None = None,
        *,
        losses: bool = True,
        full: Planner | None = None,
    ) -> Schedule:
        """Tell how late trips may be, and what losses would cost.

        Parameters
        ----------
        trips
            Trips that can be carried out.
        spent
            When empties are free; as the programme reckons if not given.
        losses
            Whether to plan again without each road, place and vehicle.
        full
            The planner that counts on all of the gas, which tells what is reached; itself if not given.
        """
        empties = self.spent if spent is None else spent
        best = full or self
        apart = self.care.apart(self.network, trips)
        of_all = apart if best is self else best.care.apart(best.network, trips)
        worth = of_all.worth(best.network, trips)
        return Schedule(
            goals=self._asked,
            met=best.met(worth),
            bound=best.bound,
            reached=worth.weighted,
            without_trips=best.care.worth(best.network, ()).weighted,
            departures=find_latest(self._scenario, apart, trips, self.fine),
            cylinders=_cylinders(self.network, trips),
            fewest_cylinders=math.ceil(best.answer.fewest - LEAST_PART) if self._asked else 0,
            fewest_trips=_fewest_trips(best.network, best.answer) if self._asked else 0,
            missing=best.missing,
            obstacles=best.obstacles(),
            losses=find_losses(self.network, self.care, trips, lambda n: self._replan(n, empties)) if losses else (),
            notes=_notes(best.answer, self._scenario, self.network),
            report=best.answer.report,
        )

    def met(self, worth: Worth) -> tuple[Met, ...]:
        """Return how far goals are met."""
        needed = self.care.needed
        return how_far_met(self._asked, needed, {key: needed[key] - worth.missing[key] for key in needed})

    @property
    def missing(self) -> float:
        """Credit-minutes of the goals that are missing at best."""
        return sum(self.answer.missing.values())

    def obstacles(self) -> tuple[Obstacle, ...]:
        """Return why goals cannot be met; nothing where they can."""
        if self.missing <= TOO_FEW:
            return ()

        def ask(scenario: Scenario, network: Network) -> float:
            return sum(self._hauls(scenario, self._in_steps(network), self._goals).missing.values())

        return find_obstacles(self._scenario, self.network, self.missing, ask)


def _pair(worth: Worth) -> tuple[float, float]:
    """Return what is better the higher it is: goals first."""
    return -worth.short, worth.weighted


def _cylinders(network: Network, trips: Sequence[Trip]) -> int:
    """Return how many full cylinders are loaded where nobody is treated."""
    area = {place.key for place in network.places if place.kind is PlaceKind.AREA}
    return sum(
        cargo.quantity
        for trip in trips
        for stop in trip.stops
        if stop.place not in area
        for cargo in stop.load
        if network.items[cargo.item].kind is ItemKind.FULL
    )


def _fewest_trips(network: Network, answer: HaulPlan) -> int:
    """Return how many trips the vehicle with the most slots makes for the fewest cylinders."""
    slots = max((sum(vehicle.slots.values()) for vehicle in network.vehicles), default=0)
    return math.ceil(answer.fewest / slots - LEAST_PART) if slots else 0


def _notes(answer: HaulPlan, scenario: Scenario, network: Network) -> tuple[str, ...]:
    notes = []
    if answer.status is not Status.OPTIMAL:
        notes.append("The solver stopped at its limit: the bound is what full coverage would earn.")
    titles = {place.key: place.title for place in network.places}
    notes += [
        f"Cylinders come to {titles[area]} only from one vehicle to another. No trips are planned that hand over, "
        "though the bound counts on them: write such trips by hand and judge them with mci replay --trips."
        for area in Reach(network, scenario.horizon).by_hand_over()
    ]
    return tuple(notes)
