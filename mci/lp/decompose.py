"""The L-shaped method with a cut per incident, for the programmes of :mod:`mci.lp.two_stage`.

First with divisible decisions, until the incidents have nothing more to say; then whole.  Every answer of an incident
is kept as a cut, also for later aims: what an incident needs does not depend on what is asked of the plan.

Lower bound: the master, which knows less than the truth.  Upper bound: any whole plan whose harms, as the incidents
attain them, meet the goals.

R. M. Van Slyke and R. Wets, *L-shaped linear programs with applications to optimal control and stochastic programming*,
SIAM J. Appl. Math. 17 (1969), 638-663; with a cut per incident: J. R. Birge and F. V. Louveaux, *A multicut algorithm
for two-stage stochastic linear programs*, European J. Oper. Res. 34 (1988), 384-392.  A cut is the one that separates
most in the measure of the excess, as feasibility cuts do; so several kinds of harm need no weights.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from mci.errors import NoPlanError, SolverLimitError
from mci.lp.master import Master, Proposal
from mci.lp.two_stage import Aim, Answers, Plan, Recourse, Tail, tail_means

__all__ = ["Decomposition", "Found"]

Floats = npt.NDArray[np.float64]

#: An excess (a share of the need) that is no excess.
SLACK = 1e-7
#: By how much of itself, or of 1, a goal may be missed by the solver's rounding.
TOLERANCE = 1e-6
#: With divisible decisions it ends when so many rounds together raise the bound by less than a tenth of the gap.
QUIET = 3
#: How far from the safe plan towards the proposal is asked.
OUTWARDS = 0.8


@dataclass(frozen=True, slots=True)
class Found:
    """The best plan that was found.

    Parameters
    ----------
    plan
        The decisions.
    harms
        As the incidents attain them, shape ``(incidents, harms)``.
    upper, lower
        Value of the plan, and what no plan can be below.
    rounds
        How often all incidents were asked.
    proven
        Whether the gap that was asked for was reached.
    """

    plan: Floats
    harms: Floats
    upper: float
    lower: float
    rounds: int
    proven: bool

    @property
    def gap(self) -> float:
        """Relative distance of both bounds."""
        return max(0.0, self.upper - self.lower) / max(1e-9, abs(self.upper))


class Decomposition:
    """A programme in two stages, solved for one aim after the other; nothing learnt is forgotten.

    Parameters
    ----------
    plan
        What can be decided.
    recourse
        The incidents.
    tails
        What aims may limit.
    threads
        Solver threads.
    tell
        Called after each round with lower and upper bound.
    """

    def __init__(
        self,
        plan: Plan,
        recourse: Recourse,
        tails: Sequence[Tail],
        threads: int = 1,
        tell: Callable[[float, float], None] | None = None,
    ) -> None:
        self._plan, self._recourse, self._tails = plan, recourse, tuple(tails)
        self.master = Master(plan, recourse.chances, recourse.least, tails, threads)
        self._tell = tell or (lambda _lower, _upper: None)
        self.rounds = 0

    def solve(self, aim: Aim, *, gap: float = 0.005, time_limit: float = np.inf) -> Found:
        """Find the best plan for an aim.

        Parameters
        ----------
        aim
            What is asked.
        gap
            Relative distance of both bounds at which to stop.
        time_limit
            When to stop at the latest [s].

        Raises
        ------
        NoPlanError
            If no plan keeps to the limits and meets the goals.
        SolverLimitError
            If the time was over before there was one.
        """
        begin, before = time.perf_counter(), self.rounds
        search = _Search(aim, self._mattering(aim), gap, begin + time_limit)
        self.master.take(aim)
        self._divisible(search)
        if self._plan.whole.any():
            self._whole(search)
        if search.best is None:
            raise SolverLimitError(f"the search stopped at its limit of {time_limit:g} s without a plan")
        return replace(search.best, lower=min(search.lower, search.best.upper), rounds=self.rounds - before,
                       proven=search.done)  # fmt: skip

    def meets(self, plan: Floats, at_most: Floats) -> bool:
        """Tell whether a plan can meet goals all at once, whatever it costs and whether or not it keeps to the limits.

        Parameters
        ----------
        plan
            The decisions.
        at_most
            What each tail may be.
        """
        nothing = np.zeros_like(self._plan.lower)
        aim = Aim(nothing, np.zeros_like(self._recourse.least), np.full(len(self._plan.matrix), np.inf), at_most)
        search = _Search(aim, self._mattering(aim), 0.0, np.inf)
        self.master.take(aim)
        self.master.fix(plan)
        try:
            while search.best is None:
                proposal = self.master.solve(whole=False)
                if proposal is None:  # there is no limit of time
                    return False
                answers = self._ask(replace(proposal, plan=plan), search, whole=True)
                if not self.master.learn(plan, proposal.harms, answers, SLACK):
                    return True
        except NoPlanError:
            return False
        finally:
            self.master.free()
        return True

    def _mattering(self, aim: Aim) -> npt.NDArray[np.bool_]:
        """Tell which kinds of harm an aim asks about."""
        matters = aim.losses != 0
        for tail, at_most in zip(self._tails, aim.at_most, strict=True):
            matters[tail.harm] |= np.isfinite(at_most)
        return np.asarray(matters)

    def _divisible(self, search: _Search) -> None:
        """Raise the lower bound with divisible decisions, asking between the master's proposal and a plan that is safe.

        A master that knows little proposes extreme plans, far from one another; between them and a safe point questions
        move less and cut deeper (in-out: W. Ben-Ameur and J. Neto, Acceleration of cutting-plane and column generation
        algorithms, Networks 49 (2007), 3-17).  Where no cut comes of it the proposal itself is asked.
        """
        whole, inner = self._plan.whole.any(), None
        bounds: list[float] = []
        while not search.over:
            proposal = self.master.solve(whole=False, deadline=search.deadline)
            if proposal is None:
                return
            search.raise_to(proposal.bound)
            bounds.append(proposal.bound)
            if whole and len(bounds) > QUIET and bounds[-1] - bounds[-1 - QUIET] < 0.1 * search.gap * abs(bounds[-1]):
                return
            if whole:
                inner = inner or self._safe()
                asked = _between(inner, proposal)
                answers = self._ask(asked, search, whole=False)
                if self.master.learn(asked.plan, asked.harms, answers, SLACK):
                    continue
                inner = asked
            answers = self._ask(proposal, search, whole=not whole)
            if not self.master.learn(proposal.plan, proposal.harms, answers, SLACK) or search.done:
                return

    def _safe(self) -> Proposal:
        """Return the largest plan, with the harms that it leaves."""
        plan = self._plan.upper
        nothing = np.zeros((len(self._recourse.chances), len(self._recourse.least)))
        attained = self._recourse.ask(plan, nothing).attained
        return Proposal(plan, attained, 0.0, 0.0)

    def _whole(self, search: _Search) -> None:
        while not search.over and not search.done:
            proposal = self.master.solve(whole=True, gap=0.5 * search.gap, deadline=search.deadline)
            if proposal is None:
                return
            search.raise_to(proposal.bound)
            if not self._settle(proposal, search):
                return

    def _settle(self, proposal: Proposal, search: _Search) -> bool:
        """Ask about one whole plan until it is known to meet the goals or not; tell whether anything was learnt.

        With the plan fixed the master is a small linear programme, far cheaper than another search for whole numbers.
        """
        learnt = 0
        self.master.fix(proposal.plan)
        try:
            while not search.over:
                answers = self._ask(proposal, search, whole=True)
                new = self.master.learn(proposal.plan, proposal.harms, answers, SLACK)
                learnt += new
                if not new or search.done or search.is_best(proposal.plan):
                    break
                again = self.master.solve(whole=False, deadline=search.deadline)
                if again is None or again.value >= search.upper:
                    break
                proposal = again
        except NoPlanError:
            pass  # this plan cannot meet the goals
        finally:
            self.master.free()
        return learnt > 0

    def _ask(self, proposal: Proposal, search: _Search, *, whole: bool) -> Answers:
        answers = self._recourse.ask(proposal.plan, np.where(search.matters, proposal.harms, np.inf))
        self.rounds += 1
        if whole:
            # what is no excess is kept to: what is attained differs from it by rounding only
            kept = (answers.excess <= SLACK)[:, None]
            harms = np.where(kept, np.minimum(answers.attained, proposal.harms), answers.attained)
            search.consider(proposal.plan, harms, self._recourse.chances, self._tails)
        self._tell(search.lower, search.upper)
        return answers


def _between(inner: Proposal, outer: Proposal) -> Proposal:
    plan = inner.plan + OUTWARDS * (outer.plan - inner.plan)
    return Proposal(plan, inner.harms + OUTWARDS * (outer.harms - inner.harms), outer.value, outer.bound)


class _Search:
    """Bounds of one search, and the best plan so far."""

    def __init__(self, aim: Aim, matters: npt.NDArray[np.bool_], gap: float, deadline: float) -> None:
        self.aim, self.matters, self.gap, self.deadline = aim, matters, gap, deadline
        self.lower = -np.inf
        self.best: Found | None = None

    @property
    def upper(self) -> float:
        return np.inf if self.best is None else self.best.upper

    @property
    def over(self) -> bool:
        return time.perf_counter() >= self.deadline

    @property
    def done(self) -> bool:
        return self.best is not None and self.upper - self.lower <= self.gap * max(1e-9, abs(self.upper))

    def is_best(self, plan: Floats) -> bool:
        return self.best is not None and bool(np.array_equal(plan, self.best.plan))

    def raise_to(self, bound: float) -> None:
        self.lower = max(self.lower, bound)

    def consider(self, plan: Floats, harms: Floats, chances: Floats, tails: Sequence[Tail]) -> None:
        """Take a plan that meets the goals if it is better than the best so far."""
        at_most = self.aim.at_most
        if np.any(tail_means(harms, chances, tails) > at_most + TOLERANCE * np.maximum(1.0, np.abs(at_most))):
            return
        value = float(self.aim.costs @ plan + chances @ harms @ self.aim.losses) + self.aim.offset
        if value < self.upper:
            self.best = Found(plan, harms, value, self.lower, 0, proven=False)
