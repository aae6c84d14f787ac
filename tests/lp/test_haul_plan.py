"""Transport and allocation together, against what a person works out with pencil and paper.

Steps divide every time, so nothing is rounded but for :data:`mci.lp.haul_plan.TIDY`.
"""

from __future__ import annotations

import dataclasses
import itertools

import numpy as np
import pytest
from incidents import ladder, patients, regulator
from joint import ALWAYS, INF, ITEMS, area, depot, errand, joint, plan, truck
from small_network import both_ways, full_lot, stop, trip

from mci.demand.groups import count_demand
from mci.errors import NoPlanError
from mci.lp.allocate import allocate
from mci.lp.haul_plan import TIDY, plan_hauls
from mci.plan.deliver import deliver
from mci.scenario.model import DeviceStock, Scenario, Spell
from mci.scenario.network import Filling, Place, PlaceKind, Stock, Window
from mci.settings import Settings

SMALL = ITEMS["small full"].lot
TWO_AREAS = {"places": (area("a"), area("b"), depot())}


def _reaches(incident: Scenario, step: float, credit: float) -> None:
    """Check that the bound is what was worked out, and never below it."""
    made = joint(incident, step)
    found = plan_hauls(made, Settings()).bound
    assert credit - 1e-6 <= found <= credit + TIDY * made.full + 1e-6


def _station(*hours: Window, per_hour: float = INF, litres: float = INF) -> Place:
    filling = Filling(frozenset({"small"}), per_hour, litres)
    return Place("depot", "", PlaceKind.FILL_STATION, hours or ALWAYS, filling=filling)


@pytest.mark.parametrize("step", [5, 10, 30])
def test_one_truck_one_road(step: float) -> None:
    """Two cylinders of half an hour each come at T+30: an hour of oxygen, in steps of any length."""
    _reaches(errand(), step, 60)


def test_nothing_comes_before_it_can() -> None:
    """Six cylinders would last three hours, but of the first two hours half an hour is over when they come."""
    _reaches(errand(horizon=120, stock=(Stock("depot", "small full", 6, 0),)), 10, 90)


def test_slots_bind() -> None:
    """With room for one cylinder the truck comes at T+30, T+90, T+150 and T+210: four of them, not five."""
    five = (Stock("depot", "small full", 5, 0),)
    _reaches(errand(vehicles=(truck(slots={"small": 1}),), stock=five), 10, 120)
    _reaches(errand(vehicles=(truck(slots={"small": 1}), truck("other")), stock=five), 10, 150)


def test_each_kind_has_its_own_slots() -> None:
    """Six small ones and a large one at once, all by T+30: six patients for half an hour, a seventh for an hour."""
    heaps = (Stock("depot", "small full", 6, 0), Stock("depot", "large full", 1, 0))
    _reaches(errand(people=[patients(7, "one")], horizon=90, stock=heaps), 10, 6 * 30 + 60)


def test_what_has_no_slot_stays() -> None:
    """Nobody takes large cylinders on a truck with room for small ones."""
    stock = (Stock("depot", "large full", 1, 0),)
    _reaches(errand(vehicles=(truck(slots={"small": 9}),), stock=stock), 10, 0)


def test_payload_binds() -> None:
    """Of 5 kg each, 12 kg are 2.4 cylinders in one journey: cylinders are divisible here."""
    once = truck(payload_kg=12, available_until=30)
    _reaches(errand(vehicles=(once,), stock=(Stock("depot", "small full", 6, 0),)), 10, 72)


def test_who_cannot_bear_one_brings_none() -> None:
    """Nobody takes four fifths of a cylinder of 5 kg."""
    _reaches(errand(vehicles=(truck(payload_kg=4),)), 10, 0)


def test_a_truck_is_there_only_in_its_hours() -> None:
    """From T+60 on it comes at T+90; gone by T+120 it cannot come a second time."""
    hours = truck(slots={"small": 1}, available_from=60, available_until=120)
    _reaches(errand(vehicles=(hours,), stock=(Stock("depot", "small full", 6, 0),)), 10, 30 + 30 * 30 / 60)


def test_loading_takes_time_before_anything_leaves() -> None:
    """Loaded by T+20, there by T+50: of 200 min 150 are left."""
    slow = truck(loading=20)
    _reaches(errand(horizon=200, vehicles=(slow,), stock=(Stock("depot", "small full", 6, 0),)), 10, 150)


