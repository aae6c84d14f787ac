"""Lists chosen for sampled incidents: against every list there is, and against all incidents in one programme."""

from __future__ import annotations

import dataclasses
import functools
import itertools
import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pytest
from extensive import solve_extensive
from small_stocking import POST, STREETS, aim_of, all_lists, sampled

from mci.demand.groups import count_demand
from mci.errors import NoPlanError
from mci.lp.allocate import allocate, weighted_need
from mci.lp.cache_care import Harm, HarmKind
from mci.lp.decompose import Decomposition, Found
from mci.lp.two_stage import Aim, Tail, tail_mean
from mci.scenario.model import CATEGORIES, Scenario
from mci.settings import Settings
from mci.stocking.fill import divide, fill
from mci.stocking.goals import Targets
from mci.stocking.incidents import Incidents
from mci.stocking.layout import Layout

Floats = npt.NDArray[np.float64]

SAME = 1e-6
#: Few and many on the stand and in the queue, for whom one D cylinder is too little.
PATIENTS = ((1, 1), (3, 3), (5, 2), (4, 9))


def _seen_as(scenario: Scenario, harm: Harm) -> Scenario:
    """Return an incident whose weighted coverage is the harm's: one category counts, or any oxygen is full credit."""
    weights = {each: float(harm.category in ("", each)) for each in CATEGORIES}
    if harm.kind is HarmKind.WEIGHTED:
        return scenario
    if harm.kind is HarmKind.MISSED:
        return dataclasses.replace(scenario, weights=weights)
    ladders = {
        key: dataclasses.replace(each, rungs=tuple(dataclasses.replace(rung, credit=1.0) for rung in each.rungs))
        for key, each in scenario.ladders.items()
    }
    return dataclasses.replace(scenario, weights=weights, ladders=ladders)


def _harm(scenario: Scenario, harm: Harm) -> float:
    """Return by the whole programme the least harm of an incident as it is, without caches."""
    scenario = _seen_as(scenario, harm)
    demand = count_demand(scenario)
    need = weighted_need(scenario, demand)
    missed = need - allocate(scenario, demand, Settings()).outcome.bound
    return missed if harm.kind is HarmKind.WITHOUT else missed / need


class Judged:
    """Every list for the first aid post with what it leaves in every incident, judged by the whole programme."""

    def __init__(self) -> None:
        self.sampled = sampled(POST, *PATIENTS)
        self.layout, self.targets = self.sampled.layout, self.sampled.targets
        self.incidents = self.sampled.load()
        self.lists = list(all_lists(self.layout))
        self.harms = np.array([self._harms(each) for each in self.lists])
        self.costs = np.array([self.layout.cost(each) for each in self.lists])

    def _harms(self, decisions: Floats) -> list[list[float]]:
        layout, harms = self.layout, self.targets.harms
        packed, found = layout.packed(decisions), []
        for values in self.sampled.values:
            scenario = self.sampled.draft.scenario(values)
            filled = fill(scenario, layout.stocking, divide(scenario, layout, packed, harms))
            found.append([_harm(filled, harm) for harm in harms])
        return found

    def tails(self, tail: Tail) -> Floats:
        """Return the mean of a tail of every list."""
        chances = self.incidents.chances
        return np.array([tail_mean(each[:, tail.harm], chances, tail.worst) for each in self.harms])

    def solve(self, tails: Sequence[Tail], aim: Aim) -> Found:
        """Solve by cuts."""
        return Decomposition(self.layout.plan, self.incidents, tails).solve(aim, gap=1e-7)


@pytest.fixture(scope="module")
def judged() -> Judged:
    """Return all lists, judged once."""
    return Judged()


def test_harms_are_those_of_the_whole_programme(judged: Judged) -> None:
    """Of every list in every incident: weighted, missed of the category, and minutes without oxygen."""
    for decisions, harms in zip(judged.lists, judged.harms, strict=True):
        assert judged.incidents.harms(decisions) == pytest.approx(harms, abs=1e-5)


MISSED, WITHOUT = 1, 2


@pytest.mark.parametrize(
    ("tail", "at_most"),
    [
        (Tail(MISSED), 0.18),
        (Tail(MISSED), 0.3),
        (Tail(MISSED, 0.25), 0.36),
        (Tail(MISSED, 0.4), 0.5),
        (Tail(WITHOUT), 45.0),
        (Tail(WITHOUT, 0.25), 70.0),
        (Tail(WITHOUT, 0.6), 80.0),
        (Tail(0), 0.3),
        (Tail(0, 0.5), 0.4),
    ],
)
def test_cheapest_list_that_meets_a_goal(judged: Judged, tail: Tail, at_most: float) -> None:
    """Of all lists: none that meets it is cheaper."""
    enough = judged.tails(tail) <= at_most + SAME
    assert 0 < np.count_nonzero(enough) < len(enough)
    found = judged.solve([tail], aim_of(judged.layout, judged.targets, [tail], [at_most]))
    assert found.upper == pytest.approx(judged.costs[enough].min())
    assert found.lower <= found.upper + SAME
    (place,) = [n for n, each in enumerate(judged.lists) if np.array_equal(each, found.plan)]
    assert enough[place]


@pytest.mark.parametrize("share", [0.0, 0.2, 0.5, 0.8, 1.0])
def test_best_list_for_a_budget(judged: Judged, share: float) -> None:
    """Of all lists that cost no more: none covers more of the weighted need."""
    budget = judged.costs.min() + share * (judged.costs.max() - judged.costs.min())
    found = judged.solve((), dataclasses.replace(judged.targets.most(judged.layout, budget), at_most=np.zeros(0)))
    within = judged.costs <= budget + SAME
    assert -found.upper == pytest.approx(1 - judged.tails(Tail(0))[within].min(), abs=1e-5)
    assert judged.layout.cost(found.plan) <= budget + SAME


