"""A plan with whole patients: whole, feasible, below the bound, and as good as can be."""

from __future__ import annotations

import dataclasses

import numpy as np
import pandas as pd
import pytest
from incidents import cylinders, ladder, outlet_set, patients, scenario

from mci.demand.groups import count_demand
from mci.lp.allocate import Allocation, allocate
from mci.lp.outcome import Status
from mci.lp.whole import plan_whole
from mci.lp.worth import worth_of_one_more
from mci.scenario.model import Scenario
from mci.settings import Settings

MASK = ladder("one", ("mask", 10, 1.0))
LOT = cylinders(1, 300, built_in=outlet_set("own"))


def _solved(incident: Scenario, settings: Settings) -> Allocation:
    return allocate(incident, count_demand(incident, settings.max_period), settings)


def _scarce(**changes: object) -> Scenario:
    """Return 12 patients of three kinds for 4 h with gas for a part of them and one who changes cylinders."""
    high = ladder("high", ("mask", 15, 1.0), ("simple", 8, 0.7), ("cannula", 4, 0.4), single_use=True)
    low = ladder("low", ("cannula", 3, 1.0), ("cannula", 1.5, 0.6), single_use=True)
    small = scenario(
        horizon=240,
        ladders=[high, low],
        patients=[
            patients(5, "high", over=60, stay=150),
            patients(4, "high", category="delayed", over=90, stay=120),
            patients(3, "low", category="minimal"),
        ],
        lots=[cylinders(7, 560, built_in=outlet_set("own"), change=4), cylinders(3, 430, key="b", arrive=75)],
        devices={("a", "mask"): 4},
        staff={"a": 0.3},
    )
    return dataclasses.replace(small, **changes)


def test_half_a_patient_is_nobody() -> None:
    """300 L at 10 L/min serve one for 30 min of a period of 60: divisible 30 credit-minutes, whole none."""
    incident = scenario(horizon=60, ladders=[MASK], patients=[patients(1, "one")], lots=[LOT])
    allocation = _solved(incident, Settings(max_period=60))
    found = plan_whole(allocation, Settings(max_period=60))
    assert allocation.outcome.bound == pytest.approx(30)
    assert (found.achieved, found.gap, found.status) == (0.0, 1.0, Status.OPTIMAL)  # proven: nothing better is whole
    assert found.service.empty
    assert found.draw.empty


def test_a_shorter_period_makes_the_half_hour_whole() -> None:
    """The same in periods of 10 min: one patient, served for 30 min from 300 L, and nothing is missing."""
    incident = scenario(horizon=60, ladders=[MASK], patients=[patients(1, "one")], lots=[LOT])
    found = plan_whole(_solved(incident, Settings()), Settings())
    assert found.gap == pytest.approx(0, abs=1e-7)
    assert found.achieved == pytest.approx(30)
    assert found.service["patients"].tolist() == [1.0, 1.0, 1.0]
    assert found.draw["litres"].sum() == pytest.approx(300)


def test_the_better_of_two_roundings_is_found() -> None:
    """170 L for two patients for 10 min, 10 L/min or 7 for 0.8: not one well and none, but both for 0.8."""
    rungs = ladder("two", ("mask", 10, 1.0), ("cannula", 7, 0.8))
    lot = cylinders(2, 85, built_in=outlet_set("own"))
    incident = scenario(horizon=10, ladders=[rungs], patients=[patients(2, "two")], lots=[lot])
    found = plan_whole(_solved(incident, Settings()), Settings(whole_gap=0))
    assert found.achieved == pytest.approx(18)
    assert sorted(zip(found.service["rung"], found.service["patients"], strict=True)) == [(0, 1.0), (1, 1.0)]


@pytest.mark.parametrize("priority", ["weighted", "strict"])
def test_a_limit_leaves_the_divisible_plan_rounded_down(priority: str) -> None:
    """With no time at all there is still a plan, said to be rounded down, and its gap is what it lacks."""
    settings = Settings(priority=priority, whole_time_limit=1e-9)
    allocation = _solved(_scarce(), settings)
    found = plan_whole(allocation, settings)
    assert found.status is Status.ROUNDED
    assert "rounded down" in found.method
    assert "time limit" in found.method
    key = ["area", "category", "ladder", "rung", "start_min"]
    divisible = allocation.outcome.service.set_index(key)["patients"]
    whole = found.service.set_index(key)["patients"].reindex(divisible.index, fill_value=0.0)
    assert np.array_equal(whole, np.floor(divisible + 1e-6))


