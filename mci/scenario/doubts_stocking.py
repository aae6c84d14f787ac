"""Doubts about caches and what they may be filled with; one function per rule."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from mci.scenario.cache_reach import arrivals
from mci.scenario.doubt import Doubt, Question
from mci.scenario.stocking import CandidateKind
from mci.units import format_moment

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from mci.catalogue.model import OutletSet
    from mci.scenario.model import Scenario
    from mci.scenario.stocking import Candidate, Stocking

__all__ = ["STOCKING_RULES", "stocking_doubts"]


class _Case(NamedTuple):
    """A scenario with its stocking, as the rules look at it.

    ``reached`` has the areas to which some cache can come before the end; ``visited`` those with patients.
    """

    scenario: Scenario
    stocking: Stocking
    reached: frozenset[str]
    visited: frozenset[str]
    categories: frozenset[str]

    @property
    def by_key(self) -> Mapping[str, Candidate]:
        """Candidates by key."""
        return {candidate.key: candidate for candidate in self.stocking.candidates}

    def of(self, kind: CandidateKind) -> list[Candidate]:
        """Return the candidates of a kind."""
        return [candidate for candidate in self.stocking.candidates if candidate.kind is kind]

    def outlets(self) -> list[OutletSet]:
        """Return the regulators that a cylinder of a cache may come onto."""
        packed = [candidate.outlets for candidate in self.of(CandidateKind.REGULATOR)]
        there = [stock.outlets for stock in self.scenario.regulators if stock.area in self.reached]
        carried = [item.outlets for item in self.scenario.network.items.values()] if self.scenario.network else []
        return [outlets for outlets in (*packed, *there, *carried) if outlets is not None]

    def valves(self) -> set[str]:
        """Return the valves onto which a regulator of a cache may come."""
        packed = [candidate.lot for candidate in self.stocking.candidates]
        there = [lot for lot in self.scenario.lots if lot.area in self.reached]
        carried = [item.lot for item in self.scenario.network.items.values()] if self.scenario.network else []
        return {lot.valve for lot in (*packed, *there, *carried) if lot is not None and lot.built_in is None}


def cache_too_late(case: _Case) -> Iterator[Doubt]:
    """From where a cache may stand it comes to an area when the plan is over."""
    for cache in case.stocking.caches:
        for station in cache.stations:
            there = arrivals(station, case.scenario.network)
            for area, moment in there.items():
                if moment >= case.scenario.horizon:
                    what = f"'{cache.key}' from '{station.place}' is there at {format_moment(moment)}"
                    over = f"when the plan is over ({format_moment(case.scenario.horizon)})"
                    yield Doubt("cache-too-late", f"{what}, {over}", area)
            if not there:
                yield Doubt("cache-too-late", f"no road leads '{cache.key}' from '{station.place}' to any area")


def area_without_cache(case: _Case) -> Iterator[Doubt]:
    """Patients are at an area to which no cache comes in time."""
    for area in case.scenario.areas:
        if area.key in case.visited - case.reached:
            yield Doubt("area-without-cache", "patients are there, and no cache comes there in time", area.key)


def candidate_without_regulator(case: _Case) -> Iterator[Doubt]:
    """A cylinder may be packed that no regulator fits, packed or at an area."""
    outlets = case.outlets()
    for candidate in case.of(CandidateKind.CYLINDER):
        lot = candidate.lot
        if lot and lot.built_in is None and not any(lot.valve in each.fits for each in outlets):
            what = f"{candidate.key} may be packed, and no regulator that may be packed or is where caches go"
            yield Doubt("candidate-without-regulator", f"{what} fits its {lot.valve} valve")


def candidate_fits_no_cylinder(case: _Case) -> Iterator[Doubt]:
    """A regulator may be packed that fits no cylinder, packed or at an area."""
    valves = case.valves()
    for candidate in case.of(CandidateKind.REGULATOR):
        if candidate.outlets and not candidate.outlets.fits & valves:
            what = f"{candidate.key} may be packed, and no cylinder that may be packed or is where caches go"
            yield Doubt("candidate-fits-no-cylinder", f"{what} has a valve for it")


def candidate_on_no_ladder(case: _Case) -> Iterator[Doubt]:
    """A device may be packed that no patient's ladder uses."""
    used = {rung.device.key for ladder in case.scenario.ladders.values() for rung in ladder.rungs}
    for candidate in case.of(CandidateKind.DEVICE):
        if candidate.device not in used:
            what = f"{candidate.key} may be packed, and no patient's ladder uses the device {candidate.device}"
            yield Doubt("candidate-on-no-ladder", what)


