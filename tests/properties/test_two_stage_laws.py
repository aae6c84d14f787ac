"""Random small programmes in two stages: cuts against the whole of it written row by row and solved by GLPK."""

from __future__ import annotations

import dataclasses
import itertools
import math
from collections.abc import Hashable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pytest
from common import repeatable
from glpk import Glpk
from hypothesis import given
from hypothesis import strategies as st
from two_stages import Linear, LinearIncident, bounded

from mci.errors import NoPlanError
from mci.lp.decompose import Decomposition, Found
from mci.lp.two_stage import Aim, Plan, Tail, tail_means

Floats = npt.NDArray[np.float64]

SAME = 1e-6
#: Both kinds of harm in the mean of all incidents and of the worst.
TAILS = (Tail(0), Tail(1), Tail(0, 0.3), Tail(1, 0.5), Tail(1, 0.05))


@dataclass(frozen=True)
class Programme:
    """Two kinds of need that share what is bought, in a few incidents; more money, less harm."""

    plan: Plan
    recourse: Linear
    costs: Floats


def _integers(low: int, high: int, size: int) -> st.SearchStrategy[Floats]:
    return st.lists(st.integers(low, high), min_size=size, max_size=size).map(lambda each: np.array(each, dtype=float))


@st.composite
def programmes(draw: st.DrawFn, *, whole: bool | None = None) -> Programme:
    """Draw two or three things to buy, some whole; needs of two kinds that differ by incident; ways to serve them."""
    things, count = draw(st.integers(2, 3)), draw(st.integers(1, 4))
    upper = draw(_integers(1, 5, things))
    kinds = np.array([draw(st.booleans()) if whole is None else whole for _ in range(things)])
    plan = dataclasses.replace(bounded(upper.tolist(), most=0), whole=kinds, matrix=draw(_integers(1, 6, things))[None])
    incidents = []
    for _ in range(count):
        # a way uses things and serves both needs
        ways = draw(st.integers(2, 4))
        uses = np.array([draw(_integers(0, 3, ways)) for _ in range(things)])
        serves = np.array([draw(_integers(0, 4, ways)) for _ in range(2)])
        need = draw(_integers(0, 20, 2))
        spent = np.vstack([uses, serves])  # no more is used than there is, none is served beyond the need
        limits = np.concatenate([draw(_integers(0, 1, things)), need])
        by_plan = np.vstack([np.diag(draw(_integers(0, 3, things))), np.zeros((2, things))])
        incidents.append(LinearIncident(spent, limits, by_plan, -serves, need, draw(_integers(2, 9, ways))))
    parts = draw(_integers(1, 3, count))
    recourse = Linear(incidents, (parts / parts.sum()).tolist(), [0.0, 0.0])
    return Programme(plan, recourse, plan.matrix[0] + draw(_integers(0, 2, things)))


def _write_incident(glpk: Glpk, s: int, incident: LinearIncident) -> None:
    """Write what one incident can make of the plan, and the harm that is left."""
    for row, limit in enumerate(incident.rhs):
        terms: dict[Hashable, float] = {("x", s, c): value for c, value in enumerate(incident.matrix[row])}
        glpk.row(terms | {("y", n): -value for n, value in enumerate(incident.by_plan[row])}, high=limit)
    for column, upper in enumerate(incident.upper):
        glpk.row({("x", s, column): 1.0}, high=upper)
    for m, base in enumerate(incident.base):
        harmed: dict[Hashable, float] = {("x", s, c): value for c, value in enumerate(incident.harms[m])}
        glpk.row(harmed | {("h", s, m): -1.0}, high=-base)


