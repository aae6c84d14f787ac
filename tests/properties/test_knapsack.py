"""One pool of gas in one period against the closed form: fill the best credit per litre first (Dantzig 1957)."""

from __future__ import annotations

import itertools
from fractions import Fraction

import pytest
from common import bound, repeatable
from hypothesis import given
from hypothesis import strategies as st
from incidents import cylinders, ladder, outlet_set, patients, scenario

from mci.scenario.model import Scenario

Rungs = list[tuple[Fraction, Fraction]]  # litres and weighted credit-minutes of one patient on each rung
MINUTES = 20


def _steps(rungs: Rungs) -> Rungs:
    """Return the increments along the upper concave hull of a ladder, from nothing upwards.

    A patient may be on mixtures of rungs, so what counts is the hull over (0, 0) and all rungs.
    """
    hull: Rungs = [(Fraction(0), Fraction(0))]
    for litres, credit in sorted(rungs, key=lambda rung: (rung[0], -rung[1])):
        if credit <= hull[-1][1]:
            continue  # more gas for no more credit
        while len(hull) > 1:
            (l0, c0), (l1, c1) = hull[-2], hull[-1]
            if (c1 - c0) * (litres - l1) > (credit - c1) * (l1 - l0):
                break
            hull.pop()
        hull.append((litres, credit))
    return [(l1 - l0, c1 - c0) for (l0, c0), (l1, c1) in itertools.pairwise(hull)]


def greedy(litres: int, ladders: list[tuple[int, Rungs]]) -> Fraction:
    """Return the best credit that a pool gives: the steepest steps first, the last one in part."""
    steps = [(credit / gas, count * gas) for count, rungs in ladders for gas, credit in _steps(rungs)]
    left, earned = Fraction(litres), Fraction(0)
    for rate, gas in sorted(steps, reverse=True):
        taken = min(left, gas)
        earned += rate * taken
        left -= taken
    return earned


@st.composite
def pools(draw: st.DrawFn) -> tuple[Scenario, Fraction]:
    """Draw one lot and some batches at one moment; return the incident and the closed form."""
    litres = draw(st.integers(1, 3000))
    weights = {"immediate": 4, "delayed": 2, "minimal": 1}
    made, batches, exact = [], [], []
    for number in range(draw(st.integers(1, 4))):
        flows = sorted(draw(st.lists(st.integers(1, 15), min_size=1, max_size=4, unique=True)), reverse=True)
        worths = sorted(draw(st.lists(st.integers(1, 16), min_size=len(flows), max_size=len(flows))), reverse=True)
        rungs = [("mask", float(flow), credit / 16) for flow, credit in zip(flows, worths, strict=True)]
        count, category = draw(st.integers(1, 5)), draw(st.sampled_from(sorted(weights)))
        made.append(ladder(f"l{number}", *rungs))
        batches.append(patients(count, f"l{number}", category=category))
        worth = [
            (Fraction(flow * MINUTES), Fraction(weights[category] * credit * MINUTES, 16))
            for flow, credit in zip(flows, worths, strict=True)
        ]
        exact.append((count, worth))
    incident = scenario(
        horizon=MINUTES,
        ladders=made,
        patients=batches,
        lots=[cylinders(1, litres, built_in=outlet_set("own", outlets=100, total=10_000))],
        weights={key: float(value) for key, value in weights.items()},
    )
    return incident, greedy(litres, exact)


@repeatable(150)
@given(pools())
def test_one_pool_in_one_period_is_the_continuous_knapsack(drawn: tuple[Scenario, Fraction]) -> None:
    """The bound is the greedy answer by weight times credit per litre, on the concave hull of each ladder."""
    incident, exact = drawn
    assert bound(incident) == pytest.approx(float(exact), rel=1e-9, abs=1e-9)


def test_a_ladder_with_a_useless_middle_rung() -> None:
    """By hand: 10 L/min for 1.0, 6 for 0.2, 4 for 0.4; the middle rung lies under the hull.

    One patient, 20 min, 140 L: 80 L bring the bottom rung (0.4 x 20 = 8), the other 60 of the 120 L
    up to the top bring half of 12 more: 14 credit-minutes.
    """
    rungs = [(Fraction(200), Fraction(20)), (Fraction(120), Fraction(4)), (Fraction(80), Fraction(8))]
    assert greedy(140, [(1, rungs)]) == 14
