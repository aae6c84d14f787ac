"""The master: what is proposed on what is known, and what cuts, aims and limits do to it."""

from __future__ import annotations

import dataclasses
import math
import time

import numpy as np
import numpy.typing as npt
import pytest
from two_stages import bounded

from mci.errors import NoPlanError
from mci.lp.master import Master, Proposal
from mci.lp.two_stage import Aim, Answers, Plan, Tail

Floats = npt.NDArray[np.float64]

#: Two decisions up to 10, at most 12 together; two incidents, three quarters of the chance on the first.
PLAN = bounded([10.0, 10.0], whole=True, most=12)
CHANCES = np.array([0.75, 0.25])
TAILS = (Tail(0), Tail(0, 0.25), Tail(1))
FREE = [math.inf] * 3
EVER = math.inf


def _master(plan: Plan = PLAN) -> Master:
    return Master(plan, CHANCES, np.array([0.0, 2.0]), TAILS)


def _aim(
    costs: tuple[float, float] = (2.0, 3.0),
    losses: tuple[float, float] = (0.0, 0.0),
    most: float = 12.0,
    at_most: list[float] | None = None,
    offset: float = 0.0,
) -> Aim:
    return Aim(np.array(costs), np.array(losses), np.array([most]), np.array(at_most or FREE), offset)


def _needs(first: float, second: float) -> Answers:
    """Return cuts at the empty plan: the first kind of harm of each incident is its need less 2 a + b."""
    excess = np.array([first, second])
    by_plan = np.tile([-2.0, -1.0], (2, 1))
    return Answers(excess, np.zeros((2, 2)), by_plan, np.tile([1.0, 0.0], (2, 1)))


def _learnt(first: float = 9.0, second: float = 17.0, plan: Plan = PLAN) -> Master:
    master = _master(plan)
    assert master.learn(np.zeros(2), np.zeros((2, 2)), _needs(first, second), 0.0) == 2
    return master


def _solve(master: Master, aim: Aim, *, whole: bool = True) -> Proposal:
    master.take(aim)
    found = master.solve(whole=whole)
    assert found is not None
    assert found.bound <= found.value + 1e-9
    return found


def test_nothing_known_costs_nothing() -> None:
    """No harm is more than the least that it can be."""
    found = _solve(_master(), _aim(losses=(1.0, 1.0), offset=5.0))
    assert found.plan.tolist() == [0, 0]
    assert found.harms.tolist() == [[0, 2], [0, 2]]
    assert found.value == pytest.approx(5 + 2)


@pytest.mark.parametrize(
    ("at_most", "whole", "plan", "value"),
    [
        ([3.0, EVER, EVER], False, [4, 0], 8),  # 9 - 8 and 17 - 8: a mean of 3
        ([0.0, EVER, EVER], False, [8.5, 0], 17),
        ([0.0, EVER, EVER], True, [9, 0], 18),
        ([EVER, 2.0, EVER], False, [7.5, 0], 15),
        ([EVER, 2.0, EVER], True, [8, 0], 16),
        ([3.0, 2.0, 2.0], True, [8, 0], 16),
    ],
)
def test_goals_in_the_mean_and_in_the_worst(
    at_most: list[float], plan: list[float], value: float, *, whole: bool
) -> None:
    """The worst quarter is the second incident."""
    found = _solve(_learnt(), _aim(at_most=at_most), whole=whole)
    assert found.plan == pytest.approx(plan, abs=1e-6)
    assert found.value == found.bound == pytest.approx(value)


def test_losses_count_by_chance() -> None:
    """One more of the first saves 2 in both incidents, as long as both are harmed by as much, and costs 2."""
    master = _learnt()
    found = _solve(master, _aim(losses=(1.5, 0.0)))
    assert found.plan.tolist() == [4, 0]
    assert found.harms[:, 0] == pytest.approx([1, 9])
    assert found.value == pytest.approx(8 + 1.5 * (0.75 * 1 + 0.25 * 9))
    assert _solve(master, _aim(losses=(0.9, 0.0))).plan.tolist() == [0, 0]


def test_aims_follow_each_other() -> None:
    """Of an earlier aim nothing is left; what was learnt stays."""
    master = _learnt()
    values = [
        _solve(master, aim).value
        for aim in (
            _aim(at_most=[0.0, EVER, EVER]),
            _aim(offset=-3.0),
            _aim(at_most=[EVER, 2.0, EVER], most=8.0),
            _aim(at_most=[0.0, EVER, EVER]),
        )
    ]
    assert values == pytest.approx([18, -3, 16, 18])


