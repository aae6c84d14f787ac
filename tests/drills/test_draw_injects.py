"""Injects are drawn only where they fit, when they matter, and never two about the same thing."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest
from small_exercise import COURT, EXERCISE, read_court, read_text

from mci.demand.people import name_people
from mci.drills.draw_casualties import draw_casualties
from mci.drills.draw_injects import draw_injects
from mci.drills.happen import happened
from mci.scenario import read_scenario
from mci.scenario.exercise import Exercise, Inject, InjectKind
from mci.scenario.model import Scenario
from mci.scenario.write_exercise import write_exercise

SEEDS = range(30)


def _briefed(seed: int, court: Scenario | None = None) -> Scenario:
    court = court or read_court()
    return replace(court, patients=draw_casualties(court, seed))


def _thing(inject: Inject) -> str:
    return inject.thing or f"{inject.kind} {inject.area}"


def test_a_second_wave_comes_to_one_area() -> None:
    """One lead is told of it, so it comes to that lead's area, wherever the others are."""
    concert = read_scenario(Path(__file__).parents[2] / "scenarios" / "concert-power-failure.yaml")
    for seed in range(8):
        for each in draw_injects(_briefed(seed, concert), seed, 12):
            assert {patients.course[0].area for patients in each.patients} <= {each.area}


def test_a_seed_is_a_draw() -> None:
    """The same seed draws the same injects, other seeds and other draws of a seed others."""
    briefed = _briefed(3)
    assert draw_injects(briefed, 3, 4) == draw_injects(briefed, 3, 4)
    assert len({draw_injects(briefed, seed, 4) for seed in SEEDS}) == len(SEEDS)
    assert draw_injects(briefed, 3, 4, again=1) != draw_injects(briefed, 3, 4)


@pytest.mark.parametrize("seed", SEEDS)
def test_injects_make_sense(seed: int) -> None:
    """As many as asked, sorted, none in the last fifth, no two about one thing, kinds once before any comes twice."""
    briefed = _briefed(seed)
    injects = draw_injects(briefed, seed, 10)
    assert len(injects) == 10
    assert [each.at for each in injects] == sorted(each.at for each in injects)
    people = name_people(briefed)
    start, end = min(each.arrive for each in people), max(each.leave for each in people)
    assert all(start - 5 <= each.at <= start + 0.8 * (end - start) for each in injects)
    assert len({_thing(each) for each in injects}) == len(injects)
    few = Counter(each.kind for each in draw_injects(briefed, seed, 4))
    assert max(few.values()) == 1


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_drawn_can_be_written_and_happens(seed: int) -> None:
    """The language of scenarios accepts every drawn inject as it is, and each changes what happens."""
    briefed = _briefed(seed)
    injects = draw_injects(briefed, seed, 12)
    exercise = Exercise(injects=injects, seed=seed)
    files = write_exercise(read_text(COURT + EXERCISE), briefed, exercise)
    again = read_text(files["exercise.yaml"]).scenario()
    assert again.exercise is not None
    assert again.exercise.injects == injects
    assert again.patients == briefed.patients
    for inject in injects:
        assert happened(briefed, [inject]) != happened(briefed, [])


@pytest.mark.parametrize("seed", SEEDS)
def test_a_second_wave_is_a_tenth_to_a_quarter_more(seed: int) -> None:
    """There is at most one; those who come have names of their own, come after it and are hurt like others."""
    briefed = _briefed(seed)
    waves = [each for each in draw_injects(briefed, seed, 12) if each.kind is InjectKind.SECOND_WAVE]
    assert len(waves) == 1
    patients, there = waves[0].patients, briefed.patients
    assert max(1, 0.1 * len(there) - 0.5) <= len(patients) <= 0.25 * len(there) + 0.5
    assert not {each.label for each in patients} & {each.label for each in there}
    assert all(waves[0].at < each.arrival.at < briefed.horizon for each in patients)
    alike = {(each.course, each.mechanism) for each in there}
    assert all((each.course, each.mechanism) in alike for each in patients)