def candidate_fits_no_cache(case: _Case) -> Iterator[Doubt]:
    """A single pack is more than any cache may take."""
    for candidate in case.stocking.candidates:
        why = [next(cache.beyond({candidate.key: 1}, case.by_key), "") for cache in case.stocking.caches]
        if all(why):
            what = f"one pack of {candidate.key} is more than any cache may take"
            yield Doubt("candidate-fits-no-cache", f"{what} ('{case.stocking.caches[0].key}': {why[0]})")


def cache_without_hands(case: _Case) -> Iterator[Doubt]:
    """Caches bring what somebody must connect, and nobody is there or may come with them."""
    if case.of(CandidateKind.STAFF):
        return
    by_hand = [each.key for each in case.stocking.candidates if each.lot and each.lot.change_min > 0]
    there = {shift.area for shift in case.scenario.staff}
    for area in sorted(case.reached & case.visited - there):
        if by_hand:
            what = f"caches may bring {by_hand[0]} there, and no staff is there or may come with them"
            yield Doubt("cache-without-hands", what, area)


def cache_without_power(case: _Case) -> Iterator[Doubt]:
    """Caches may bring machines to an area without power."""
    machines = case.of(CandidateKind.MACHINE)
    powered = {supply.area for supply in case.scenario.power if supply.watts > 0}
    for area in sorted(case.reached & case.visited - powered):
        if machines:
            what = f"caches may bring {machines[0].key} there, and no electrical power is there"
            yield Doubt("cache-without-power", what, area)


def goal_without_patients(case: _Case) -> Iterator[Doubt]:
    """A goal is about a category of which nobody comes."""
    for category in sorted({goal.category for goal in case.stocking.goals} - case.categories):
        yield Doubt("goal-without-patients", f"a goal of stocking is about {category}, and no such patient comes")


def neither_goal_nor_budget(case: _Case) -> Iterator[Doubt]:
    """Nothing says how much is enough."""
    if not case.stocking.goals and math.isinf(case.stocking.budget):
        what = "stocking has neither a goal nor a budget, so nothing says how much is enough"
        yield Doubt("neither-goal-nor-budget", what)


def rule_beyond_limits(case: _Case) -> Iterator[Doubt]:
    """A packing list that is compared does not go into its cache."""
    for rule in case.stocking.rules:
        for cache in case.stocking.caches:
            for why in cache.beyond(rule.packs[cache.key], case.by_key):
                what = f"the packing list '{rule.key}' is more than '{cache.key}' may take: {why}"
                yield Doubt("rule-beyond-limits", what)


STOCKING_RULES: tuple[Callable[[_Case], Iterator[Doubt]], ...] = (
    cache_too_late,
    area_without_cache,
    candidate_without_regulator,
    candidate_fits_no_cylinder,
    candidate_on_no_ladder,
    candidate_fits_no_cache,
    cache_without_hands,
    cache_without_power,
    goal_without_patients,
    neither_goal_nor_budget,
    rule_beyond_limits,
)


def stocking_doubts(q: Question) -> Iterator[Doubt]:
    """Something in the stocking is doubtful, where the planner wrote it."""
    stocking = q.scenario.stocking
    if stocking is None:
        return
    reached = {
        area
        for cache in stocking.caches
        for station in cache.stations
        for area, moment in arrivals(station, q.scenario.network).items()
        if moment < q.scenario.horizon
    }
    visited = frozenset(stay.area for stay in q.stays)
    categories = frozenset(stay.category for stay in q.stays)
    case = _Case(q.scenario, stocking, frozenset(reached), visited, categories)
    for rule in STOCKING_RULES:
        yield from rule(case)
