"""The best of one more, found without solving for the others, is the best of all that are solved for."""

from __future__ import annotations

import itertools
import random
from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd
import pytest
from incidents import cylinders, ladder, outlet_set, patients, regulator, scenario

import mci
from mci.demand.groups import count_demand
from mci.lp.allocate import Allocation, allocate
from mci.lp.frame import Frame
from mci.lp.worth import best_of_one_more, worth_of_one_more
from mci.settings import Settings

if TYPE_CHECKING:
    from mci.scenario.model import Scenario

FOLDER = Path(mci.__file__).parents[1] / "scenarios"
BUNDLED = sorted(FOLDER.glob("*.yaml"))
#: Without further breakpoints, which change no optimum.
COARSE = Settings(max_period=float("inf"))
PAIR = " plus one "


def _solved(incident: Scenario, settings: Settings = COARSE) -> Allocation:
    return allocate(incident, count_demand(incident, settings.max_period), settings)


def _hold_best_is_best(found: pd.DataFrame, every: pd.DataFrame) -> None:
    """Hold that the row found is the one of most gain among single things, of pairs only where no single one gains."""
    single = every[~every["one_more"].str.contains(PAIR)]
    candidates = single if len(single) else every
    assert len(found) == min(1, len(candidates))
    if len(found):
        assert list(found.columns) == list(every.columns)
        names, row = ["resource", "area", "one_more"], found.iloc[0]
        same = candidates[(candidates[names] == row[names]).all(axis=1)]
        assert len(same) == 1, "it is none of the rows"
        numbers = [column for column in every.columns if column not in names]
        assert row[numbers].tolist() == pytest.approx(same.iloc[0][numbers].tolist(), rel=1e-6, abs=1e-6)
        assert row["weighted_gain_min"] == pytest.approx(candidates["weighted_gain_min"].max(), rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("path", BUNDLED, ids=lambda path: path.stem)
def test_best_of_every_bundled_incident(path: Path) -> None:
    """In every incident that comes with the planner, the row is that of the largest gain of a single thing."""
    incident = mci.read_scenario(path)
    every = worth_of_one_more(_solved(incident))
    assert len(every) > 1
    _hold_best_is_best(best_of_one_more(_solved(incident)), every)


@pytest.mark.parametrize("priority", ["weighted", "strict"])
def test_best_of_variants_of_the_ferry(priority: str) -> None:
    """Asked of one programme that is changed in place, it is the best too, by either rule of priority."""
    draft = mci.read_draft(FOLDER / "ferry-fire.yaml")
    variants = [
        {"staff.share": "50 %", "regulators.share": "60 %"},
        {"patients.immediate.count": "16", "devices.share": "30 %"},
        {"deliveries.county oxygen truck.delay": "45 min", "supplies.share": "50 %"},
    ]
    frame = Frame([draft.scenario(values) for values in variants], Settings(priority, max_period=float("inf")))
    told = set()
    for values in variants:
        every = worth_of_one_more(frame.allocate(draft.scenario(values)))
        found = best_of_one_more(frame.allocate(draft.scenario(values)))
        _hold_best_is_best(found, every)
        told.add(found["one_more"].iloc[0])
    assert len(told) > 1


def _made(random_numbers: random.Random) -> Scenario:
    """Make an incident of two areas in which gas, regulators, devices or hands may be what lacks."""
    draw = random_numbers.randint
    high = ladder("high", ("mask", 10.0, 1.0), ("prongs", 4.0, 0.5))
    low = ladder("low", ("prongs", 2.0, 1.0))
    areas, reg, many = ("a", "b"), outlet_set("reg"), outlet_set("many", 3, each=10, total=24)
    return scenario(
        horizon=60,
        ladders=[high, low],
        areas=areas,
        patients=[
            patients(draw(1, 6), key, area=area, category=category, arrive=5.0 * draw(0, 4), stay=10.0 * draw(2, 5))
            for area in areas
            for key, category in (("high", "immediate"), ("low", "minimal"))
        ],
        lots=[
            cylinders(draw(0, 5), litres, area=area, key=f"{litres}-{area}", change=draw(0, 3))
            for area, litres in itertools.product(areas, (200, 900))
        ],
        regulators=[regulator(draw(0, 4), area=area, outlets=kind) for area in areas for kind in (reg, many)],
        devices={(area, "mask"): float(draw(0, 5)) for area in areas},
        staff={area: float(draw(0, 2)) for area in areas},
    )


def test_best_of_made_incidents() -> None:
    """Whatever lacks in made incidents (gas, regulators, devices, hands, or a pair of two), the best is found."""
    random_numbers = random.Random(5)  # noqa: S311
    binds: set[str] = set()
    for _ in range(30):
        made = _made(random_numbers)
        found = best_of_one_more(_solved(made))
        _hold_best_is_best(found, worth_of_one_more(_solved(made)))
        binds |= set(found["resource"])
    assert binds >= {"gas supply", "regulators", "delivery devices", "people who change cylinders"}


def _alone(count: int, supplies: int, regulators: int) -> Scenario:
    """Make an incident in which each patient empties half a cylinder."""
    return scenario(
        horizon=60,
        ladders=[ladder("l", ("mask", 5.0, 1.0))],
        patients=[patients(count, "l")],
        lots=[cylinders(supplies, 600.0)],
        regulators=[regulator(regulators)],
    )


def test_pair_where_nothing_alone_gains() -> None:
    """One cylinder on one regulator for two: only a second of both gains, 60 minutes of one patient."""
    found = best_of_one_more(_solved(_alone(2, 1, 1)))
    assert found["one_more"].str.contains(PAIR).tolist() == [True]
    assert found["weighted_gain_min"].tolist() == pytest.approx([60.0])
    assert found["gain_share"].tolist() == pytest.approx([0.5])
    single = best_of_one_more(_solved(_alone(2, 2, 1)))
    assert single["resource"].tolist() == ["regulators"]


def test_nothing_where_everybody_is_covered() -> None:
    """There is no row where nobody lacks anything."""
    for patient, supplies, regulators in ((1, 1, 1), (2, 2, 2), (2, 5, 3)):
        found = best_of_one_more(_solved(_alone(patient, supplies, regulators)))
        assert not len(found)
        assert "one_more" in found.columns
