"""How late a delivery may come is what trying every breakpoint says."""

from __future__ import annotations

import dataclasses
import math
import random
from collections.abc import Sequence
from pathlib import Path

import incidents
import pytest

import mci
from mci.demand.groups import count_demand
from mci.lp.allocate import Part, allocate, solve_part
from mci.lp.parts import split
from mci.scenario.model import Lot, Scenario
from mci.settings import Settings
from mci.surge.late import last_safe_arrival, postpone
from mci.surge.study import Study

FOLDER = Path(mci.__file__).parents[1] / "scenarios"
SETTINGS = Settings(max_period=math.inf)


def _bound(scenario: Scenario, area: str = "") -> float:
    """Return the best possible, of one area alone where it is named, from a programme of its own."""
    demand = count_demand(scenario)
    parts = [part for part in split(scenario, demand) if area in ("", part[0].areas[0].key)]
    solved = [solve_part(*part, SETTINGS) for part in parts]
    return sum(float(part.earns @ part.best.values) for part in solved)


def _by_trying(scenario: Scenario, moments: Sequence[float], delivery: str, due: float, area: str = "") -> float:
    """Return the latest breakpoint at which a delivery costs nothing; NaN where it may never come."""
    base = _bound(scenario, area)
    later = [moment for moment in moments if moment > due + 1e-6]
    safe = [m for m in later if _bound(postpone(scenario, delivery, m - due), area) >= base * (1 - 1e-6)]
    return math.nan if later[-1:] == safe[-1:] else max(safe, default=due)


@pytest.mark.parametrize(
    ("name", "delivery", "more", "area"),
    [
        ("ferry-fire", "county oxygen truck", {"patients.count": "26", "incident.horizon": "2 h"}, ""),
        ("tunnel-fire", "oxygen van from the valley", {"incident.horizon": "1 h"}, "north"),
    ],
)
def test_last_safe_is_the_latest_breakpoint_without_loss(
    name: str, delivery: str, more: dict[str, str], area: str
) -> None:
    """In the ferry and the tunnel, with the delivery due early, it is the latest breakpoint that costs nothing."""
    draft = mci.read_draft(FOLDER / f"{name}.yaml")
    values = {f"deliveries.{delivery}.at": "T+20", **more}
    scenario = draft.scenario(values)
    study = Study(draft, SETTINGS, (values,))
    parts = study.answer(scenario).parts
    moments = parts[0].index.grid.points.tolist()
    expected = _by_trying(scenario, moments, delivery, 20.0, area)
    assert 20.0 < expected < scenario.horizon
    assert last_safe_arrival(scenario, parts, study.as_good) == (expected, delivery)


def _as_good(scenario: Scenario, parts: Sequence[Part]) -> bool:
    """Compare two best possibles, each from a programme of its own."""
    reached = sum(float(part.earns @ part.best.values) for part in parts)
    there = sum(_bound(scenario, part.scenario.areas[0].key) for part in parts)
    return there >= reached * (1 - 1e-6)


def _cart(name: str, count: int, at: float, area: str = "a") -> Lot:
    """Return cylinders of 100 L that come."""
    made = incidents.cylinders(count, 100.0, area=area, key=f"{name}-{area}", arrive=at)
    return dataclasses.replace(made, delivery=name)


def _made(*coming: Lot, there: int, count: int = 2, areas: tuple[str, ...] = ("a",)) -> Scenario:
    """Make an incident of an hour in which each patient needs 10 L/min, a cylinder every ten minutes."""
    return incidents.scenario(
        horizon=60,
        ladders=[incidents.ladder("l", ("mask", 10.0, 1.0))],
        patients=[incidents.patients(count, "l", area=area) for area in areas],
        lots=[*coming, *(incidents.cylinders(there, 100.0, area=area, key=f"there-{area}") for area in areas)],
        regulators=[incidents.regulator(count, area=area) for area in areas],
        areas=areas,
    )


def _told(scenario: Scenario, step: float = 1.0) -> tuple[float, str]:
    parts = allocate(scenario, count_demand(scenario, step), Settings(max_period=step)).parts
    return last_safe_arrival(scenario, parts, _as_good)


