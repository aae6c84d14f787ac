"""What is lost or late: the network without it, and what cannot be lost."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_network import network, vehicle

from mci.errors import UsageError
from mci.resupply.disrupt import delayed, disrupt, parts_of, without
from mci.scenario.network import Network, Place, Window

NET = network()
KEYS = sorted(parts_of(NET))


def _place(net: Network, key: str) -> Place:
    return next(each for each in net.places if each.key == key)


def test_what_can_be_lost() -> None:
    """Every road, vehicle and place that gives something; areas and junctions are none."""
    assert parts_of(NET) == {
        **dict.fromkeys(("bridge", "lane", "path", "ring west", "ring east", "hill", "gate", "market road"), "road"),
        **dict.fromkeys(("depot", "market", "filling", "yard"), "place"),
        **dict.fromkeys(("truck", "van", "porters"), "vehicle"),
    }


def test_a_road_is_lost_both_ways() -> None:
    """Neither direction is left, and nothing else is lost."""
    left = without(NET, "lane")
    assert left == dataclasses.replace(NET, roads=tuple(road for road in NET.roads if road.key != "lane"))
    assert len(left.roads) == len(NET.roads) - 2


def test_a_vehicle_is_lost() -> None:
    """Only that one."""
    assert [each.key for each in without(NET, "van").vehicles] == ["truck", "porters"]


def test_a_place_that_is_lost_gives_nothing_but_can_be_driven_through() -> None:
    """Its stock and its filling are gone; place and roads stay."""
    left = without(NET, "filling")
    assert _place(left, "filling").filling is None
    assert {each.place for each in left.stock} == {"a", "depot", "market"}
    assert left.roads == NET.roads
    assert [each.key for each in left.places] == [each.key for each in NET.places]
    assert {each.place for each in without(NET, "depot").stock} == {"a", "market", "filling"}


@given(st.sampled_from(KEYS), st.sampled_from(KEYS))
def test_losses_come_in_any_order(one: str, other: str) -> None:
    """Two losses are the same in either order, and what is lost is told as unknown if it is lost once more."""
    if one != other:
        both = without(without(NET, one), other)
        assert both == without(without(NET, other), one)
    if parts_of(NET)[one] != "place":
        with pytest.raises(UsageError):
            without(without(NET, one), one)


def test_a_vehicle_that_is_late_comes_later() -> None:
    """By so many minutes; it leaves no later for that."""
    net = network(vehicles=(vehicle("truck", "depot", available_from=10, available_until=300), vehicle("van", "a")))
    late = delayed(net, "truck", 30)
    assert [(each.available_from, each.available_until) for each in late.vehicles] == [(40, 300), (0, float("inf"))]
    assert dataclasses.replace(late, vehicles=net.vehicles) == net


def test_a_place_that_is_late_gives_later() -> None:
    """What stands there can be loaded, and its hours begin, that much later."""
    late = delayed(NET, "market", 45)
    assert [each.available_from for each in late.stock if each.place == "market"] == [105]
    assert [each for each in late.stock if each.place != "market"] == [e for e in NET.stock if e.place != "market"]
    assert _place(late, "market").open == (Window(45, float("inf")),)
    assert _place(delayed(NET, "filling", 45), "filling").open == (Window(75, 600),)


@pytest.mark.parametrize(
    ("minutes", "hours"),
    [
        (0, (Window(0, 200), Window(260, 600))),
        (150, (Window(150, 200), Window(260, 600))),
        (200, (Window(260, 600),)),
        (230, (Window(260, 600),)),
        (300, (Window(300, 600),)),
        (600, ()),
    ],
)
def test_hours_that_are_over_by_then_are_lost(minutes: float, hours: tuple[Window, ...]) -> None:
    """A depot that opens from T+0 to T+200 and from T+260 to T+600."""
    assert _place(delayed(NET, "depot", minutes), "depot").open == hours


def test_a_place_that_never_opens_is_no_mistake() -> None:
    """It stays closed."""
    net = network(places=tuple(dataclasses.replace(each, open=()) for each in NET.places))
    assert _place(delayed(net, "depot", 30), "depot").open == ()


@given(st.sampled_from([key for key in KEYS if parts_of(NET)[key] != "road"]), st.integers(0, 300), st.integers(0, 300))
def test_minutes_late_add_up(key: str, first: int, then: int) -> None:
    """Late and later again is late by the sum, where the hours are one window; with no minutes nothing changes."""
    one_window = tuple(dataclasses.replace(each, open=(Window(10, 10_000),)) for each in NET.places)
    net = network(places=one_window)
    assert delayed(delayed(net, key, first), key, then) == delayed(net, key, first + then)
    assert delayed(NET, key, 0) == NET


def test_what_is_not_known_is_told_with_the_nearest_name() -> None:
    """A name that is nearly right gets a hint, any other a list of what there is."""
    with pytest.raises(
        UsageError, match=r"^the network has no road, place or vehicle 'bridg'; did you mean 'bridge'\?$"
    ):
        without(NET, "bridg")
    with pytest.raises(
        UsageError, match=r"^the network has no road, place or vehicle 'zzz': there are bridge, depot, "
    ):
        delayed(NET, "zzz", 5)


@pytest.mark.parametrize("key", ["a", "corner"])
def test_areas_and_junctions_cannot_be_lost(key: str) -> None:
    """They give nothing."""
    with pytest.raises(UsageError, match=f"no road, place or vehicle '{key}'"):
        without(NET, key)


def test_a_road_is_not_late() -> None:
    """It is closed in the scenario instead."""
    with pytest.raises(
        UsageError, match=r"^'lane' is a road: name the vehicle or place that is late, or close the road"
    ):
        delayed(NET, "lane", 5)


def test_losses_and_delays_together_are_said_in_words() -> None:
    """First what is lost, then what is late, as one by one; what is lost cannot be late."""
    found, words = disrupt(NET, ["lane", "van"], [("market", 90), ("truck", 5)])
    assert found == delayed(delayed(without(without(NET, "lane"), "van"), "market", 90), "truck", 5)
    assert words == (
        "without road lane",
        "without vehicle van",
        "with place market 1 h 30 min late",
        "with vehicle truck 5 min late",
    )
    assert disrupt(NET, [], []) == (NET, ())
    with pytest.raises(UsageError, match="no road, place or vehicle 'van'"):
        disrupt(NET, ["van"], [("van", 5)])
