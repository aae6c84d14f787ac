"""Which constraint forbids a goal: what is lifted, by itself, and what is told of it."""

from __future__ import annotations

import dataclasses
import math

import pytest
from small_network import incident, network

from mci.resupply.obstacles import CONSTRAINTS, find_obstacles
from mci.resupply.schedule import Obstacle
from mci.scenario.model import Scenario
from mci.scenario.network import Network, PlaceKind

NET = network(crews=3)
MADE = incident(NET)
TRAVEL, VEHICLES, HOURS, CYLINDERS, REGULATORS, DEVICES, STAFF = CONSTRAINTS

#: Fields of the incident and of its network that each may change.
CHANGED = {
    TRAVEL: {"roads"},
    VEHICLES: {"vehicles", "crews"},
    HOURS: {"places", "stock"},
    CYLINDERS: {"stock"},
    REGULATORS: {"regulators"},
    DEVICES: {"devices"},
    STAFF: {"staff"},
}


def _changes(one: object, other: object) -> set[str]:
    fields = dataclasses.fields(one)  # type: ignore[arg-type]
    return {f.name for f in fields if getattr(one, f.name) != getattr(other, f.name)}


@pytest.mark.parametrize("words", CONSTRAINTS)
def test_one_constraint_is_lifted_at_a_time(words: str) -> None:
    """All that it names is changed, and nothing else."""
    made, net = CONSTRAINTS[words](MADE, NET)
    assert _changes(MADE, made) | _changes(NET, net) == CHANGED[words]


def test_nobody_is_on_the_road() -> None:
    """Every road is as good as none, whatever was closed."""
    _, net = CONSTRAINTS[TRAVEL](MADE, NET)
    assert max(road.minutes for road in net.roads) < 0.01
    assert not any(road.closed for road in net.roads)
    assert [(r.key, r.start, r.end) for r in net.roads] == [(r.key, r.start, r.end) for r in NET.roads]


def test_what_has_no_slot_gets_none() -> None:
    """A vehicle takes plenty of what it takes, in any weight and with any crew, from the start; no other kind."""
    late = tuple(dataclasses.replace(each, available_from=30.0) for each in NET.vehicles)
    _, net = CONSTRAINTS[VEHICLES](MADE, dataclasses.replace(NET, vehicles=late))
    assert [set(each.slots) for each in net.vehicles] == [set(each.slots) for each in NET.vehicles]
    assert all(min(each.slots.values()) > 1000 for each in net.vehicles)
    assert {(each.payload_kg, each.available_from) for each in net.vehicles} == {(math.inf, 0.0)}
    assert net.crews == math.inf


def test_everything_is_open_and_ready() -> None:
    """No hours, no lead: what a supplier has is there from the start, and no more of it."""
    _, net = CONSTRAINTS[HOURS](MADE, NET)
    assert {(w.start, w.end) for place in net.places for w in place.open} == {(0.0, math.inf)}
    assert {each.available_from for each in net.stock} == {0.0}
    assert [each.quantity for each in net.stock] == [each.quantity for each in NET.stock]


def test_more_cylinders_come_from_where_nobody_is_treated() -> None:
    """Full ones at depots and suppliers; what an area lends, empties and regulators stay as many."""
    _, net = CONSTRAINTS[CYLINDERS](MADE, NET)
    area = {place.key for place in NET.places if place.kind is PlaceKind.AREA}
    more = {(s.place, s.item) for s, old in zip(net.stock, NET.stock, strict=True) if s.quantity > old.quantity}
    assert more == {(s.place, s.item) for s in NET.stock if s.place not in area and s.item.endswith(("full", "half"))}


def test_every_area_gets_regulators_devices_and_people() -> None:
    """Also an area that has none of them, and of each kind."""
    bare = dataclasses.replace(MADE, regulators=(), devices=(), staff=())
    regulators = CONSTRAINTS[REGULATORS](bare, NET)[0].regulators
    assert {(each.area, each.outlets.key) for each in regulators} == {
        (area, key) for area in ("a", "b") for key in ("reg", "resupply")
    }
    assert min(each.quantity for each in regulators) > 1000
    devices = CONSTRAINTS[DEVICES](bare, NET)[0].devices
    assert [(each.area, each.device, each.quantity) for each in devices] == [
        ("a", "mask", math.inf),
        ("b", "mask", math.inf),
    ]
    staff = CONSTRAINTS[STAFF](bare, NET)[0].staff
    assert [(each.area, each.people) for each in staff] == [("a", math.inf), ("b", math.inf)]
    assert {each.available_from for each in (*regulators, *devices, *staff)} == {0.0}


def test_what_helps_most_is_told_first_and_what_does_not_is_not_told() -> None:
    """Of seven answers only those below what is missing, in their order; a hundredth of a minute is nothing."""
    answers = dict(zip(CONSTRAINTS, [40.0, 10.0, 50.0, 49.99, 0.0, 60.0, 10.0], strict=True))
    asked: list[tuple[Scenario, Network]] = []

    def ask(scenario: Scenario, net: Network) -> float:
        asked.append((scenario, net))
        return list(answers.values())[len(asked) - 1]

    assert find_obstacles(MADE, NET, 50.0, ask) == (
        Obstacle(REGULATORS, 0.0),
        Obstacle(VEHICLES, 10.0),
        Obstacle(STAFF, 10.0),
        Obstacle(TRAVEL, 40.0),
    )
    assert asked == [lift(MADE, NET) for lift in CONSTRAINTS.values()]
