"""From parts to whole things: when each is due, and when each empty is free."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from joint import ITEMS, errand, plan
from small_network import network

from mci.lp.given import Grant
from mci.lp.haul_plan import HaulPlan
from mci.lp.haulage import Haulage
from mci.lp.outcome import SolverReport, Status
from mci.resupply.dues import LEAST_PART, find_needs, find_spent
from mci.resupply.needs import Need, Spent
from mci.resupply.steps import make_haulage
from mci.scenario.network import Stock

HAULAGE = make_haulage(network(stock=()), 60, 10)
SMALL = Grant("a", ITEMS["small full"])
REPORT = SolverReport("made up", 0, 0, 0, 0.0, 0.0)


def _plan(given: list[list[float]], grants: tuple[Grant, ...] = (SMALL,), spent: list[float] | None = None) -> HaulPlan:
    found = {("a", "small empty"): np.array(spent)} if spent else {}
    return HaulPlan(
        Status.OPTIMAL, 0.0, {}, grants, np.array(given, dtype=float).reshape(len(grants), -1), found, 0.0, 0.0, REPORT
    )


def _due(*given: float, haulage: Haulage = HAULAGE) -> list[float]:
    return [need.due for need in find_needs(_plan([list(given)]), haulage)]


def test_a_whole_one_is_due_when_its_first_part_is() -> None:
    """Half a cylinder from T+10, one and a half from T+30: the first whole one by T+10, the second by T+30."""
    assert find_needs(_plan([[0, 0.5, 0.5, 1.5, 1.5, 1.5]]), HAULAGE) == [
        Need("a", "small full", 10),
        Need("a", "small full", 30),
    ]


def test_several_at_once_are_due_at_once() -> None:
    """Three at T+20."""
    assert _due(0, 0, 3, 3, 3, 3) == [20, 20, 20]


def test_a_crumb_is_no_thing() -> None:
    """What is left over from rounding asks for nothing, alone or beside whole ones."""
    assert _due(0, 0.01, 0.01, 0.01, 0.01, 0.01) == []
    assert _due(0, 1, 1, 1, 1, 1.01) == [10]
    assert _due(0, 0.01, 0.01, 1, 1, 1) == [30]
    assert _due(0, 0, 0, 0, 0, 0) == []


def test_what_an_area_has_is_not_needed() -> None:
    """Of three that are given, two stood there: only the third must come."""
    haulage = make_haulage(network(stock=(Stock("a", "small full", 2, 0), Stock("b", "small full", 9, 0))), 60, 10)
    assert _due(1, 1, 2, 2, 3, 3, haulage=haulage) == [40]
    assert _due(1, 1, 2, 2, 2, 2, haulage=haulage) == []


def test_each_kind_and_area_by_itself() -> None:
    """Needs name what and where."""
    grants = (SMALL, Grant("b", ITEMS["reg"]))
    needs = find_needs(_plan([[0, 1, 1, 1, 1, 1], [0, 0, 0, 0, 2, 2]], grants), HAULAGE)
    assert needs == [Need("a", "small full", 10), Need("b", "reg", 40), Need("b", "reg", 40)]


GIVEN = st.lists(st.floats(0, 1.5), min_size=6, max_size=6).map(lambda parts: np.cumsum(parts).tolist())


@given(GIVEN)
def test_whole_things_are_never_behind_the_parts(given: list[float]) -> None:
    """By each step there are at least as many as the programme gives, but for a crumb; and in all none too many."""
    due = _due(*given)
    assert due == sorted(due)
    assert len(due) == max(0, math.ceil(given[-1] - LEAST_PART))
    for start, amount in zip(HAULAGE.starts, given, strict=True):
        assert sum(moment <= start for moment in due) >= amount - LEAST_PART - 1e-9


def test_an_empty_is_free_when_it_is_surely_used_up() -> None:
    """One by the end of the second step, two more by the end of the fifth; half a one is none."""
    assert find_spent(_plan([[0] * 6], spent=[0, 1, 1, 1, 3, 3.5]), HAULAGE) == [
        Spent("a", "small empty", (20, 50, 50))
    ]
    assert find_spent(_plan([[0] * 6], spent=[0, 0, 0, 0, 0, 0.9]), HAULAGE) == []
    assert find_spent(_plan([[0] * 6], spent=[0, 0, 0, 0, 0, 1 - 1e-9]), HAULAGE) == [Spent("a", "small empty", (60,))]


@given(GIVEN)
def test_no_empty_is_free_before_it_is_used_up(spent: list[float]) -> None:
    """By each moment no more than the whole ones that are used up."""
    found = find_spent(_plan([[0] * 6], spent=spent), HAULAGE)
    moments = [at for each in found for at in each.at]
    assert len(moments) == int(spent[-1] + 1e-6)
    for end, amount in zip(HAULAGE.ends, spent, strict=True):
        assert sum(at <= end for at in moments) <= amount + 1e-6


def test_the_programme_asks_for_what_comes() -> None:
    """One truck, one road, two cylinders half an hour away: nothing is due before T+30, and two in all."""
    incident = errand()
    needs = find_needs(plan(incident, 10), make_haulage(incident.network, 240, 10))
    assert [(need.area, need.item) for need in needs] == [("a", "small full")] * 2
    assert min(need.due for need in needs) >= 30
