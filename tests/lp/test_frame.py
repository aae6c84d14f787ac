"""The programme that is changed in place: hot answers are cold answers, whatever was asked before."""

from __future__ import annotations

import dataclasses
import functools
import itertools
import math
import random
from pathlib import Path

import incidents
import pytest

import mci
from mci.demand.groups import count_demand
from mci.lp.allocate import allocate
from mci.lp.frame import Frame
from mci.lp.outcome import Outcome
from mci.settings import Settings
from mci.surge.late import postpone

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


#: What may differ from one variant to the next, most of it much or little.
CHOICES = {
    "patients.immediate.count": ("10", "9", "11", "24"),
    TRUCK: ("0 min", "1 min", "20 min", "90 min", "600 min"),
    "regulators.share": ("100 %", "95 %", "60 %"),
    "supplies.pressure": ("100 %", "99.5 %", "75 %"),
    "devices.non-rebreather at quay.count": ("14", "15", "3"),
}


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


def test_variants_whose_regulators_end_share_a_frame() -> None:
    """Ends of regulators are other limits of the same programme, at any breakpoint; hot answers are cold ones."""
    settings, told = Settings(max_period=math.inf), FERRY.scenario()
    moments = count_demand(told).grid.points.tolist()
    ends = [math.inf, *moments[-2 :: -(len(moments) // 4)], 0.0]
    scenarios = [
        dataclasses.replace(
            told, regulators=tuple(dataclasses.replace(each, available_until=end) for each in told.regulators)
        )
        for end in ends
    ]
    frame = Frame(scenarios[:3], settings)
    bounds = []
    for scenario in [*scenarios, *scenarios[::-1]]:
        cold = allocate(scenario, count_demand(scenario), settings).outcome
        bounds.append(frame.allocate(scenario).outcome.bound)
        assert bounds[-1] == pytest.approx(cold.bound, rel=1e-7)
    fall = bounds[: len(ends)]
    assert all(after < before + 1e-6 for before, after in itertools.pairwise(fall))
    assert fall[0] > fall[2] > fall[-1]


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


def _walk(steps: int) -> list[dict[str, str]]:
    """Return variants of the ferry, each one or two numbers from the one before."""
    random_numbers = random.Random(3)  # noqa: S311
    values = {path: texts[0] for path, texts in CHOICES.items()}
    walk = [values]
    for _ in range(steps):
        moved = random_numbers.sample(sorted(CHOICES), random_numbers.randint(1, 2))
        values = values | {path: random_numbers.choice(CHOICES[path]) for path in moved}
        walk.append(values)
    return walk


@functools.cache
def _cold(values: tuple[tuple[str, str], ...], category: str = "") -> float:
    """Return the best possible of a variant by itself: weighted, or of one category [credit-min]."""
    scenario = FERRY.scenario(dict(values))
    if category:
        alone = dict.fromkeys(scenario.weights, 0.0) | {category: 1.0}
        scenario = dataclasses.replace(scenario, weights=alone)
    return allocate(scenario, count_demand(scenario), Settings(max_period=math.inf)).outcome.bound


@pytest.mark.parametrize(("priority", "category"), [("weighted", ""), ("strict", "immediate")])
def test_as_good_compares_two_best_possibles(priority: str, category: str) -> None:
    """Whether a variant is as good is what two programmes of their own say, whatever was asked in between."""
    walk = _walk(7)
    frame = Frame([FERRY.scenario(values) for values in walk], Settings(priority=priority, max_period=math.inf))
    bases = {place: frame.allocate(FERRY.scenario(walk[place])).parts for place in (0, 4)}
    told = []
    for place, base in itertools.product([7, 0, 3, 4, 1, 3, 2], bases):
        found = frame.as_good(FERRY.scenario(walk[place]), bases[base])
        one, other = (_cold(tuple(walk[each].items()), category) for each in (place, base))
        assert found == (one >= other * (1 - 1e-6)), (walk[place], walk[base])
        told.append(found)
    assert min(told.count(True), told.count(False)) > 2


def test_as_good_in_any_order_and_with_other_nonzeros() -> None:
    """One answer serves many questions, also where a delivery beyond the horizon leaves nonzeros out."""
    delays = ["0 min", "1 min", "20 min", "90 min", "600 min"]
    walk = [FERRY.scenario({TRUCK: delay}) for delay in delays]
    frame = Frame(walk, Settings(max_period=math.inf))
    parts = frame.allocate(walk[2]).parts
    bounds = [_cold(((TRUCK, delay),)) for delay in delays]
    for place in (0, 4, 2, 3, 1):
        assert frame.as_good(walk[place], parts) == (place <= 2) == (bounds[place] >= bounds[2] * (1 - 1e-6))
    assert frame.as_good(walk[4], ())


def test_a_hair_less_is_less() -> None:
    """A best possible that falls by more than a millionth has fallen, one that falls by less has not."""
    frame = Frame([FERRY.scenario()], Settings(max_period=math.inf))
    parts = frame.allocate(FERRY.scenario()).parts
    for weight, is_as_good in (("0.9999999", True), ("0.99999", False), ("1.00001", True)):
        assert frame.as_good(FERRY.scenario({"weights.immediate": weight}), parts) is is_as_good


def test_a_delivery_fits_at_any_breakpoint() -> None:
    """The same things may come at any breakpoint before the horizon without a programme of their own."""
    ferry = FERRY.scenario()
    frame = Frame([ferry], Settings(max_period=math.inf))
    part = frame.allocate(ferry).parts[0]
    moments = [moment for moment in part.index.grid.points.tolist() if 100 < moment < ferry.horizon]
    assert len(moments) > 5
    for moment in moments[::5]:
        later = postpone(ferry, "county oxygen truck", moment - 100)
        hot = frame.allocate(later).outcome.bound
        assert hot == pytest.approx(allocate(later, count_demand(later), Settings()).outcome.bound, rel=1e-7)


def test_patients_where_no_variant_has_any_do_not_fit() -> None:
    """A variant with patients at an area that is empty in all others is refused, whatever is asked about it."""
    here, there = (incidents.patients(2, "l", area=area) for area in ("a", "b"))
    made = incidents.scenario(
        horizon=60,
        ladders=[incidents.ladder("l", ("mask", 5.0, 1.0))],
        patients=[here],
        lots=[incidents.cylinders(2, 400.0, area=area, key=area) for area in ("a", "b")],
        regulators=[incidents.regulator(2, area=area) for area in ("a", "b")],
        areas=("a", "b"),
    )
    both = dataclasses.replace(made, patients=(here, there))
    frame, wide = (Frame(each, Settings(max_period=math.inf)) for each in ([made], [made, both]))
    with pytest.raises(ValueError, match="patients at"):
        frame.allocate(both)
    parts = wide.allocate(both).parts
    assert len(parts) == 2
    assert wide.as_good(both, parts)
    with pytest.raises(ValueError, match="patients at"):
        frame.as_good(both, parts)