def test_more_time_is_never_worse() -> None:
    """From rounding down to the whole integer programme the coverage never falls."""
    allocation = _solved(_scarce(), Settings())
    rounded = plan_whole(allocation, Settings(whole_time_limit=1e-9))
    near = plan_whole(allocation, Settings(whole_gap=1.0))
    full = plan_whole(allocation, Settings(whole_gap=0.0))
    assert rounded.achieved <= near.achieved <= full.achieved
    assert near.method == "best rounding of the divisible plan"
    assert rounded.gap >= near.gap >= full.gap


def test_a_plan_at_a_limit_of_the_bound_is_measured_against_what_is_proven() -> None:
    """Where the bound was not proven, the gap is to what full coverage would earn."""
    incident = _scarce()
    allocation, demand = _solved(incident, Settings()), count_demand(incident, Settings().max_period)
    weights = [incident.weights[group.category] for group in demand.groups]
    needed = float(weights @ demand.present @ demand.grid.lengths)
    stopped = dataclasses.replace(allocation.outcome, status=Status.LIMIT, bound=needed)
    found = plan_whole(Allocation(stopped, allocation.parts), Settings(whole_time_limit=2))
    assert found.gap == pytest.approx(1 - found.achieved / needed)


def test_the_loaded_programmes_stay_as_they_are() -> None:
    """What one more is worth is the same to the last bit whether patients were made whole before or not."""
    before, after = (_solved(_scarce(), Settings()) for _ in range(2))
    plan_whole(after, Settings(whole_gap=0.005))
    pd.testing.assert_frame_equal(worth_of_one_more(before), worth_of_one_more(after), check_exact=True)


@pytest.mark.parametrize("priority", ["weighted", "strict"])
def test_equal_inputs_give_equal_plans_whatever_patients_are_called(priority: str) -> None:
    """Other labels and another order of the batches: the same plan to the last bit."""
    settings = Settings(priority=priority, whole_gap=0.003)
    incident = _scarce()
    renamed = tuple(dataclasses.replace(batch, label=f"z{n}") for n, batch in enumerate(reversed(incident.patients)))
    one, other = (
        plan_whole(_solved(each, settings), settings)
        for each in (incident, dataclasses.replace(incident, patients=renamed))
    )
    assert "time limit" not in one.method
    pd.testing.assert_frame_equal(one.service, other.service, check_exact=True)
    pd.testing.assert_frame_equal(one.draw, other.draw, check_exact=True)
    assert (one.status, one.achieved, one.gap, one.method) == (other.status, other.achieved, other.gap, other.method)


@pytest.mark.parametrize(
    ("priority", "served", "gap"),
    [
        ("strict", {"immediate": 1.0, "minimal": 5.0}, 5.5 / 15.5),  # bound: 1.55 Immediate for 10 min, nobody else
        ("weighted", {"minimal": 12.0}, 3.5 / 27.5),  # bound: all Minimal, and 0.35 Immediate
    ],
)
def test_strict_gives_the_first_category_as_many_whole_patients_as_it_can(
    priority: str, served: dict[str, float], gap: float
) -> None:
    """15.5 L/min for 10 min, 2 Immediate at 10 L/min and 12 Minimal at 1 L/min: whom a whole plan serves by each rule.

    The strict gap is what the Immediate lack; what the Minimal get instead does not make up for it.
    """
    incident = scenario(
        horizon=10,
        ladders=[MASK, ladder("low", ("prongs", 1, 1.0))],
        patients=[patients(2, "one"), patients(12, "low", category="minimal")],
        lots=[cylinders(1, 155, built_in=outlet_set("own", 14))],
    )
    settings = Settings(priority=priority)
    found = plan_whole(_solved(incident, settings), settings)
    assert found.service.set_index("category")["patients"].to_dict() == served
    assert found.status is Status.OPTIMAL
    assert found.gap == pytest.approx(gap, abs=1e-6)