def test_last_safe_by_hand() -> None:
    """Two patients use one of eight cylinders every five minutes, so what comes must come by T+40.

    Of what comes in two loads, either may come as late as the gas there and that of the other load last.
    """
    assert _told(_made(_cart("cart", 4, 5), there=8)) == (40, "cart")
    assert _told(_made(_cart("cart", 4, 40), there=8)) == (40, "cart")
    two = _made(_cart("early", 2, 5), _cart("late", 2, 30), there=8)
    assert _told(two) == (50, "late")


def test_the_delivery_that_can_wait_least_is_told() -> None:
    """Not the one that must come first, but the one with the least time between when it is due and when it must come.

    At ``a`` it is due at T+2 and must come by T+30; at ``b`` it is due at T+35 and must come by T+45.
    """
    areas = ("a", "b")
    incident = _made(_cart("first", 6, 2, "a"), _cart("second", 6, 35, "b"), there=6, areas=areas)
    more = dataclasses.replace(incident, lots=(*incident.lots, incidents.cylinders(3, 100.0, area="b", key="more")))
    assert _told(more) == (45, "second")
    assert _told(_made(_cart("first", 6, 2, "a"), _cart("second", 6, 2, "b"), there=6, areas=areas)) == (30, "first")


def test_one_delivery_to_two_areas_comes_as_one() -> None:
    """A delivery to two areas is postponed everywhere at once: the area that can wait least counts."""
    incident = _made(_cart("van", 4, 5, "a"), _cart("van", 6, 5, "b"), there=8, areas=("a", "b"))
    scarce = dataclasses.replace(
        incident,
        lots=tuple(
            incidents.cylinders(6, 100.0, area="b", key=lot.key) if lot.key == "there-b" else lot
            for lot in incident.lots
        ),
    )
    assert _told(scarce) == (30, "van")


def test_what_may_never_come_has_no_last_safe_moment() -> None:
    """Where nothing is delivered, or all of it is too much or too late anyway, no moment and no name are told."""
    for incident in (
        _made(there=4),
        _made(_cart("cart", 4, 5), there=12),
        _made(_cart("cart", 4, 60), there=4),
        _made(_cart("cart", 4, 90), there=4),
    ):
        moment, name = _told(incident)
        assert math.isnan(moment)
        assert name == ""


def test_several_deliveries_as_by_trying_each() -> None:
    """In made incidents, what is told is the least wait that trying every breakpoint of every delivery finds."""
    random_numbers = random.Random(2)  # noqa: S311
    draw = random_numbers.randint
    waits = set()
    for _ in range(15):
        due = {f"cart {n}": 5.0 * draw(0, 8) for n in range(draw(1, 3))}
        coming = [_cart(name, draw(1, 4), moment or 1.0) for name, moment in due.items()]
        incident = _made(*coming, there=draw(2, 12), count=draw(1, 3))
        moments = count_demand(incident, 5.0).grid.points.tolist()
        last = {lot.delivery: _by_trying(incident, moments, lot.delivery, lot.available_from) for lot in coming}
        wait = {lot.delivery: last[lot.delivery] - lot.available_from for lot in coming}
        least = min((each for each in wait.values() if not math.isnan(each)), default=math.nan)
        moment, name = _told(incident, 5.0)
        if math.isnan(least):
            assert math.isnan(moment)
            assert name == ""
        else:
            assert (wait[name], last[name]) == (least, moment)
        waits.add(least)
    assert len(waits) > 4


def test_postponing_moves_one_delivery_and_nothing_else() -> None:
    """Lots, regulators and devices of the delivery come later by the same time; everything else stays."""
    ferry = mci.read_scenario(FOLDER / "ferry-fire.yaml")
    later = postpone(ferry, "county oxygen truck", 17.0)
    moved = 0
    for kind in ("lots", "regulators", "devices"):
        for old, new in zip(getattr(ferry, kind), getattr(later, kind), strict=True):
            extra = 17.0 if old.delivery == "county oxygen truck" else 0.0
            assert dataclasses.replace(old, available_from=old.available_from + extra) == new
            moved += extra > 0
    assert moved == 5
    assert dataclasses.replace(later, lots=ferry.lots, regulators=ferry.regulators, devices=ferry.devices) == ferry
    assert postpone(ferry, "no such delivery", 17.0) == ferry