def test_goal_that_no_list_meets_is_told(judged: Judged) -> None:
    """The goal is below what the fullest box leaves."""
    tail = Tail(MISSED, 0.25)
    least = judged.tails(tail).min()
    assert least > 0
    with pytest.raises(NoPlanError):
        judged.solve([tail], aim_of(judged.layout, judged.targets, [tail], [least - 1e-3]))


#: Incidents of the street fair: who stands and who queues.
STREET_PATIENTS = ((1, 2), (4, 3))


@functools.cache
def _streets() -> tuple[Incidents, Layout, Targets]:
    made = sampled(STREETS, *STREET_PATIENTS)
    return made.load(), made.layout, made.targets


@pytest.mark.parametrize(
    "at_most",
    [
        (0.3, math.inf, math.inf),
        (math.inf, 150.0, math.inf),
        (0.3, 150.0, math.inf),
        (0.25, 60.0, 0.3),
    ],
)
def test_goals_of_several_kinds_as_one_programme(at_most: tuple[float, ...]) -> None:
    """Two areas, two caches, two stations: cuts find what all incidents in one programme find."""
    incidents, layout, targets = _streets()
    tails = (*targets.tails, Tail(0, 0.4))
    assert {tail.harm for tail in tails} == {0, 1, 4}
    aim = aim_of(layout, targets, tails, at_most)
    gap = 1e-4
    found = Decomposition(layout.plan, incidents, tails).solve(aim, gap=gap)
    whole = solve_extensive(incidents._cares, layout.units, layout.plan, tails, aim, gap)
    assert whole.status == "Optimal"
    assert found.upper == pytest.approx(whole.value, rel=2 * gap)
    assert found.lower <= whole.value * (1 + 1e-9)
    assert layout.cost(found.plan) == pytest.approx(found.upper)
    assert np.all(layout.plan.matrix @ found.plan <= aim.limits + SAME)


@pytest.mark.parametrize("budget", [300.0, 1600.0])
def test_budget_as_one_programme(budget: float) -> None:
    """What may be spent is spent where most of the weighted need is met."""
    incidents, layout, targets = _streets()
    aim, gap = targets.most(layout, budget), 1e-4
    found = Decomposition(layout.plan, incidents, targets.tails).solve(aim, gap=gap)
    whole = solve_extensive(incidents._cares, layout.units, layout.plan, targets.tails, aim, gap)
    assert found.upper == pytest.approx(whole.value, rel=2 * gap)
    assert layout.cost(found.plan) <= budget + SAME


def test_more_money_never_covers_less_and_tighter_goals_never_cost_less() -> None:
    """All asked of one search, in any order."""
    incidents, layout, targets = _streets()
    search = Decomposition(layout.plan, incidents, targets.tails)
    covered = {money: -search.solve(targets.most(layout, money), gap=1e-5).upper for money in (900, 260, 400, 1600)}
    values = [covered[money] for money in sorted(covered)]
    assert all(one <= other + 2e-5 for one, other in itertools.pairwise(values))
    costs = []
    for missed, minutes in ((0.4, 300.0), (0.4, 150.0), (0.15, 150.0), (0.05, 60.0)):
        costs.append(search.solve(aim_of(layout, targets, targets.tails, [missed, minutes]), gap=1e-5).upper)
    assert all(one <= other * (1 + 2e-5) for one, other in itertools.pairwise(costs))


def test_incident_alone_is_known_beforehand() -> None:
    """Each by itself: cheaper in the mean than one list for all, which meets the goals in the mean only."""
    incidents, layout, targets = _streets()
    goals = [0.2, math.inf]
    together = Decomposition(layout.plan, incidents, targets.tails)
    for number in range(len(STREET_PATIENTS)):
        alone = incidents.alone(number)
        one = sampled(STREETS, STREET_PATIENTS[number]).load()
        plan = layout.plan.upper / 2
        assert alone.harms(plan) == pytest.approx(one.harms(plan))
        assert alone.harms(plan)[0] == pytest.approx(incidents.harms(plan)[number])
    # the list for all, with 20 % missed in the mean, is no dearer than one with 20 % missed in each of them
    every = aim_of(layout, targets, [Tail(MISSED, 1e-3)], [0.2])
    dearest = Decomposition(layout.plan, incidents, [Tail(MISSED, 1e-3)]).solve(every, gap=1e-5)
    cheap = together.solve(aim_of(layout, targets, targets.tails, goals), gap=1e-5)
    assert cheap.upper <= dearest.upper + SAME
    for number in range(len(STREET_PATIENTS)):
        known = Decomposition(layout.plan, incidents.alone(number), [Tail(MISSED)])
        assert known.solve(aim_of(layout, targets, [Tail(MISSED)], [0.2]), gap=1e-5).upper <= dearest.upper + SAME


def test_asking_spreads_over_decisions_as_over_units() -> None:
    """The excess falls per pack by what its units are worth; what chooses a station is worth nothing by itself."""
    incidents, layout, targets = _streets()
    plan = np.where(layout.plan.upper > 1, 1.0, 0.5)
    allowed = np.full((len(STREET_PATIENTS), len(targets.harms)), 0.01)
    answers = incidents.ask(plan, allowed)
    assert answers.by_plan.shape == (len(STREET_PATIENTS), len(plan))
    assert not answers.by_plan[:, len(layout.packs) :].any()
    for step in np.eye(len(plan))[: len(layout.packs)]:
        more = incidents.ask(plan + step, allowed)
        assert np.all(more.excess >= answers.excess + answers.by_plan @ step - SAME)
        assert np.all(more.excess <= answers.excess + SAME)
