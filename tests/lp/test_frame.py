"""The programme that is changed in place: hot answers are cold answers, whatever was asked before."""

from __future__ import annotations

import dataclasses
import itertools
import math
from pathlib import Path

import pytest

import mci
from mci.demand.groups import count_demand
from mci.lp.allocate import allocate
from mci.lp.frame import Frame
from mci.lp.outcome import Outcome
from mci.settings import Settings

FERRY = mci.read_draft(Path(mci.__file__).parents[1] / "scenarios" / "ferry-fire.yaml")
TRUCK = "deliveries.county oxygen truck.delay"
#: Counts, times, regulators, gauges, weights, credits and stocks all differ.
VARIANTS = [
    FERRY.scenario(
        {
            "patients.immediate.count": immediate,
            TRUCK: delay,
            "regulators.share": share,
            "supplies.pressure": gauge,
            "weights.delayed": weight,
            "devices.non-rebreather at quay.count": masks,
            "ladders.smoke exposure.rungs.2.credit": credit,
        }
    )
    for (immediate, delay), (share, gauge, weight, masks, credit) in itertools.product(
        [("10", "0 min"), ("24", "35 min"), ("5", "90 min")],
        [("100 %", "100 %", "0.5", "14", "0.75"), ("60 %", "75 %", "0.8", "3", "0.9")],
    )
]


def _equal(one: Outcome, other: Outcome) -> bool:
    tables = one.service.equals(other.service) and one.draw.equals(other.draw)
    return tables and (one.bound, one.achieved) == (other.bound, other.achieved)


@pytest.mark.parametrize("priority", ["weighted", "strict"])
def test_hot_answers_are_cold_answers(priority: str) -> None:
    """Bound and coverage of a variant are those of a programme written for it alone, to 1e-7."""
    settings = Settings(priority=priority, max_period=math.inf)
    frame = Frame([FERRY.scenario(), *VARIANTS[::2], VARIANTS[-1]], settings)
    for scenario in VARIANTS:
        hot = frame.allocate(scenario).outcome
        cold = allocate(scenario, count_demand(scenario), settings).outcome
        assert hot.bound == pytest.approx(cold.bound, rel=1e-7)
        assert hot.achieved == pytest.approx(cold.achieved, rel=1e-7)
        assert hot.need["patients"].sum() > 0


def test_answers_do_not_depend_on_what_was_asked_before() -> None:
    """In any order, and asked again, a variant gets the same answer to the last bit."""
    frame = Frame([FERRY.scenario(), *VARIANTS], Settings(max_period=math.inf))
    first = [frame.allocate(scenario).outcome for scenario in VARIANTS]
    for place in (3, 0, 5, 5, 1, 4, 2, 0):
        assert _equal(first[place], frame.allocate(VARIANTS[place]).outcome)


def test_variants_of_unlike_structure_share_a_frame() -> None:
    """Where a delivery beyond the horizon or a reserve changes which nonzeros there are, they are cold ones still."""
    settings = Settings(max_period=math.inf)
    asked = [("0 min", 100.0), ("600 min", 100.0), ("5 min", 0.0), ("0 min", 150.0), ("600 min", 50.0)]
    scenarios = [dataclasses.replace(FERRY.scenario({TRUCK: d}), reserve={"quay": litres}) for d, litres in asked]
    frame = Frame(scenarios[:3], settings)
    for scenario in [*scenarios, *scenarios[::-1]]:
        cold = allocate(scenario, count_demand(scenario), settings).outcome
        assert frame.allocate(scenario).outcome.bound == pytest.approx(cold.bound, rel=1e-7)
    for place, alone in enumerate(scenarios[:3]):
        with pytest.raises(ValueError, match=r"nonzeros|does not fit|breakpoint"):
            Frame([alone], settings).allocate(scenarios[(place + 1) % 3])


def test_what_does_not_fit_is_refused() -> None:
    """A moment that is no breakpoint, another flow, or another area is refused, and the frame goes on as before."""
    frame = Frame([FERRY.scenario()], Settings(max_period=math.inf))
    before = frame.allocate(FERRY.scenario()).outcome
    with pytest.raises(ValueError, match="no breakpoint"):
        frame.allocate(FERRY.scenario({TRUCK: "7 min"}))
    with pytest.raises(ValueError, match="does not fit"):
        frame.allocate(FERRY.scenario({"ladders.smoke exposure.rungs.1.flow": "11 L/min"}))
    quay = FERRY.scenario().areas[0]
    with pytest.raises(ValueError, match="other areas"):
        frame.allocate(dataclasses.replace(FERRY.scenario(), areas=(quay, dataclasses.replace(quay, key="pier"))))
    assert _equal(before, frame.allocate(FERRY.scenario()).outcome)
