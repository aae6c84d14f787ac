"""Programmes in two stages, solved by cuts: published optima, closed forms, and laws of the search."""

from __future__ import annotations

import dataclasses
import itertools
import math

import numpy as np
import numpy.typing as npt
import pytest
from two_stages import YEARS, YIELDS, Linear, bounded, farmer, newsvendor

from mci.errors import NoPlanError, SolverLimitError
from mci.lp.decompose import Decomposition, Found
from mci.lp.two_stage import Aim, Plan, Tail, tail_mean

Floats = npt.NDArray[np.float64]

NOTHING = np.zeros(0)
#: What an acre of wheat, corn and sugar beet costs to plant; there are 500.
PLANTING = np.array([150.0, 230.0, 260.0])


def _solve(plan: Plan, recourse: Linear, aim: Aim, *tails: Tail, gap: float = 1e-9) -> Found:
    found = Decomposition(plan, recourse, tails).solve(aim, gap=gap)
    assert found.lower <= found.upper
    assert found.proven
    return found


def _farm(years: tuple[float, ...] = YEARS, sown: tuple[float, ...] | None = None) -> Found:
    """Solve the farmer's problem, where all is sown as given or as is best."""
    plan = bounded([500.0] * 3, most=500)
    if sown is not None:
        plan = dataclasses.replace(plan, lower=np.array(sown), upper=np.array(sown))
    return _solve(plan, farmer(years), Aim(PLANTING, np.ones(1), np.array([500.0]), NOTHING))


def test_farmer() -> None:
    """Published: 108 390 $, with 170 acres of wheat, 80 of corn and 250 of sugar beet."""
    found = _farm()
    assert found.upper == pytest.approx(-108_390, abs=0.5)
    assert found.plan == pytest.approx([170, 80, 250])
    assert -found.harms[:, 0] - PLANTING @ found.plan == pytest.approx([167_000, 109_350, 48_820])


def test_value_of_the_stochastic_solution() -> None:
    """Published: the plan for the average year is 120, 80 and 300 acres and 118 600 $, but earns 107 240; 1150 less."""
    average = _farm((1.0,))
    assert average.plan == pytest.approx([120, 80, 300])
    assert average.upper == pytest.approx(-118_600)
    kept = _farm(sown=tuple(average.plan))
    assert kept.upper == pytest.approx(-107_240)
    assert kept.upper - _farm().upper == pytest.approx(1150, abs=0.5)


def test_value_of_perfect_information() -> None:
    """Published: 167 667, 118 600 and 59 950 $ if the year is known beforehand; 7016 more than without."""
    known = [-_farm((year,)).upper for year in YEARS]
    assert known == pytest.approx([167_667, 118_600, 59_950], abs=0.5)
    assert np.mean(known) + _farm().upper == pytest.approx(7016, abs=0.5)


def _earned(acres: Floats) -> Floats:
    """Return by arithmetic what the farmer earns in each year."""
    found = []
    for year in YEARS:
        wheat, corn, beet = YIELDS * year * acres
        feed = sum(
            (crop - need) * (sold if crop > need else bought)
            for crop, need, sold, bought in ((wheat, 200, 170, 238), (corn, 240, 150, 210))
        )
        found.append(feed + 36 * min(beet, 6000) + 10 * max(0.0, beet - 6000) - PLANTING @ acres)
    return np.array(found)