def _optimum(programme: Programme, aim: Aim) -> float:
    """Return the optimum of all incidents in one programme; ``inf`` where there is none."""
    glpk, plan, chances = Glpk(), programme.plan, programme.recourse.chances
    for n, (low, high) in enumerate(zip(plan.lower, plan.upper, strict=True)):
        glpk.row({("y", n): 1.0}, low=low, high=high)
    for values, limit in zip(plan.matrix, aim.limits, strict=True):
        glpk.row({("y", n): value for n, value in enumerate(values)}, high=limit)
    for s, incident in enumerate(programme.recourse.incidents):
        _write_incident(glpk, s, incident)
    for t, (tail, at_most) in enumerate(zip(TAILS, aim.at_most, strict=True)):
        if math.isinf(at_most):
            continue
        glpk.row({("eta", t): 1.0} | {("over", t, s): p / tail.worst for s, p in enumerate(chances)}, high=at_most)
        for s in range(len(chances)):
            glpk.row({("h", s, tail.harm): 1.0, ("eta", t): -1.0, ("over", t, s): -1.0}, high=0.0)
    earns: dict[Hashable, float] = {("y", n): -cost for n, cost in enumerate(aim.costs)}
    earns |= {("h", s, m): -p * loss for s, p in enumerate(chances) for m, loss in enumerate(aim.losses)}
    whole = [("y", n) for n in np.flatnonzero(plan.whole)]
    try:
        return -glpk.maximise(earns, whole) + aim.offset
    except AssertionError:
        return math.inf


def _check(programme: Programme, search: Decomposition, aim: Aim) -> Found | None:
    """Solve for an aim and hold bounds, limits, goals and value to the optimum."""
    best = _optimum(programme, aim)
    if math.isinf(best):
        with pytest.raises(NoPlanError):
            search.solve(aim, gap=1e-7)
        return None
    found = search.solve(aim, gap=1e-7)
    plan = programme.plan
    scale = max(1.0, abs(best))
    assert found.lower - SAME * scale <= best <= found.upper + SAME * scale
    assert found.upper == pytest.approx(best, abs=SAME * scale)
    assert found.proven
    assert np.all((found.plan >= plan.lower - SAME) & (found.plan <= plan.upper + SAME))
    assert np.all(plan.matrix @ found.plan <= aim.limits + SAME)
    assert found.plan[plan.whole].tolist() == np.rint(found.plan[plan.whole]).tolist()
    assert np.all(tail_means(found.harms, programme.recourse.chances, TAILS) <= aim.at_most + SAME * 20)
    value = aim.costs @ found.plan + programme.recourse.chances @ found.harms @ aim.losses + aim.offset
    assert value == pytest.approx(found.upper, abs=SAME * scale)
    return found


GOALS = st.lists(
    st.sampled_from([math.inf, math.inf, 0.0, 1.0, 3.0, 6.5, 10.0]), min_size=len(TAILS), max_size=len(TAILS)
)


@st.composite
def aims(draw: st.DrawFn, programme: Programme) -> Aim:
    """Draw goals in mean and tail of both kinds of harm, losses beside them or not, and a budget."""
    at_most = np.array(draw(GOALS))
    losses = draw(st.sampled_from([[0.0, 0.0], [1.0, 0.0], [3.0, 1.0]]))
    if np.isinf(at_most).all() and not any(losses):
        losses = [0.0, 1.0]
    costs = draw(st.sampled_from([programme.costs, np.zeros_like(programme.costs)]))
    budget = draw(st.sampled_from([8.0, 15.0, math.inf]))
    return Aim(costs, np.array(losses), np.array([budget]), at_most, draw(st.sampled_from([0.0, -25.0, 100.0])))


@given(programmes(), st.data())
@repeatable(90)
def test_cuts_find_the_optimum(programme: Programme, data: st.DataObject) -> None:
    """Of one aim after the other, with all that was learnt for those before; its bounds are bounds."""
    search = Decomposition(programme.plan, programme.recourse, TAILS)
    for _ in range(2):
        _check(programme, search, data.draw(aims(programme)))