def test_handling_takes_time() -> None:
    """Half an hour of road and another for six: by T+40, T+50 and T+60 four, five and six, in parts of a truck."""
    slow = truck(unloading=30)
    incident = errand(
        horizon=60, people=[patients(6, "one")], vehicles=(slow,), stock=(Stock("depot", "small full", 6, 0),)
    )
    _reaches(incident, 10, 10 * (4 + 5 + 6))


def test_long_unloading_is_as_long_for_one_as_for_many() -> None:
    """Six at once are unloaded from T+30 to T+90: what trips reach is within the bound."""
    slow = truck(unloading=60)
    incident = errand(
        horizon=120, people=[patients(6, "one")], vehicles=(slow,), stock=(Stock("depot", "small full", 6, 0),)
    )
    assert plan(incident, 10).bound >= 6 * 30


def test_kinds_are_handled_together() -> None:
    """Six small ones and a large one are one load: an hour of handling, not two."""
    slow = truck(loading=30, unloading=30)
    heaps = (Stock("depot", "small full", 6, 0), Stock("depot", "large full", 1, 0))
    incident = errand(horizon=100, people=[patients(7, "one")], vehicles=(slow,), stock=heaps)
    assert plan(incident, 10).bound >= 7 * 10


@pytest.mark.parametrize("step", [5, 10])
def test_crews_bind(step: float) -> None:
    """Two trucks with two people each, two people in all: the second leaves as the first one arrives, at T+30.

    People are counted at the start of each step, so here the second may leave, and arrive, one step early: six more
    patients for the last step of an hour.
    """

    def two_trucks(crews: float) -> Scenario:
        return errand(
            horizon=60,
            people=[patients(12, "one")],
            regulators=12,
            vehicles=(truck(), truck("other")),
            stock=(Stock("depot", "small full", 12, 0),),
            crews=crews,
        )

    _reaches(two_trucks(2), step, 6 * 30 + 6 * step)
    _reaches(two_trucks(3), step, 9 * 30 + 3 * step)
    _reaches(two_trucks(4), step, 12 * 30)


@pytest.mark.parametrize(
    ("station", "filled"),
    [
        (_station(per_hour=1), 3.5),
        (_station(litres=150), 1.75),
        (_station(Window(60, 180), per_hour=1), 2),
        (_station(Window(0, 30), Window(120, 150), per_hour=2), 2),
    ],
)
def test_filling_binds(station: Place, filled: float) -> None:
    """What is filled within the hours, by T+210 so that it comes before the end: half an hour per cylinder."""
    empties = (Stock("depot", "small empty", 9, 0),)
    incident = errand(
        people=[patients(6, "one")], places=(area("a"), station), stock=empties, vehicles=(truck(slots={"small": 99}),)
    )
    _reaches(incident, 10, 30 * filled)


def test_a_cylinder_goes_round() -> None:
    """It lasts 30 min and is an hour on the road to be filled and back, drop by drop: two parts of four are used.

    What is drawn from T+0 to T+30 can be drawn again from T+60, T+120 and T+180 on.
    """
    incident = errand(places=(area("a"), _station()), stock=())
    own = full_lot(ITEMS["small full"].lot.cylinder, 300, 1, key="own", area="a")
    _reaches(dataclasses.replace(incident, lots=(own,)), 10, 4 * 30)


def test_a_cylinder_that_is_nearly_empty_may_be_filled() -> None:
    """57 of 60 L are drawn, which is empty by the rules; an hour later it is back with 300 L: 5.7 and 30 min."""
    people = [patients(1, "one", stay=5.7), dataclasses.replace(patients(1, "one", arrive=90), label="later")]
    own = full_lot(ITEMS["small full"].lot.cylinder, 60, 1, key="own", area="a")
    incident = errand(horizon=150, places=(area("a"), _station()), stock=(), people=people)
    assert plan(dataclasses.replace(incident, lots=(own,)), 10).bound >= 35.7


def test_an_empty_is_needed_to_fill() -> None:
    """A station without empties fills nothing; with two it fills two, in the one journey that there is time for."""
    once = truck(slots={"small": 2}, available_until=30)
    for empties in (0, 1, 2):
        stock = (Stock("depot", "small empty", empties, 0), Stock("depot", "reg", 1, 0))
        incident = errand(horizon=90, places=(area("a"), _station()), stock=stock, vehicles=(once,))
        _reaches(incident, 10, min(60, 30 * empties))