@pytest.mark.parametrize("acres", [100, 50, 20])
@pytest.mark.parametrize("bad_year", [None, 40_000.0, 52_000.0])
def test_farmer_with_whole_fields(acres: int, bad_year: float | None) -> None:
    """The best of all ways to sow whole fields, also where the worst year must earn so much, planting apart."""
    fields = 500 // acres
    sowings = [np.array(each) for each in itertools.product(range(fields + 1), repeat=3) if sum(each) <= fields]
    earned = {tuple(each): _earned(acres * each) for each in sowings}
    possible = {
        sowing: money.mean()
        for sowing, money in earned.items()
        if bad_year is None or money.min() + acres * PLANTING @ np.array(sowing) >= 100_000 + bad_year
    }
    aim = Aim(
        acres * PLANTING,
        np.ones(1),
        np.array([float(fields)]),
        np.array([math.inf if bad_year is None else -100_000 - bad_year]),
    )
    plan = bounded([float(fields)] * 3, whole=True, most=fields)
    found = _solve(plan, farmer(acres=acres), aim, Tail(0, 0.2))
    assert found.upper == pytest.approx(-max(possible.values()))
    assert -possible[tuple(int(each) for each in found.plan)] == pytest.approx(found.upper)


DEMANDS, CHANCES = (3.0, 5.0, 8.0, 12.0, 20.0), (0.1, 0.25, 0.3, 0.2, 0.15)
PRICE, SALVAGE = 10.0, 1.0


@pytest.mark.parametrize("whole", [True, False])
@pytest.mark.parametrize("cost", [1.5, 3.0, 5.0, 6.5, 9.5])
def test_newsvendor(cost: float, *, whole: bool) -> None:
    """The best order is the critical fractile, the least with ``P(D <= y) >= (price - cost) / (price - salvage)``."""
    found = _solve(
        bounded([30.0], whole=whole),
        newsvendor(DEMANDS, CHANCES, PRICE, SALVAGE),
        Aim(np.array([cost]), np.array([1.0, 0.0]), NOTHING, NOTHING),
    )
    fractile = (PRICE - cost) / (PRICE - SALVAGE)
    assert found.plan[0] == pytest.approx(DEMANDS[int(np.argmax(np.cumsum(CHANCES) >= fractile))])


def _short(order: float, worst: float) -> float:
    return tail_mean(np.maximum(0.0, np.array(DEMANDS) - order), np.array(CHANCES), worst)


@pytest.mark.parametrize("worst", [1.0, 0.5, 0.35, 0.15, 0.05])
@pytest.mark.parametrize("allowed", [0.0, 0.5, 2.0, 4.5])
def test_cheapest_order_that_meets_a_goal_for_shortages(worst: float, allowed: float) -> None:
    """The least whole order whose worst shortages are few enough; divisible, no more than that and just enough."""
    recourse = newsvendor(DEMANDS, CHANCES, PRICE, SALVAGE)
    aim = Aim(np.array([2.0]), np.zeros(2), NOTHING, np.array([allowed]))
    whole = _solve(bounded([30.0], whole=True), recourse, aim, Tail(1, worst))
    assert whole.plan[0] == next(y for y in range(31) if _short(y, worst) <= allowed + 1e-9)
    assert whole.upper == pytest.approx(2 * whole.plan[0])
    divisible = _solve(bounded([30.0]), recourse, aim, Tail(1, worst))
    assert whole.plan[0] - 1 < divisible.plan[0] <= whole.plan[0] + 1e-6
    assert _short(float(divisible.plan[0]), worst) == pytest.approx(allowed, abs=1e-6)


def test_shortage_of_the_worst_has_a_closed_form() -> None:
    """As long as all of the worst days fall short, the order is the tail mean of demand less what is allowed."""
    recourse = newsvendor(DEMANDS, CHANCES, PRICE, SALVAGE)
    mean = (0.15 * 20 + 0.2 * 12) / 0.35
    aim = Aim(np.ones(1), np.zeros(2), NOTHING, np.array([5.0]))
    assert _solve(bounded([30.0]), recourse, aim, Tail(1, 0.35)).plan[0] == pytest.approx(mean - 5.0)


