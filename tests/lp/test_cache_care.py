"""The care of one incident where a cache brings what is packed: cases worked out by hand."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from incidents import cylinders, ladder, outlet_set, patients, piped, regulator, scenario

from mci.catalogue.model import Ladder
from mci.demand.groups import count_demand
from mci.lp.cache_care import CacheCare, Harm, HarmKind, Supply
from mci.scenario.model import Lot, Scenario, Spell

WEIGHTED = Harm(HarmKind.WEIGHTED)
MASK = ladder("mask", ("mask", 10, 1))
#: 300 L each, half an hour at 10 L/min.
BOTTLE = dataclasses.replace(cylinders(1, 300), key="", area="")
REGULATOR = outlet_set("reg")


def _care(incident: Scenario, *supplies: Supply, harms: tuple[Harm, ...] = (WEIGHTED,)) -> CacheCare:
    moments = sorted({m for supply in supplies for m in supply.arrives.values() if m < incident.horizon})
    return CacheCare(incident, count_demand(incident, moments=moments), supplies, harms)


def _bottles(at: float, *areas: str, lot: Lot = BOTTLE) -> Supply:
    return Supply("bottles", 9, dict.fromkeys(areas or ("a",), at), lot=lot)


def _regulators(at: float, *areas: str) -> Supply:
    return Supply("regulators", 9, dict.fromkeys(areas or ("a",), at), outlets=REGULATOR)


def _least(care: CacheCare, *stock: float) -> list[float]:
    return care.least(np.array(stock, dtype=float)).tolist()


def _hour(count: int = 2, **kwargs: object) -> Scenario:
    """Return patients for an hour who have nothing."""
    return scenario(horizon=60, ladders=[MASK], patients=[patients(count, "mask")], lots=[], **kwargs)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("at", "bottles", "regulators", "missed"),
    [
        (0, 0, 2, 1.0),
        (0, 4, 0, 1.0),
        (0, 2, 2, 0.5),
        (0, 4, 1, 0.5),
        (0, 4, 2, 0.0),
        (0, 2.5, 2, 0.375),
        (30, 4, 2, 0.5),
        (45, 9, 9, 0.75),
        (60, 9, 9, 1.0),
    ],
)
def test_cylinders_and_regulators(at: float, bottles: float, regulators: float, missed: float) -> None:
    """Two patients for an hour; each needs a regulator and two bottles, from when the cache is there."""
    care = _care(_hour(), _bottles(at), _regulators(at))
    assert _least(care, bottles, regulators) == pytest.approx([missed])


def test_each_kind_of_harm_is_told_by_itself() -> None:
    """One bottle: half an hour of one patient; the immediate one or the delayed one, who weighs half."""
    incident = scenario(
        horizon=60,
        ladders=[MASK],
        patients=[patients(1, "mask"), patients(1, "mask", category="delayed")],
        lots=[],
        regulators=[regulator(2)],
    )
    harms = (
        WEIGHTED,
        Harm(HarmKind.MISSED, "immediate"),
        Harm(HarmKind.WITHOUT, "delayed"),
        Harm(HarmKind.WITHOUT),
        Harm(HarmKind.MISSED, "minimal"),
        Harm(HarmKind.WITHOUT, "minimal"),
    )
    care = _care(incident, _bottles(0), harms=harms)
    assert _least(care, 1) == pytest.approx([60 / 90, 0.5, 30, 90, 0, 0], abs=1e-9)
    excess, attained, _, _ = care.ask(np.ones(1), np.array([math.inf, 0.75, 45, math.inf, math.inf, math.inf]))
    assert excess == pytest.approx(0)
    assert attained[[1, 2]] == pytest.approx([0.75, 45])


def test_several_kinds_of_harm_are_those_of_one_care() -> None:
    """What one patient has the other lacks: both goals can be met by halves only."""
    incident = scenario(
        horizon=60,
        ladders=[MASK],
        patients=[patients(1, "mask"), patients(1, "mask", category="delayed")],
        lots=[],
        regulators=[regulator(2)],
    )
    care = _care(incident, _bottles(0), harms=(Harm(HarmKind.MISSED, "immediate"), Harm(HarmKind.MISSED, "delayed")))
    two = np.array([2.0])
    assert care.least(two) == pytest.approx([0, 0], abs=1e-9)
    assert care.ask(two, np.zeros(2))[0] == pytest.approx(0.5)
    assert care.ask(two, np.array([0.2, 0.8]))[0] == pytest.approx(0)
    assert care.ask(two, np.array([0.2, 0.6]))[0] == pytest.approx(0.1)


@pytest.mark.parametrize(
    ("at", "devices", "missed"), [(0, 1, 0.0), (20, 1, 0.5), (20, 9, 0.5), (10, 9, 0.5), (0, 0, 0.5)]
)
def test_single_use_devices_of_a_cache_are_not_handed_out_before_it_comes(
    at: float, devices: int, missed: float
) -> None:
    """Two patients after each other, ten minutes each, and one mask: the second one needs another."""
    single = ladder("single", ("mask", 10, 1), single_use=True)
    incident = scenario(
        horizon=60,
        ladders=[single],
        patients=[patients(1, "single", stay=10), patients(1, "single", arrive=10, stay=10)],
        lots=[piped(4)],
        devices={("a", "mask"): 1},
    )
    expected = 0.0 if at == 10 else missed
    assert _least(_care(incident, Supply("masks", 9, {"a": at}, device="mask")), devices) == pytest.approx([expected])


@pytest.mark.parametrize("at", [0, 20])
def test_reusable_devices_serve_one_patient_at_a_time(at: float) -> None:
    """From when they are there."""
    incident = scenario(
        horizon=60, ladders=[MASK], patients=[patients(3, "mask")], lots=[piped(4)], devices={("a", "mask"): 1}
    )
    care = _care(incident, Supply("masks", 9, {"a": at}, device="mask"))
    assert _least(care, 1) == pytest.approx([1 - (60 + (60 - at)) / 180])
    assert _least(care, 9) == pytest.approx([1 - (60 + 2 * (60 - at)) / 180])


@pytest.mark.parametrize(("people", "missed"), [(0, 1.0), (0.25, 0.5), (0.5, 0.0), (3, 0.0)])
def test_people_change_cylinders(people: float, missed: float) -> None:
    """A bottle of half an hour costs fifteen minutes of work, so one patient keeps half a person busy."""
    slow = dataclasses.replace(BOTTLE, change_min=15)
    incident = _hour(1, regulators=[regulator(1)], staff={"a": 0.0})
    care = _care(incident, _bottles(0, lot=slow), Supply("people", 9, {"a": 0}, people=1.0))
    assert _least(care, 9, people) == pytest.approx([missed])


def _two_areas() -> Scenario:
    """Return two patients at a and one at b, for an hour each."""
    return scenario(
        horizon=60,
        ladders=[MASK],
        patients=[patients(2, "mask"), patients(1, "mask", area="b")],
        lots=[],
        regulators=[regulator(2), regulator(1, area="b")],
        areas=("a", "b"),
    )


def test_areas_share_what_is_packed() -> None:
    """Six bottles are enough for all; what cannot reach an area is of no use there."""
    care = _care(_two_areas(), _bottles(0, "a", "b"))
    assert [_least(care, n)[0] for n in (0, 3, 6, 9)] == pytest.approx([1, 0.5, 0, 0])
    only_b = _care(_two_areas(), _bottles(0, "b"))
    assert [_least(only_b, n)[0] for n in (1, 2, 9)] == pytest.approx([5 / 6, 4 / 6, 4 / 6])
    late = _care(_two_areas(), Supply("bottles", 9, {"a": 60.0, "b": 30.0}, lot=BOTTLE))
    assert [_least(late, n)[0] for n in (1, 9)] == pytest.approx([5 / 6, 5 / 6])


def test_division_is_whole_and_as_good_as_can_be() -> None:
    """Three bottles and no half ones; nothing to areas that need none, and no more than there is."""
    care = _care(_two_areas(), _bottles(0, "a", "b"))
    for bottles in range(8):
        division = care.divide(np.array([float(bottles)]))
        assert sum(division.values()) <= bottles
        used = min(division.get((0, "a"), 0), 4) + min(division.get((0, "b"), 0), 2)
        assert used == min(bottles, 6)
    assert care.divide(np.array([2.7])) in ({(0, "a"): 2}, {(0, "b"): 2}, {(0, "a"): 1, (0, "b"): 1})


def test_devices_of_a_cache_move_on_with_patients() -> None:
    """A mask that the cache brings to one area is still worn in the next one, as any mask is."""
    single = ladder("single", ("mask", 10, 1), single_use=True)
    moving = patients(1, "single", stay=60, then=(Spell(30, "b", "immediate", "single"),))
    incident = scenario(
        horizon=60,
        ladders=[single],
        patients=[moving],
        lots=[piped(4), piped(4, area="b", key="other pipe")],
        devices={("a", "mask"): 0, ("b", "mask"): 0},
        areas=("a", "b"),
    )
    care = _care(incident, Supply("masks", 9, {"a": 0.0}, device="mask"))
    assert _least(care, 1) == pytest.approx([0], abs=1e-9)
    assert _least(care, 0) == pytest.approx([1])


@pytest.mark.parametrize("ladders", [MASK, ladder("mask", ("mask", 10, 1), ("mask", 5, 0.7))])
def test_answers_do_not_depend_on_earlier_questions(ladders: Ladder) -> None:
    """Asked in another order, and after a division, with the same excess."""
    incident = dataclasses.replace(_two_areas(), ladders={"mask": ladders})
    questions = [(np.array([n / 2]), np.array([share])) for n in range(10) for share in (0.0, 0.3)]
    care, other = _care(incident, _bottles(10, "a", "b")), _care(incident, _bottles(10, "a", "b"))
    there = [care.ask(*each)[0] for each in questions]
    other.divide(np.array([4.0]))
    back = [other.ask(*each)[0] for each in questions[::-1]]
    assert there == pytest.approx(back[::-1], abs=1e-9)