def test_a_supplier_needs_its_lead() -> None:
    """What is ready at T+60 comes at T+90: of 100 min ten are left."""
    places = (area("a"), Place("depot", "", PlaceKind.SUPPLIER, ALWAYS, lead=60))
    _reaches(errand(horizon=100, places=places, stock=(Stock("depot", "small full", 6, 60),)), 10, 10)


@pytest.mark.parametrize("closed", [(0, 60), (20, 60)])
def test_a_closed_road_is_waited_for(closed: tuple[float, float]) -> None:
    """Who would be on the road at T+20 waits before it till T+60."""
    roads = both_ways("road", "a", "depot", 30, closed=(Window(*closed),))
    _reaches(errand(horizon=100, roads=roads), 10, 10)


def _lending(quantity: int) -> Scenario:
    """Return an incident where ``b`` lends small cylinders to ``a``, ten minutes on foot."""
    porters = truck("porters", "b", slots={"small": 2}, on_foot=True)
    incident = errand(
        horizon=40,
        people=[patients(1, "one"), patients(1, "one", area="b", category="delayed")],
        places=(area("a"), area("b")),
        roads=both_ways("path", "a", "b", 10, on_foot=True),
        vehicles=(porters,),
        stock=(Stock("b", "small full", quantity, 0, "own"),),
    )
    own = full_lot(SMALL.cylinder, 300, quantity, key="own", area="b")
    return dataclasses.replace(incident, lots=(own,))


def test_areas_lend_on_foot() -> None:
    """Immediate (weight 1) at ``a`` for 30 min from T+10 on; the second cylinder for Delayed (0.5) at ``b``."""
    _reaches(_lending(1), 10, 30)
    _reaches(_lending(2), 10, 30 + 15)


def test_vehicles_do_not_take_paths() -> None:
    """With a truck instead of porters nothing leaves ``b``."""
    lending = _lending(1)
    net = dataclasses.replace(lending.network, vehicles=(truck(place="b"),))
    _reaches(dataclasses.replace(lending, network=net), 10, 15)


def test_weights_decide_between_areas() -> None:
    """Three cylinders for two areas half an hour away: an hour of Immediate, half an hour of Delayed."""
    incident = errand(
        horizon=90,
        people=[patients(1, "one"), patients(1, "one", area="b", category="delayed")],
        roads=(*both_ways("road", "a", "depot", 30), *both_ways("lane", "b", "depot", 30)),
        vehicles=(truck(), truck("other")),
        stock=(Stock("depot", "small full", 3, 0),),
        **TWO_AREAS,
    )
    _reaches(incident, 10, 60 + 0.5 * 30)


def test_one_truck_cannot_be_at_two_areas_at_once() -> None:
    """Half a truck for each is the most that divisible trucks give; minutes on the road hold."""
    incident = errand(
        horizon=60,
        people=[patients(1, "one"), patients(1, "one", area="b")],
        roads=(*both_ways("road", "a", "depot", 30), *both_ways("lane", "b", "depot", 30)),
        vehicles=(truck(slots={"small": 1}),),
        stock=(Stock("depot", "small full", 3, 0),),
        **TWO_AREAS,
    )
    _reaches(incident, 10, 30)


@pytest.mark.parametrize("regulators", [0, 1, 2])
def test_regulators_must_come_too(regulators: int) -> None:
    """From T+30 to T+120 as many patients are served as regulators came."""
    stock = (Stock("depot", "small full", 6, 0), Stock("depot", "reg", regulators, 0))
    _reaches(errand(horizon=120, people=[patients(2, "one")], regulators=0, stock=stock), 10, 90 * regulators)


@pytest.mark.parametrize("single_use", [False, True])
def test_devices_must_come_too(single_use: bool) -> None:
    """One mask for two patients with gas enough: one of them from T+30 to T+120."""
    incident = errand(
        horizon=120,
        people=[patients(2, "one")],
        stock=(Stock("depot", "small full", 6, 0), Stock("depot", "mask", 1, 0)),
    )
    one = ladder("one", ("mask", 10, 1.0), single_use=single_use)
    none = (DeviceStock("a-mask", "a", "mask", 0, 0, ""),)
    _reaches(dataclasses.replace(incident, ladders={"one": one}, devices=none), 10, 90)


