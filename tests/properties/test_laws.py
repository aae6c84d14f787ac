"""Laws of the optimum that hold for every incident."""

from __future__ import annotations

import dataclasses
import random

import numpy as np
import pytest
from common import bound, outcome, repeatable
from edits import one_more_of_each, with_more
from hypothesis import given
from hypothesis import strategies as st
from random_incidents import incidents

from mci.demand.groups import count_demand
from mci.lp.allocate import allocate
from mci.lp.worth import SMALLEST_SHARE, worth_of_one_more
from mci.scenario.model import Scenario
from mci.settings import Settings

#: Two optima of nearly the same programme agree to this share: the solver's tolerance is 1e-7.
SAME = 1e-7


@repeatable(40)
@given(incidents(memory=True))
def test_more_of_anything_never_lowers_the_optimum(incident: Scenario) -> None:
    """One more of any lot, regulator, device, person or machine's power leaves the bound or raises it."""
    before = bound(incident)
    after = [bound(with_more(incident, *resource)) for resource in one_more_of_each(incident)]
    assert min(after) >= before * (1 - SAME) - SAME


@repeatable(40)
@given(incidents(), st.floats(0, 1))
def test_a_larger_reserve_never_raises_the_optimum(incident: Scenario, share: float) -> None:
    """Keeping more back leaves less to give."""
    less = dataclasses.replace(incident, reserve={key: share * litres for key, litres in incident.reserve.items()})
    assert bound(incident) <= bound(less) * (1 + SAME) + SAME


def _renamed(incident: Scenario, shuffle: random.Random) -> Scenario:
    """Return the same incident with other names, everything in another order."""

    def mixed(things: tuple) -> tuple:
        return tuple(shuffle.sample(things, len(things)))

    def moved(thing: object) -> object:
        return dataclasses.replace(thing, area=f"z{thing.area}", key=f"{shuffle.random()}")

    def moved_course(batch: object) -> object:
        course = tuple(
            dataclasses.replace(spell, area=f"z{spell.area}", ladder=f"z{spell.ladder}") for spell in batch.course
        )
        return dataclasses.replace(batch, label=f"{shuffle.random()}", course=course)

    ladders = {f"z{key}": dataclasses.replace(each, key=f"z{key}") for key, each in incident.ladders.items()}
    return dataclasses.replace(
        incident,
        areas=mixed(tuple(dataclasses.replace(area, key=f"z{area.key}", title="") for area in incident.areas)),
        ladders=dict(reversed(ladders.items())),
        patients=mixed(tuple(map(moved_course, incident.patients))),
        lots=mixed(tuple(map(moved, incident.lots))),
        regulators=mixed(tuple(map(moved, incident.regulators))),
        devices=mixed(tuple(map(moved, incident.devices))),
        staff=mixed(tuple(map(moved, incident.staff))),
        power=mixed(tuple(map(moved, incident.power))),
        reserve={f"z{key}": litres for key, litres in incident.reserve.items()},
    )


@repeatable(60)
@given(incidents(memory=True), st.randoms(use_true_random=False))
def test_names_and_order_change_nothing(incident: Scenario, shuffle: random.Random) -> None:
    """Areas, lots, ladders and patients may be called anything and come in any order."""
    assert bound(_renamed(incident, shuffle)) == pytest.approx(bound(incident), rel=SAME, abs=SAME)


@repeatable(60)
@given(incidents(memory=True), st.sampled_from([3.0, 7.0, 10.0]))
def test_splitting_periods_changes_nothing(incident: Scenario, longest: float) -> None:
    """Between two moments at which something changes, more periods gain nothing and lose nothing."""
    assert bound(incident, max_period=longest) == pytest.approx(bound(incident), rel=SAME, abs=SAME)


@repeatable(60)
@given(incidents(memory=True), st.sampled_from(["weighted", "strict"]))
def test_what_is_drawn_is_delivered(incident: Scenario, priority: str) -> None:
    """In every area and period the litres drawn are the litres that patients get."""
    found = outcome(incident, priority=priority)
    minutes = found.service["end_min"] - found.service["start_min"]
    given_to = found.service.assign(litres=found.service["patients"] * found.service["flow_lpm"] * minutes)
    place = ["area", "start_min"]
    drawn = found.draw.groupby(place)["litres"].sum()
    delivered = given_to.groupby(place)["litres"].sum()
    difference = drawn.sub(delivered, fill_value=0.0).to_numpy(dtype=float)
    assert np.abs(difference).max(initial=0.0) < 1e-2  # rows below 1e-6 are left out of both tables


@repeatable(60)
@given(incidents(memory=True))
def test_the_plan_reaches_the_bound(incident: Scenario) -> None:
    """What is achieved is the bound but for the tolerance with which it is held."""
    found = outcome(incident)
    assert found.achieved <= found.bound * (1 + SAME) + 1e-6
    assert found.achieved >= found.bound * (1 - 1e-6) - 1e-6


def _credit(incident: Scenario, priority: str, category: str) -> float:
    service = outcome(incident, priority=priority).service
    mine = service[service["category"] == category]
    return float((mine["patients"] * mine["credit"] * (mine["end_min"] - mine["start_min"])).sum())


@repeatable(60)
@given(incidents(memory=True))
def test_strict_serves_immediate_first(incident: Scenario) -> None:
    """The strict rule gives Immediate at least what the weighted rule gives."""
    strict, weighted = (_credit(incident, priority, "immediate") for priority in ("strict", "weighted"))
    assert strict >= weighted * (1 - 1e-6) - 1e-4


def _gains(incident: Scenario) -> dict[tuple[str, str], list[float]]:
    """Return by kind and area what one more gains, found by solving edited scenarios anew."""
    before = bound(incident)
    floor = SMALLEST_SHARE * 10 * max(1.0, before)
    gains: dict[tuple[str, str], list[float]] = {}
    for kind, area, key in one_more_of_each(incident):
        gain = bound(with_more(incident, kind, area, key)) - before
        if gain > floor:
            gains.setdefault((kind, area), []).append(gain)
    return {place: sorted(found) for place, found in gains.items()}


@repeatable(60)
@given(incidents(memory=True, moving=False))  # a device that moves on is worth more than its area sees
def test_one_more_is_worth_the_difference_of_two_solves(incident: Scenario) -> None:
    """The hot re-solves give what solving an edited scenario from scratch gives, for every kind of resource."""
    table = worth_of_one_more(allocate(incident, count_demand(incident), Settings()))
    single = table[~table["resource"].str.contains(" and ")]
    found = {place: sorted(rows["weighted_gain_min"].tolist()) for place, rows in single.groupby(["resource", "area"])}
    expected = _gains(incident)
    assert found.keys() == expected.keys(), (found, expected)
    for place, gains in expected.items():
        assert found[place] == pytest.approx(gains, rel=1e-5, abs=1e-5), place