def test_all_aims_are_answered_by_one_search() -> None:
    """Nothing learnt for one aim is wrong for another, and an aim that nobody can meet is no end."""
    recourse = newsvendor(DEMANDS, CHANCES, PRICE, SALVAGE)
    plan, tails = bounded([30.0], whole=True, most=30), (Tail(1, 0.35), Tail(1), Tail(0))
    search = Decomposition(plan, recourse, tails)
    aims = [
        Aim(np.array([cost]), np.array([loss, 0.0]), np.array([most]), np.array(at_most), offset)
        for cost, loss, most, at_most, offset in (
            (5.0, 1.0, 30.0, [math.inf] * 3, 0.0),
            (2.0, 0.0, 30.0, [3.0, math.inf, math.inf], 7.0),
            (2.0, 0.0, 12.0, [3.0, math.inf, math.inf], 0.0),
            (2.0, 0.0, 30.0, [math.inf, 0.5, math.inf], -40.0),
            (0.0, 1.0, 6.0, [math.inf] * 3, 0.0),
            (3.0, 0.0, 30.0, [9.0, 4.0, -60.0], 0.0),
            (5.0, 1.0, 30.0, [math.inf] * 3, 0.0),
        )
    ]
    values = []
    for aim in aims:
        try:
            found = search.solve(aim, gap=1e-9)
        except NoPlanError:
            values.append(math.inf)
            with pytest.raises(NoPlanError):
                _solve(plan, recourse, aim, *tails)
            continue
        values.append(found.upper)
        assert found.proven
        assert found.upper == pytest.approx(_solve(plan, recourse, aim, *tails).upper, abs=1e-6)
    assert values[0] == values[-1]
    assert [math.isinf(value) for value in values] == [False, False, True, False, False, False, False]


@pytest.mark.parametrize("worst", [1.0, 0.35])
@pytest.mark.parametrize("order", [0, 4, 9, 12, 20])
def test_goal_that_is_just_met_is_met(order: int, worst: float) -> None:
    """A goal of exactly what an order leaves is met by that order, not by one more."""
    recourse = newsvendor(DEMANDS, CHANCES, PRICE, SALVAGE)
    aim = Aim(np.ones(1), np.zeros(2), NOTHING, np.array([_short(order, worst)]))
    assert _solve(bounded([30.0], whole=True), recourse, aim, Tail(1, worst)).plan[0] == order


@pytest.mark.parametrize("beyond", [1e-9, 1e-8, 1e-7, 3e-7, 1e-6, 3e-6, 1e-5])
@pytest.mark.parametrize("scale", [1.0, 1e4])
def test_goal_that_is_missed_by_rounding_ends(beyond: float, scale: float) -> None:
    """Whether it counts as met or not: the search ends with the order, or with one more."""
    recourse = newsvendor([scale * each for each in DEMANDS], CHANCES, PRICE, SALVAGE)
    left = scale * _short(9, 0.35)
    aim = Aim(np.ones(1), np.zeros(2), NOTHING, np.array([left - beyond * scale]))
    plan = bounded([30.0 * scale], whole=True)
    found = Decomposition(plan, recourse, [Tail(1, 0.35)]).solve(aim, gap=1e-9, time_limit=20)
    assert found.proven
    assert scale * 9 - 1e-6 <= found.plan[0] <= scale * 9 + max(1.0, 2 * beyond * scale)


@pytest.mark.parametrize("worst", [1.0, 0.35])
@pytest.mark.parametrize("share", [1e-9, 1e-8, 7e-8, 1.5e-7, 7e-7, 1.3e-6])
def test_goal_of_nothing_that_rounding_misses_ends(share: float, worst: float) -> None:
    """A shortage of less than a millionth of a large demand: no goal of none is proposed for ever, or given up."""
    large = 2e5
    recourse = newsvendor([large, large / 2, large * (1 + share)], [0.3, 0.3, 0.4], PRICE, SALVAGE)
    search = Decomposition(bounded([3e5], whole=True), recourse, [Tail(1, worst)])
    found = search.solve(Aim(np.ones(1), np.zeros(2), NOTHING, np.array([0.0])), gap=1e-9, time_limit=20)
    assert found.proven
    assert found.plan[0] in (large, large + 1)
    assert found.plan[0] == large + 1 or share <= 1e-7