def test_a_mask_that_came_moves_on_with_its_patient() -> None:
    """One mask comes to ``a`` at T+30 and to ``b``, where there is none, at T+60: 210 of 240 min."""
    moving = patients(1, "one", then=(Spell(60, "b", "immediate", "one"),))
    incident = errand(people=[moving], stock=(Stock("depot", "mask", 1, 0),), **TWO_AREAS)
    gas = tuple(full_lot(SMALL.cylinder, 300, 9, key=f"own {key}", area=key) for key in "ab")
    none = tuple(DeviceStock(f"{key}-mask", key, "mask", 0, 0, "") for key in "ab")
    one = ladder("one", ("mask", 10, 1.0), single_use=True)
    _reaches(dataclasses.replace(incident, ladders={"one": one}, lots=gas, devices=none), 10, 210)


def test_the_reserve_may_be_kept_in_what_comes() -> None:
    """300 L stay back: one of three cylinders, whichever; two are used, the own one before T+30."""
    own = full_lot(SMALL.cylinder, 300, 1, key="own", area="a")
    late = truck(available_from=150)  # comes at T+180
    incident = dataclasses.replace(
        errand(horizon=200, vehicles=(late,), regulators=9), lots=(own,), reserve={"a": 300.0}
    )
    _reaches(incident, 10, 30 + 20)


def test_a_reserve_that_nothing_can_fill_is_no_plan() -> None:
    """1000 L are asked for where 900 can ever be."""
    own = full_lot(SMALL.cylinder, 300, 1, key="own", area="a")
    incident = dataclasses.replace(errand(), lots=(own,), reserve={"a": 1000.0})
    with pytest.raises(NoPlanError):
        plan(incident, 10)


def test_a_reserve_where_nothing_is_yet_must_come() -> None:
    """300 L of the two cylinders that come stay back; where none can come it is said how much there is."""
    incident = dataclasses.replace(errand(), reserve={"a": 300.0})
    _reaches(incident, 10, 30)
    stuck = dataclasses.replace(errand(vehicles=()), reserve={"a": 300.0})
    with pytest.raises(NoPlanError, match="the reserve of 300 L at a: only 0 L can be there at the end"):
        plan(stuck, 10)


HEAPS = (Stock("depot", "small full", 5, 0), Stock("depot", "large full", 2, 0))
TWO_LARGE = truck(slots={"small": 6, "large": 2})


def test_a_goal_is_met_with_the_fewest_cylinders() -> None:
    """Half of 240 min is 1200 L: one large cylinder, not four small ones."""
    found = plan(errand(vehicles=(TWO_LARGE,), stock=HEAPS), 10, {"immediate": 0.5})
    assert found.cylinders == pytest.approx(1, abs=1e-3)
    assert found.missing == {("a", "immediate"): pytest.approx(0, abs=1e-4)}


def test_a_cylinder_that_passes_places_is_one() -> None:
    """The road from the depot leads past another depot and past another area."""
    places = (area("a"), area("b"), depot("near"), depot())
    for past in ("near", "b"):
        roads = (*both_ways("road", "depot", past, 20), *both_ways("lane", past, "a", 10))
        found = plan(errand(places=places, roads=roads, vehicles=(TWO_LARGE,), stock=HEAPS), 10, {"immediate": 0.5})
        assert found.cylinders == pytest.approx(1, abs=1e-3)


@pytest.mark.parametrize("share", [0.2, 0.35, 0.6, 0.8])
@pytest.mark.parametrize("people", [1, 2])
def test_the_fewest_cylinders_are_at_most_the_fewest_whole_ones(share: float, people: int) -> None:
    """Brute force over whole numbers on one journey; parts of cylinders do with no more, and with at most one fewer."""
    incident = errand(people=[patients(people, "one")], vehicles=(TWO_LARGE,), stock=HEAPS)
    fewest = min(
        (
            small + large
            for small, large in itertools.product(range(6), range(3))
            if _credit(incident, small, large) >= share
        ),
        default=None,
    )
    found = plan(incident, 10, {"immediate": share})
    if fewest is None:
        assert sum(found.missing.values()) > 1e-3
    else:
        assert sum(found.missing.values()) == pytest.approx(0, abs=1e-3)
        assert fewest - 1 < found.cylinders <= fewest + 1e-3


