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
#: With divisible decisions the search ends when so many rounds together raise the bound by less than a tenth of the gap.
QUIET = 3


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
        search = _Search(aim, gap, begin + time_limit)
        self.master.take(aim)
        self._divisible(search)
        if self._plan.whole.any():
            self._whole(search)
        if search.best is None:
            raise SolverLimitError(f"the search stopped at its limit of {time_limit:g} s without a plan")
        return replace(search.best, lower=min(search.lower, search.best.upper), rounds=self.rounds - before,
                       proven=search.done)  # fmt: skip

    def judge(self, plan: Floats, aim: Aim) -> Found | None:
        """Say what a given plan attains at best for an aim; ``None`` where it cannot meet the goals.

        The lower bound is that of this plan.
        """
        fixed = Decomposition(replace(self._plan, lower=plan, upper=plan), self._recourse, self._tails)
        free = replace(aim, costs=np.zeros_like(aim.costs), limits=np.full_like(aim.limits, np.inf))
        try:
            found = fixed.solve(free, gap=1e-6)
        except NoPlanError:
            return None
        finally:
            self.rounds += fixed.rounds
        paid = float(aim.costs @ plan)
        return replace(found, upper=found.upper + paid, lower=found.lower + paid)

    def _divisible(self, search: _Search) -> None:
        bounds: list[float] = []
        while not search.over:
            proposal = self.master.solve(whole=False, deadline=search.deadline)
            if proposal is None:
                return
            search.raise_to(proposal.bound)
            answers = self._ask(proposal, search, whole=not self._plan.whole.any())
            bounds.append(proposal.bound)
            little = 0.1 * search.gap * max(1.0, abs(proposal.bound))
            quiet = self._plan.whole.any() and len(bounds) > QUIET and bounds[-1] - bounds[-1 - QUIET] < little
            if quiet or not self.master.learn(proposal.plan, proposal.harms, answers, SLACK) or search.done:
                return

    def _whole(self, search: _Search) -> None:
        while not search.over and not search.done:
            proposal = self.master.solve(whole=True, gap=0.2 * search.gap, deadline=search.deadline)
            if proposal is None:
                return
            search.raise_to(proposal.bound)
            answers = self._ask(proposal, search, whole=True)
            if not self.master.learn(proposal.plan, proposal.harms, answers, SLACK):
                return

    def _ask(self, proposal: Proposal, search: _Search, *, whole: bool) -> Answers:
        answers = self._recourse.ask(proposal.plan, proposal.harms)
        self.rounds += 1
        if whole:
            search.consider(proposal.plan, answers.attained, self._recourse.chances, self._tails)
        self._tell(search.lower, search.upper)
        return answers


class _Search:
    """Bounds of one search, and the best plan so far."""

    def __init__(self, aim: Aim, gap: float, deadline: float) -> None:
        self.aim, self.gap, self.deadline = aim, gap, deadline
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

    def raise_to(self, bound: float) -> None:
        self.lower = max(self.lower, bound)

    def consider(self, plan: Floats, harms: Floats, chances: Floats, tails: Sequence[Tail]) -> None:
        """Take a plan that meets the goals if it is better than the best so far."""
        at_most = self.aim.at_most
        if np.any(tail_means(harms, chances, tails) > at_most + TOLERANCE * np.maximum(1.0, np.abs(at_most))):
            return
        value = float(self.aim.costs @ plan + chances @ harms @ self.aim.losses)
        if value < self.upper:
            self.best = Found(plan, harms, value, self.lower, 0, proven=False)
