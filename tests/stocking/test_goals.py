"""Goals as the planner wrote them become what is counted, what is limited and what is aimed at."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from made_stocking import stocking_text
from small_stocking import POST, draft_of

from mci.lp.cache_care import Harm, HarmKind
from mci.lp.two_stage import Tail
from mci.scenario.stocking import Goal, Stocking
from mci.stocking.goals import make_targets
from mci.stocking.layout import lay_out


def _stocking(text: str) -> Stocking:
    found = draft_of(text).scenario().stocking
    assert found is not None
    return found


STOCKING = _stocking(stocking_text())
TARGETS = make_targets(STOCKING, ("immediate", "minimal"))
#: Two incidents; the weighted share, then missed share and minutes without of either category.
HARMS = np.array([[0.02, 0.01, 55.0, 0.2, 60.0], [0.04, 0.005, 65.0, 0.4, 200.0]])
EQUAL = np.array([0.5, 0.5])


def test_what_is_counted() -> None:
    """The weighted share first, then both kinds of every category of the goals, in the order of treatment."""
    kinds = [(harm.kind, harm.category) for harm in TARGETS.harms]
    assert kinds == [
        (HarmKind.WEIGHTED, ""),
        (HarmKind.MISSED, "immediate"),
        (HarmKind.WITHOUT, "immediate"),
        (HarmKind.MISSED, "minimal"),
        (HarmKind.WITHOUT, "minimal"),
    ]
    for category in TARGETS.categories:
        assert TARGETS.harms[TARGETS.missed(category)] == Harm(HarmKind.MISSED, category)
        assert TARGETS.harms[TARGETS.without(category)] == Harm(HarmKind.WITHOUT, category)


def test_goals_are_tails() -> None:
    """Coverage in the mean; minutes without oxygen in the mean of the worst, of all where nothing is said."""
    assert TARGETS.tails == (Tail(1), Tail(2, 0.05), Tail(4))
    assert TARGETS.limits() == pytest.approx([0.01, 60, 120])
    assert TARGETS.limits([Goal("minimal", without_min=0.0), Goal("immediate", coverage=1.0)]).tolist() == [0, 0]


@pytest.mark.parametrize(("occurring", "category"), [(("minimal", "delayed"), "delayed"), (("minimal",), "minimal")])
def test_without_goals_the_first_category_that_occurs_is_counted(occurring: tuple[str, ...], category: str) -> None:
    """In the order of treatment, and nothing is limited."""
    targets = make_targets(dataclasses.replace(STOCKING, goals=()), occurring)
    assert targets.categories == (category,)
    assert (len(targets.harms), targets.tails, targets.limits().tolist()) == (3, (), [])


def test_aims() -> None:
    """The least cost with every goal; the most weighted coverage for money; the least of one harm."""
    layout = lay_out(STOCKING)
    cheapest = TARGETS.cheapest(layout)
    assert np.array_equal(cheapest.costs, layout.costs)
    assert not cheapest.losses.any()
    assert cheapest.at_most == pytest.approx(TARGETS.limits())
    assert np.array_equal(cheapest.limits, layout.limits)
    assert cheapest.offset == layout.offset
    looser = [dataclasses.replace(goal, worst=0.5) for goal in STOCKING.goals[:2]] + [Goal("minimal", without_min=9.0)]
    assert TARGETS.cheapest(layout, looser).at_most == pytest.approx([0.01, 60, 9])
    most = TARGETS.most(layout, 500.0)
    assert most.limits[-1] + layout.offset == pytest.approx(500)
    assert np.array_equal(most.limits[:-1], layout.limits[:-1])
    assert layout.limits[-1] + layout.offset == pytest.approx(9000.50)  # is left as it was
    assert (most.losses.tolist(), most.offset) == ([1, 0, 0, 0, 0], -1)
    assert not most.costs.any()
    assert np.isinf(most.at_most).all()
    nearest = TARGETS.nearest(layout, 2)
    assert nearest.losses.tolist() == [0, 0, 0, 0, 1]
    assert np.isinf(nearest.at_most).all()


def test_what_is_reached() -> None:
    """Mean coverage; the worst twentieth of two is the worst of them; the mean of both."""
    assert TARGETS.reached(HARMS, EQUAL) == pytest.approx([0.9925, 65, 130])
    assert TARGETS.met(HARMS, EQUAL) == [True, False, False]
    assert TARGETS.met(HARMS, np.array([0.7, 0.3])) == [True, False, True]
    assert TARGETS.met(np.zeros_like(HARMS), EQUAL) == [True, True, True]


def test_goal_that_is_just_met_is_met() -> None:
    """What rounding leaves is no miss; a hundredth of a percent is, or a fifth of a patient-minute."""
    just = np.array([[0.0, 0.01 + 1e-9, 60 + 1e-6, 0.0, 120.0]])
    assert TARGETS.met(just, np.ones(1)) == [True, True, True]
    assert TARGETS.met(just + np.array([0, 1e-4, 0.2, 1e-4, 0.2]), np.ones(1)) == [False, False, False]


def test_category_that_does_not_occur_needs_nothing() -> None:
    """A goal for it is met by every list."""
    goals = (Goal("delayed", coverage=1.0), Goal("delayed", without_min=0.0, worst=0.1))
    targets = make_targets(dataclasses.replace(_stocking(POST), goals=goals), ("immediate", "minimal"))
    assert targets.categories == ("delayed",)
    assert targets.met(np.zeros((3, 3)), np.full(3, 1 / 3)) == [True, True]
    assert not math.isinf(float(targets.limits().max()))