def test_only_what_is_an_excess_is_learnt() -> None:
    """No cut for an incident that keeps to what is allowed, and none twice over from nothing."""
    master = _master()
    answers = _needs(-1.0, 1e-9)
    assert master.learn(np.zeros(2), np.zeros((2, 2)), answers, 1e-7) == 0
    assert master.learn(np.zeros(2), np.zeros((2, 2)), _needs(-1.0, 4.0), 1e-7) == 1
    assert master.cuts == 1
    assert _solve(master, _aim(at_most=[0.0, EVER, EVER])).plan.tolist() == [2, 0]


def test_cut_goes_through_the_point_where_it_was_learnt() -> None:
    """Learnt elsewhere it is the same half-space; what does not matter may be allowed without end."""
    master = _master()
    plan, allowed = np.array([1.0, 2.0]), np.array([[1.0, math.inf], [3.0, math.inf]])
    shifted = dataclasses.replace(_needs(9.0, 17.0), excess=np.array([9.0, 17.0]) - 4.0 - np.array([1.0, 3.0]))
    assert master.learn(plan, allowed, shifted, 0.0) == 2
    assert _solve(master, _aim(at_most=[0.0, EVER, EVER])).value == pytest.approx(18)


def test_one_plan_alone() -> None:
    """Fixed, its harms are told or it is refused; freed, others are allowed again."""
    master = _learnt()
    master.fix(np.array([3.0, 1.0]))
    found = _solve(master, _aim(losses=(1.0, 0.0)), whole=False)
    assert found.plan.tolist() == [3, 1]
    assert found.harms[:, 0] == pytest.approx([2, 10])
    master.take(_aim(at_most=[0.0, EVER, EVER]))
    with pytest.raises(NoPlanError):
        master.solve(whole=False)
    master.free()
    assert _solve(master, _aim(at_most=[0.0, EVER, EVER])).plan.tolist() == [9, 0]


@pytest.mark.parametrize("whole", [True, False])
@pytest.mark.parametrize(
    "aim", [_aim(at_most=[0.0, EVER, EVER], most=4), _aim(at_most=[EVER, EVER, 1.9]), _aim(most=-1)]
)
def test_what_no_plan_meets_is_told(aim: Aim, *, whole: bool) -> None:
    """Too little may be bought, a goal is below the least of its harm, or no plan is within the limit."""
    master = _learnt()
    master.take(aim)
    with pytest.raises(NoPlanError, match="the limits leave no plan that meets the goals"):
        master.solve(whole=whole)
    assert _solve(master, _aim()).value == pytest.approx(0)


def test_limit_without_coefficients_has_no_row() -> None:
    """It says yes or no; limits and goals after it are what they are."""
    plan = dataclasses.replace(PLAN, matrix=np.array([[0.0, 0.0], [1.0, 1.0], [0.0, 0.0]]))
    master = _learnt(plan=plan)
    aim = dataclasses.replace(_aim(at_most=[0.0, EVER, EVER]), limits=np.array([1.0, 12.0, 0.0]))
    assert _solve(master, aim).plan.tolist() == [9, 0]
    for limits in ([-1.0, 12.0, 0.0], [1.0, 12.0, -0.5], [1.0, 8.0, 0.0]):
        master.take(dataclasses.replace(aim, limits=np.array(limits)))
        with pytest.raises(NoPlanError):
            master.solve(whole=True)


def test_no_time_is_no_proposal() -> None:
    """Nor is it said that there is no plan."""
    master = _learnt()
    master.take(_aim(at_most=[0.0, EVER, EVER]))
    assert master.solve(whole=True, deadline=time.perf_counter()) is None
    assert master.solve(whole=True, deadline=time.perf_counter() + 60) is not None


def test_some_decisions_may_be_divisible() -> None:
    """Only those that must be are whole."""
    plan = dataclasses.replace(PLAN, whole=np.array([True, False]))
    found = _solve(_learnt(plan=plan), _aim(costs=(2.0, 0.9), at_most=[0.4, EVER, EVER]))
    assert found.plan[0] == round(found.plan[0])
    assert CHANCES @ np.maximum(0, [9, 17] - found.plan @ [2.0, 1.0]) <= 0.4 + 1e-6
    assert found.plan[1] != round(found.plan[1])