def test_plan_that_costs_nothing() -> None:
    """Bounds of 0 meet; nothing is divided by."""
    recourse = newsvendor(DEMANDS, CHANCES, PRICE, SALVAGE)
    aim = Aim(np.ones(1), np.zeros(2), NOTHING, np.array([20.0]))
    for whole in (True, False):
        found = _solve(bounded([30.0], whole=whole), recourse, aim, Tail(1, 0.05))
        assert (found.plan[0], found.upper, found.gap) == (0.0, 0.0, 0.0)


def test_limit_without_coefficients_limits_nothing_else() -> None:
    """A row of zeros holds or it does not; the goals after it are met."""
    recourse = newsvendor(DEMANDS, CHANCES, PRICE, SALVAGE)
    plan = dataclasses.replace(bounded([30.0], whole=True), matrix=np.array([[0.0], [1.0], [0.0]]))
    aim = Aim(np.ones(1), np.zeros(2), np.array([5.0, 25.0, 0.0]), np.array([2.0]))
    assert _solve(plan, recourse, aim, Tail(1, 0.35)).plan[0] == next(y for y in range(31) if _short(y, 0.35) <= 2)
    with pytest.raises(NoPlanError):
        _solve(plan, recourse, dataclasses.replace(aim, limits=np.array([5.0, 25.0, -1.0])), Tail(1, 0.35))


def test_bounds_close_in_and_are_told() -> None:
    """Whatever is told on the way: the lower bound rises, the upper one falls, and the optimum is between them."""
    told: list[tuple[float, float]] = []
    search = Decomposition(
        bounded([25.0] * 3, whole=True, most=25), farmer(acres=20), [], tell=lambda *each: told.append(each)
    )
    found = search.solve(Aim(20 * PLANTING, np.ones(1), np.array([25.0]), NOTHING), gap=1e-9)
    lower, upper = zip(*told, strict=True)
    assert list(lower) == sorted(lower)
    assert list(upper) == sorted(upper, reverse=True)
    assert lower[-1] - 1e-6 <= found.upper <= upper[-1] + 1e-6
    assert len(told) == found.rounds


@pytest.mark.parametrize("gap", [0.2, 0.05, 0.001])
def test_search_ends_at_its_gap(gap: float) -> None:
    """The plan is no worse than the optimum by more than the gap, and the lower bound is one."""
    best = -max(
        float(_earned(20.0 * np.array(each)).mean())
        for each in itertools.product(range(26), repeat=3)
        if sum(each) <= 25
    )
    aim = Aim(20 * PLANTING, np.ones(1), np.array([25.0]), NOTHING)
    found = _solve(bounded([25.0] * 3, whole=True, most=25), farmer(acres=20), aim, gap=gap)
    assert found.gap <= gap
    assert found.lower - 1e-6 <= best <= found.upper + 1e-6


def test_search_that_has_no_time_says_so() -> None:
    """No plan is made up; the search can be asked again."""
    recourse = newsvendor(DEMANDS, CHANCES, PRICE, SALVAGE)
    search = Decomposition(bounded([30.0], whole=True), recourse, [Tail(1)])
    aim = Aim(np.ones(1), np.zeros(2), NOTHING, np.array([1.0]))
    with pytest.raises(SolverLimitError, match="limit of 0 s without a plan"):
        search.solve(aim, time_limit=0)
    assert search.solve(aim).proven


def test_limits_that_leave_no_plan_are_told() -> None:
    """Whether the limits exclude one another or what they leave is too little."""
    recourse = newsvendor(DEMANDS, CHANCES, PRICE, SALVAGE)
    for most, allowed in ((-1.0, 30.0), (5.0, 1.0)):
        for whole in (True, False):
            with pytest.raises(NoPlanError):
                _solve(
                    bounded([30.0], whole=whole, most=most),
                    recourse,
                    Aim(np.ones(1), np.zeros(2), np.array([most]), np.array([allowed])),
                    Tail(1, 0.35),
                )