@pytest.mark.parametrize("seed", SEEDS)
def test_who_worsens_needs_more(seed: int) -> None:
    """A patient who is there then, to a larger prescribed flow and no less urgent a category."""
    briefed = _briefed(seed)
    people = {person.key: person for person in name_people(briefed)}
    ladders = happened(briefed, draw_injects(briefed, seed, 12)).ladders
    for inject in draw_injects(briefed, seed, 12):
        if inject.kind is InjectKind.PATIENT_WORSENS:
            stay = people[inject.thing].stay_at(inject.at)
            assert stay is not None
            assert ladders[inject.ladder].rungs[0].flow_lpm > ladders[stay.ladder].rungs[0].flow_lpm
            order = ["minimal", "delayed", "immediate"]
            assert order.index(inject.category) >= order.index(stay.category)


LACKS = {
    InjectKind.DELIVERY_LATE: lambda court: replace(
        court, lots=tuple(lot for lot in court.lots if not lot.delivery)
    ),
    InjectKind.POWER_FAILS: lambda court: replace(
        court, lots=tuple(lot for lot in court.lots if not lot.watts_each)
    ),
    InjectKind.WRONG_WASHER: lambda court: replace(
        court,
        regulators=tuple(
            replace(each, outlets=replace(each.outlets, fits=frozenset({"threaded US"}))) for each in court.regulators
        ),
    ),
    InjectKind.CYLINDER_LOW: lambda court: replace(
        court, lots=tuple(lot for lot in court.lots if lot.cylinder is None)
    ),
    InjectKind.REGULATOR_LEAKS: lambda court: replace(
        court, regulators=tuple(replace(each, quantity=1) for each in court.regulators)
    ),
    InjectKind.AREA_MOVES: lambda court: replace(court, staff=()),
}  # fmt: skip


@pytest.mark.parametrize("kind", LACKS)
def test_only_kinds_that_fit_are_drawn(kind: InjectKind) -> None:
    """Every kind is drawn in the small exercise; without what it is about, never."""
    drawn = {each.kind for seed in SEEDS for each in draw_injects(_briefed(seed), seed, 12)}
    assert drawn == set(InjectKind)
    for seed in SEEDS:
        briefed = LACKS[kind](_briefed(seed))  # type: ignore[no-untyped-call]
        assert kind not in {each.kind for each in draw_injects(briefed, seed, 12)}


def test_nobody_no_injects() -> None:
    """Where nobody comes nothing is drawn, and no more is drawn than there are things for."""
    court = read_court()
    assert draw_injects(replace(court, patients=()), 3, 4) == ()
    assert len(draw_injects(_briefed(3), 3, 1000)) < 40


def test_a_cylinder_that_is_nearly_empty_cannot_hold_much_less() -> None:
    """Nothing is drawn that is not below its label, or that no one could bring into service."""
    for seed in SEEDS:
        briefed = _briefed(seed)
        for label in (540.0, 800.0):
            lots = tuple(replace(lot, gauge_psi=label if lot.cylinder else None) for lot in briefed.lots)
            drawn = draw_injects(replace(briefed, lots=lots), seed, 12)
            low = [inject.psi for inject in drawn if inject.kind is InjectKind.CYLINDER_LOW]
            assert all(briefed.in_service_psi < psi < label for psi in low)
            assert low or label < 550


def test_nobody_worsens_to_devices_that_are_not_counted() -> None:
    """Without a number of partial rebreathers at the area nobody comes to high need, whose ladder has them."""
    for seed in SEEDS:
        briefed = _briefed(seed)
        fewer = tuple(stock for stock in briefed.devices if stock.device != "partial rebreather")
        drawn = draw_injects(replace(briefed, devices=fewer), seed, 12)
        assert "high need" not in {inject.ladder for inject in drawn}
    assert any(each.ladder == "high need" for seed in SEEDS for each in draw_injects(_briefed(seed), seed, 12))