@given(programmes(whole=True), st.data())
@repeatable(25)
def test_tighter_goals_and_budgets_never_help(programme: Programme, data: st.DataObject) -> None:
    """A tighter goal costs no less; more money leaves no more harm."""
    search = Decomposition(programme.plan, programme.recourse, TAILS)

    def value(aim: Aim) -> float:
        try:
            return search.solve(aim, gap=1e-7).upper
        except NoPlanError:
            return math.inf

    goals = np.array(data.draw(GOALS))
    nothing, free = np.zeros(2), np.array([math.inf])
    if np.isfinite(goals).any():
        cheapest = [value(Aim(programme.costs, nothing, free, share * goals)) for share in (1.5, 1.0, 0.5)]
        assert all(one <= other + SAME for one, other in itertools.pairwise(cheapest))
    losses, none = np.array([2.0, 1.0]), np.full(len(TAILS), math.inf)
    harms = [value(Aim(np.zeros_like(programme.costs), losses, np.array([m]), none)) for m in (4.0, 9.0, math.inf)]
    assert harms == sorted(harms, reverse=True) or np.all(np.diff(harms) <= SAME)


@given(programmes(), st.data())
@repeatable(40)
def test_cuts_hold_wherever_they_were_learnt(programme: Programme, data: st.DataObject) -> None:
    """A plane learnt at one point never excludes harms that another plan, divisible or not, attains."""
    recourse, upper = programme.recourse, programme.plan.upper
    count = len(recourse.chances)
    plans = [upper * np.array(data.draw(_integers(0, 8, len(upper)))) / 8 for _ in range(2)]
    allowed = [np.array([data.draw(_integers(0, 12, 2)) for _ in range(count)]) for _ in range(2)]
    learnt = recourse.ask(plans[0], allowed[0])
    there = recourse.ask(plans[1], allowed[1])
    plane = (
        learnt.excess
        + learnt.by_plan @ (plans[1] - plans[0])
        - np.sum(learnt.by_harm * (there.attained - allowed[0]), axis=1)
    )
    assert np.all(plane <= SAME)
    assert np.all(recourse.ask(plans[1], there.attained).excess <= SAME)


@given(programmes(whole=True), st.data())
@repeatable(30)
def test_incident_that_every_plan_covers_changes_nothing(programme: Programme, data: st.DataObject) -> None:
    """Half of all chance goes to an incident without need: means are halved, worst shares are twice as rare.

    So goals of half as much in the mean, and of as much in half the share, have the same cheapest plan.
    """
    old = programme.recourse
    blank = dataclasses.replace(old.incidents[0], base=np.zeros(2), harms=np.zeros_like(old.incidents[0].harms))
    new = Linear([*old.incidents, blank], [*(0.5 * old.chances), 0.5], [0.0, 0.0])
    means = [tail.worst == 1 for tail in TAILS]
    halved = tuple(Tail(tail.harm, 1.0 if mean else tail.worst / 2) for tail, mean in zip(TAILS, means, strict=True))
    goals = np.array(data.draw(GOALS.filter(lambda each: np.isfinite(each).any())))
    values = []
    for recourse, tails, at_most in ((old, TAILS, goals), (new, halved, np.where(means, goals / 2, goals))):
        search = Decomposition(programme.plan, recourse, tails)
        try:
            values.append(
                search.solve(Aim(programme.costs, np.zeros(2), np.array([math.inf]), at_most), gap=1e-7).upper
            )
        except NoPlanError:
            values.append(math.inf)
    assert values[0] == pytest.approx(values[1], abs=SAME)


@given(programmes(whole=True), st.data())
@repeatable(40)
def test_plan_meets_goals_or_it_does_not(programme: Programme, data: st.DataObject) -> None:
    """All at once, whatever it costs; asked between other questions, and as GLPK has it with that plan alone."""
    search = Decomposition(programme.plan, programme.recourse, TAILS)
    goals = np.array(data.draw(GOALS.filter(lambda each: np.isfinite(each).any())))
    free, nothing = np.array([math.inf]), np.zeros(2)
    for _ in range(2):
        sizes = [st.integers(0, int(most)) for most in programme.plan.upper]
        sown = np.array(data.draw(st.tuples(*sizes)), dtype=float)
        alone = dataclasses.replace(programme, plan=dataclasses.replace(programme.plan, lower=sown, upper=sown))
        met = math.isfinite(_optimum(alone, Aim(programme.costs, nothing, free, goals)))
        assert search.meets(sown, goals) == met
        _check(programme, search, data.draw(aims(programme)))