def _credit(incident: Scenario, small: int, large: int) -> float:
    """Return the share of the need that whole cylinders meet, which come at T+30."""
    load = f"{small} small full, {large} large full"
    made = deliver(
        incident, [trip("1", "truck", stop("depot", 0, 0, "road", load=load), stop("a", 30, 30, unload=load))]
    )
    demand = count_demand(made)
    need = float((demand.present @ demand.grid.lengths).sum())
    return allocate(made, demand, Settings()).outcome.bound / need + 1e-9


def test_what_cannot_be_reached_is_missing() -> None:
    """All of 240 min is asked for, but nothing can come before T+30; all else is met."""
    found = plan(errand(vehicles=(TWO_LARGE,), stock=HEAPS), 10, {"immediate": 1.0})
    assert found.missing == {("a", "immediate"): pytest.approx(30, abs=1e-3)}
    assert found.cylinders == pytest.approx(1 + 900 / 1200, abs=1e-3)


def test_goals_of_others_leave_a_category_alone() -> None:
    """A goal for a category that nobody has asks for nothing and brings nothing."""
    found = plan(errand(), 10, {"delayed": 1.0})
    assert found.missing == {}
    assert found.cylinders == pytest.approx(0, abs=1e-6)


def test_what_is_given_is_counted_up_and_comes_no_earlier_than_needed() -> None:
    """Two cylinders for 30 min each: the first at T+30, and by the end both; never fewer than before."""
    found = plan(errand(), 10)
    row = [grant.key for grant in found.grants].index("small full, given to a")
    given = found.given[row]
    assert np.all(np.diff(given) >= -1e-9)
    assert given[:3] == pytest.approx(0)
    assert given[-1] == pytest.approx(2)
    assert found.cylinders == pytest.approx(2)


def test_spent_is_what_is_surely_used_up() -> None:
    """Of two cylinders one after the other, one is surely empty in the meantime and both once nobody is on them."""
    found = plan(errand(places=(area("a"), _station(per_hour=0)), people=[patients(1, "one", stay=90)]), 10)
    spent = found.spent["a", "small empty"]
    drawn = np.minimum(np.maximum(10 * np.arange(1, 25) - 30, 0), 60) / 30
    assert np.all(np.diff(spent) >= 0)
    assert np.all(spent <= drawn + 1e-6)
    assert spent[-1] == pytest.approx(2)


def test_no_vehicle_brings_nothing() -> None:
    """A network without vehicles is no mistake: what the areas have is all there is."""
    own = full_lot(SMALL.cylinder, 300, 1, key="own", area="a")
    _reaches(dataclasses.replace(errand(vehicles=()), lots=(own,)), 10, 30)


def test_gas_without_regulators_is_worth_nothing() -> None:
    """A stock of no regulators is no mistake."""
    incident = dataclasses.replace(errand(regulators=0), regulators=(regulator(0),))
    _reaches(incident, 10, 0)


@pytest.mark.parametrize(("weight", "brought"), [(0.01, 2), (1e-7, 0)])
def test_tidiness_costs_next_to_nothing(weight: float, brought: float) -> None:
    """An hour at a hundredth of the weight is worth the road; at next to none it is not, but the bound counts it.

    Somebody else has all that is needed, so that the full aim is 240 min.
    """
    people = [patients(1, "one", area="b"), patients(1, "one", category="minimal")]
    gas = full_lot(ITEMS["large full"].lot.cylinder, 2400, 1, key="own", area="b")
    incident = dataclasses.replace(
        errand(people=people, **TWO_AREAS), lots=(gas,), weights={"immediate": 1.0, "minimal": weight}
    )
    found = plan(incident, 10)
    assert found.bound >= 240 + 60 * weight - 1e-9 or found.bound == joint(incident, 10).full
    row = [grant.key for grant in found.grants].index("small full, given to a")
    assert found.given[row, -1] == pytest.approx(brought, abs=1e-6)
    late = dataclasses.replace(gas, available_from=120)
    half = plan(dataclasses.replace(incident, lots=(late,)), 10)
    assert 120 + 60 * weight - 1e-9 <= half.bound <= 120 + 60 * weight + TIDY * 240 * (1 + weight) + 1e-6
