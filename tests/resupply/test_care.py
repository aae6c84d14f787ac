"""What trips are worth to care: by hand, and asked twice."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from joint import INF, area, depot, truck
from one_road import FULL, one_road, planner
from small_network import both_ways, stop, trip

from mci.plan.trips import Trip
from mci.resupply.care import Care, Worth
from mci.scenario.network import Stock

ASKED = planner(one_road(2))
NET = ASKED.network


def _brings(count: int, at: float, key: str = "truck, trip 1") -> Trip:
    """Return a trip that has so many small ones in hand at the area at a moment [min]."""
    load = f"{count} small full"
    return trip(key, "truck", stop("depot", at - 40, at - 35, "road", load=load), stop("a", at - 5, at, unload=load))


@pytest.mark.parametrize(
    ("count", "at", "minutes"),
    [(0, 60, 60), (1, 40, 90), (1, 60, 90), (1, 75, 90), (2, 60, 120), (2, 70, 110), (3, 70, 110), (1, 119, 61)],
)
def test_worth_by_hand(count: int, at: float, minutes: float) -> None:
    """Own gas till T+60, then what came by then: an end at T+120, and 30 min for each."""
    found = ASKED.care.worth(NET, [_brings(count, at)] if count else [])
    assert found == Worth({}, pytest.approx(minutes), {"immediate": pytest.approx(minutes)})


def test_a_moment_counts_from_the_next_step_on() -> None:
    """Steps of a minute: what is in hand at T+70 and a half is there from T+71 on."""
    assert ASKED.care.worth(NET, [_brings(2, 70.5)]).weighted == pytest.approx(109)
    given = ASKED.care.given(NET, [_brings(2, 70.5)])["a"]
    row = [each.item.key for each in _grants(ASKED.care)].index(FULL)
    assert given[row].tolist() == [0.0] * 71 + [2.0] * 49


def _grants(care: Care):  # type: ignore[no-untyped-def]
    return care._grants["a"]


def test_asked_twice_is_answered_alike() -> None:
    """Whatever was asked in between; trips in any order."""
    early, late = _brings(1, 45), _brings(1, 90, "truck, trip 2")
    first = ASKED.care.worth(NET, [early, late])
    ASKED.care.worth(NET, [late])
    assert ASKED.care.worth(NET, [late, early]) == first
    assert planner(one_road(2)).care.worth(NET, [early, late]).weighted == pytest.approx(first.weighted)


def test_an_area_is_asked_only_once_for_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    """A programme is solved for each different question only."""
    care = planner(one_road(2)).care
    care.worth(NET, [])
    solved = []
    programme = care._loaded["a"]
    ask = type(programme).value
    monkeypatch.setattr(type(programme), "value", lambda self, given: solved.append(1) or ask(self, given))
    for count in (0, 1, 1, 2, 0, 2):
        care.worth(NET, [_brings(count, 60)] if count else [])
    assert len(solved) == 2  # one and two cylinders; none was known


def test_what_nobody_needs_is_told() -> None:
    """Four come where two are needed; of one that is needed in part nothing is left over."""
    for count, unused in ((4, 2), (2, 0), (1, 0)):
        assert ASKED.care.unused(NET, [_brings(count, 60)])["a", FULL] == unused
    assert ASKED.care.unused(NET, [_brings(2, 75)])["a", FULL] == 0  # 45 min: a cylinder and a half


def test_goals_ask_for_their_share_of_the_need() -> None:
    """70 % of two hours: 84 min, of which half an hour and less is missing as more comes."""
    asked = planner(one_road(2), 0.7)
    assert asked.care.needed == {("a", "immediate"): pytest.approx(84)}
    for trips, missing in (([], 24), ([_brings(1, 100)], 4), ([_brings(1, 60)], 0)):
        found = asked.care.worth(asked.network, trips)
        assert found.missing == {("a", "immediate"): pytest.approx(missing, abs=1e-6)}
        assert found.short == pytest.approx(missing, abs=1e-6)


def test_good_enough_is_judged_by_goals_where_there_are_any() -> None:
    """Less coverage is as good if no more is missing; without goals coverage decides."""
    one, other = Worth({("a", "x"): 5.0}, 10.0, {}), Worth({("a", "x"): 5.0}, 20.0, {})
    assert one.as_good_as(other, 0.0)
    assert not Worth({("a", "x"): 5.1}, 30.0, {}).as_good_as(other, 0.05)
    assert not Worth({}, 10.0, {}).as_good_as(Worth({}, 20.0, {}), 1.0)
    assert Worth({}, 19.5, {}).as_good_as(Worth({}, 20.0, {}), 1.0)


def test_what_is_lent_and_taken_away_is_missed() -> None:
    """The area lends its two cylinders: both are there at first, and one less once a truck took one."""
    lending = one_road(2, stock=(Stock("a", FULL, 2, 0, "own"),))
    asked = planner(lending)
    assert lending.network is not None
    taken = trip("t", "truck", stop("depot", 0, 0, "road"), stop("a", 30, 35, "road", load="1 small full"))
    assert asked.care.worth(lending.network, []).weighted == pytest.approx(60)
    assert asked.care.worth(lending.network, [taken]).weighted == pytest.approx(30)


def test_areas_are_asked_apart() -> None:
    """What comes to one area changes nothing at another."""
    two = one_road(
        2,
        places=(area("a"), area("b"), depot()),
        roads=(*both_ways("road", "a", "depot", 30), *both_ways("lane", "b", "depot", 30)),
        vehicles=(truck(loading=5, unloading=5, payload_kg=INF),),
    )
    patients_too = dataclasses.replace(
        two.patients[0], course=(dataclasses.replace(two.patients[0].course[0], area="b"),)
    )
    two = dataclasses.replace(two, patients=(*two.patients, patients_too))
    asked = planner(two)
    net = asked.network
    before = asked.care.given(net, [])
    after = asked.care.given(net, [_brings(2, 60)])
    assert np.array_equal(before["b"], after["b"])
    gained = asked.care.worth(net, [_brings(2, 60)]).weighted - asked.care.worth(net, []).weighted
    assert gained == pytest.approx(60)
