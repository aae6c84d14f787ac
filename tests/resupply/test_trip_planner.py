"""Whole trips: they can be carried out, they bring what is needed and no more, and small cases come out as by hand."""

from __future__ import annotations

import dataclasses
import itertools
import math
from collections.abc import Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_network import ITEMS, both_ways, vehicle
from trip_checker import arrivals, faults, lateness

from mci.resupply.needs import Need, Spent
from mci.resupply.routes import Routes
from mci.resupply.trip_planner import STYLES, Style, plan_trips
from mci.scenario.network import Filling, Network, Place, PlaceKind, Stock, Vehicle, Window

INF = math.inf
ALWAYS = (Window(0, INF),)
DAY = 1440.0
FULL, EMPTY = "small full", "small empty"
CARRIED = (FULL, "large full", "reg", "mask")


def _place(key: str, kind: PlaceKind, hours: tuple[Window, ...] = ALWAYS, per_hour: float = 12) -> Place:
    filling = Filling(frozenset({"small"}), per_hour, INF) if kind is PlaceKind.FILL_STATION else None
    return Place(key, key, kind, hours, filling=filling)


def _one_road(
    stock: Sequence[Stock], vehicles: Sequence[Vehicle], minutes: float = 10, per_hour: float = 12, **more: float
) -> Network:
    """Return ``depot --- a --- b --- station``, each road as long as the others."""
    places = (
        _place("a", PlaceKind.AREA), _place("b", PlaceKind.AREA), _place("depot", PlaceKind.DEPOT),
        _place("station", PlaceKind.FILL_STATION, per_hour=per_hour),
    )  # fmt: skip
    ways = (("west", "depot", "a"), ("middle", "a", "b"), ("east", "b", "station"))
    roads = tuple(road for way in ways for road in both_ways(*way, minutes))
    return Network(places, roads, tuple(vehicles), ITEMS, tuple(stock), more.get("crews", INF))


def _needs(count: int, due: float = 0, area: str = "a", item: str = FULL) -> list[Need]:
    return [Need(area, item, due)] * count


def _times(network: Network, needs: Sequence[Need], style: Style | None = None) -> dict[tuple[str, str], list[float]]:
    return arrivals(network, plan_trips(network, needs, (), DAY, style))


# laws on random networks


@st.composite
def windows(draw: st.DrawFn) -> tuple[Window, ...]:
    """Draw up to two windows, the last of which may be open for ever."""
    start, length, gap = draw(st.integers(0, 60)), draw(st.integers(20, 300)), draw(st.integers(10, 200))
    first = Window(start, start + length)
    return (first, Window(first.end + gap, draw(st.sampled_from([first.end + gap + 200, INF]))))


def _vehicles(key: str, places: list[str]) -> st.SearchStrategy[Vehicle]:
    return st.builds(
        vehicle,
        st.just(key),
        st.sampled_from(places),
        slots=st.fixed_dictionaries({"small": st.integers(0, 5), "large": st.integers(0, 2)}),
        payload_kg=st.sampled_from([8, 80, INF]),
        crew=st.integers(1, 2),
        loading=st.integers(0, 5),
        unloading=st.integers(0, 5),
        available_from=st.integers(0, 60),
        available_until=st.sampled_from([200, INF]),
        on_foot=st.integers(0, 3).map(lambda drawn: drawn == 0),
    )


@st.composite
def networks(draw: st.DrawFn) -> Network:
    """Draw a network of three areas, two depots, staging and a fill station, roads that close, places with hours."""
    kinds = {
        "a": PlaceKind.AREA, "b": PlaceKind.AREA, "c": PlaceKind.AREA, "depot": PlaceKind.DEPOT,
        "market": PlaceKind.SUPPLIER, "station": PlaceKind.FILL_STATION, "yard": PlaceKind.STAGING,
        "fork": PlaceKind.JUNCTION,
    }  # fmt: skip
    hours = st.one_of(st.just(ALWAYS), windows())
    places = tuple(_place(key, kind, draw(hours), draw(st.integers(2, 30))) for key, kind in kinds.items())
    closed = st.one_of(st.just(()), windows())
    roads = []
    for number, (one, other) in enumerate(
        draw(st.lists(st.permutations(list(kinds)).map(lambda p: (p[0], p[1])), min_size=6, max_size=14))
    ):
        roads += both_ways(
            f"r{number}",
            one,
            other,
            draw(st.integers(2, 40)),
            closed=draw(closed),
            on_foot=draw(st.integers(0, 3)) == 0,
        )
    vehicles = tuple(draw(_vehicles(f"v{number}", list(kinds))) for number in range(draw(st.integers(1, 3))))
    givers = st.sampled_from(["depot", "market", "station", "yard", "a"])
    stock = tuple(
        Stock(
            place, draw(st.sampled_from([*CARRIED, EMPTY])), draw(st.integers(1, 6)), draw(st.integers(0, 200)), "lot"
        )
        for place in draw(st.lists(givers, max_size=6))
    )
    return Network(places, tuple(roads), vehicles, ITEMS, stock, draw(st.sampled_from([2, 3, INF])))


needed = st.lists(
    st.builds(Need, st.sampled_from("abc"), st.sampled_from(CARRIED), st.integers(0, 600).map(float)), max_size=25
)
spent_at = st.lists(st.integers(0, 500).map(float), max_size=5).map(lambda times: tuple(sorted(times)))
spents = st.lists(st.builds(Spent, st.sampled_from("abc"), st.just(EMPTY), spent_at), max_size=3)
ahead, patient = st.sampled_from([0.0, 60.0, INF]), st.sampled_from([0.0, 90.0])
drawn_styles = st.builds(Style, st.integers(1, 3), st.booleans(), ahead, patient, st.booleans(), st.booleans())
styles = st.one_of(st.sampled_from(STYLES), drawn_styles)


@settings(max_examples=120, deadline=None)
@given(networks(), needed, spents, styles, st.sampled_from([300.0, 900.0]))
def test_trips_can_be_carried_out(
    network: Network, needs: list[Need], spent: list[Spent], style: Style, horizon: float
) -> None:
    """No trip breaks a law of roads, hours, slots, payload, stock, filling or crews, or brings what nobody needs."""
    trips = plan_trips(network, needs, spent, horizon, style)
    assert faults(network, needs, spent, horizon, trips) == []
    assert len({trip.key for trip in trips}) == len(trips)


@settings(max_examples=50, deadline=None)
@given(networks(), needed, spents, styles, st.randoms(use_true_random=False))
def test_the_order_of_needs_does_not_matter(
    network: Network, needs: list[Need], spent: list[Spent], style: Style, random: st.DataObject
) -> None:
    """The same needs in another order are served by the same trips."""
    shuffled = list(needs)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    assert plan_trips(network, shuffled, spent, 900, style) == plan_trips(network, needs, spent, 900, style)


@settings(max_examples=50, deadline=None)
@given(networks(), needed, st.sampled_from([style for style in STYLES if not style.fetch_empties]))
def test_without_empties_nothing_is_filled(network: Network, needs: list[Need], style: Style) -> None:
    """A style that fetches none carries no empty."""
    trips = plan_trips(network, needs, [Spent("a", EMPTY, (0.0,) * 5)], 900, style)
    assert not [cargo for trip in trips for stop in trip.stops for cargo in stop.load if cargo.item == EMPTY]


# one truck, one road, one area


@given(st.integers(1, 30), st.integers(1, 8), st.integers(1, 40))
def test_one_truck_one_road_one_area(count: int, slots: int, minutes: int) -> None:
    """It takes ceil(n / slots) trips; the k-th load is usable after 3 + m + 2 min and (k - 1) rounds of 2 m + 5 min."""
    truck = vehicle("truck", "depot", slots={"small": slots}, payload_kg=INF)
    network = _one_road([Stock("depot", FULL, count, 0)], [truck], minutes)
    trips = plan_trips(network, _needs(count), (), 1e6)
    assert len(trips) == math.ceil(count / slots)
    expected = [3 + minutes + 2 + (number // slots) * (2 * minutes + 5) for number in range(count)]
    assert arrivals(network, trips)["a", FULL] == pytest.approx(expected)


@given(
    st.lists(st.integers(0, 300), min_size=1, max_size=12), st.integers(1, 5), st.integers(1, 40), st.integers(0, 60),
    st.sampled_from(["slots", "minutes", "ready"]),
)  # fmt: skip
def test_better_transport_is_never_later(dues: list[int], slots: int, minutes: int, ready: int, what: str) -> None:
    """A larger truck, a faster road or earlier stock never adds lateness where there is one of each."""

    def late(slots: int, minutes: float, ready: float) -> float:
        truck = vehicle("truck", "depot", slots={"small": slots}, payload_kg=INF)
        network = _one_road([Stock("depot", FULL, len(dues), ready)], [truck], minutes)
        needs = [Need("a", FULL, due) for due in dues]
        return lateness(network, needs, plan_trips(network, needs, (), 5000), 5000)

    better = {
        "slots": (slots + 1, minutes, ready),
        "minutes": (slots, minutes / 2, ready),
        "ready": (slots, minutes, ready / 2),
    }
    assert late(*better[what]) <= late(slots, minutes, ready) + 1e-6


def test_payload_limits_a_load() -> None:
    """At 4 kg each and 10 kg, two cylinders go at once though ten slots are free."""
    network = _one_road([Stock("depot", FULL, 5, 0)], [vehicle("truck", "depot", payload_kg=10)])
    assert len(plan_trips(network, _needs(5), (), DAY)) == 3


def test_no_more_than_is_in_stock() -> None:
    """Of five needed, the three in stock are brought."""
    network = _one_road([Stock("depot", FULL, 3, 0)], [vehicle("truck", "depot")])
    assert _times(network, _needs(5)) == {("a", FULL): [15.0] * 3}


def test_two_areas_on_one_road() -> None:
    """One trip serves both, a at 3 + 10 + 2 = 15 and b, 10 min on, at 27; else b waits for trip 2."""
    network = _one_road([Stock("depot", FULL, 4, 0)], [vehicle("truck", "depot")])
    needs = [*_needs(2), *_needs(2, 5, "b")]
    assert _times(network, needs, Style(most_stops=2)) == {("a", FULL): [15, 15], ("b", FULL): [27, 27]}
    assert _times(network, needs, Style(most_stops=1)) == {("a", FULL): [15, 15], ("b", FULL): [50, 50]}


def test_a_stop_on_the_way_makes_nobody_late() -> None:
    """A call at a costs b 2 min: it is made on the way where b has them, and on the way back where b has not."""
    network = _one_road([Stock("depot", FULL, 2, 0)], [vehicle("truck", "depot")])
    for due, first in ((27.0, "a"), (26.0, "b")):
        (trip,) = plan_trips(network, [Need("b", FULL, due), Need("a", FULL, 100.0)], (), DAY)
        assert trip.stops[1].place == first


def test_what_is_due_too_late_is_left() -> None:
    """With nothing ahead of the first need's moment, the second goes with a trip of its own."""
    network = _one_road([Stock("depot", FULL, 2, 0)], [vehicle("truck", "depot")])
    needs = [Need("a", FULL, 100.0), Need("a", FULL, 101.0)]
    assert len(plan_trips(network, needs, (), DAY, Style(look_ahead=0.0))) == 2
    assert len(plan_trips(network, needs, (), DAY, Style(look_ahead=1.0))) == 1


def test_patience_saves_a_trip() -> None:
    """One cylinder is there at once, one at 30: a truck that has until 60 waits if it may."""
    network = _one_road([Stock("depot", FULL, 1, 0), Stock("depot", FULL, 1, 30)], [vehicle("truck", "depot")])
    needs = _needs(2, 60)
    assert _times(network, needs, Style(patience=30.0)) == {("a", FULL): [45, 45]}
    assert len(plan_trips(network, needs, (), DAY, Style(patience=29.0))) == 2
    assert len(plan_trips(network, _needs(2, 44), (), DAY, Style(patience=30.0))) == 2


def test_an_area_keeps_what_it_needs() -> None:
    """What a lends goes to b, unless a needs the like."""
    network = _one_road([Stock("a", FULL, 2, 0, "lot")], [vehicle("truck", "a")])
    assert _times(network, _needs(1, area="b")) == {("b", FULL): [15.0]}
    assert _times(network, [*_needs(1, area="b"), *_needs(1)]) == {}


# crews, hours, closures


def test_crews_bind() -> None:
    """Two trucks with two people each, three people: the second leaves when the first is there, at 13."""
    trucks = [vehicle(f"truck {number}", "depot", slots={"small": 1}) for number in (1, 2)]
    stock = [Stock("depot", FULL, 2, 0)]
    assert _times(_one_road(stock, trucks, crews=4), _needs(2)) == {("a", FULL): [15, 15]}
    assert _times(_one_road(stock, trucks, crews=3), _needs(2)) == {("a", FULL): [15, 25]}
    assert _times(_one_road(stock, trucks, crews=1), _needs(2)) == {}


def test_hours_hold() -> None:
    """A depot open from 20 to 22 is too short to load in 3 min; the next opening is at 40: 40 + 3 + 10 + 2 = 55."""
    network = _one_road([Stock("depot", FULL, 1, 0)], [vehicle("truck", "depot")])
    depot = dataclasses.replace(network.places[2], open=(Window(20, 22), Window(40, 43)))
    network = dataclasses.replace(network, places=(*network.places[:2], depot, network.places[3]))
    assert _times(network, _needs(1)) == {("a", FULL): [55.0]}


def test_nothing_comes_after_the_horizon() -> None:
    """What is usable at 15 is brought where that is the horizon, and not where it is 14."""
    network = _one_road([Stock("depot", FULL, 1, 0)], [vehicle("truck", "depot")])
    assert [len(plan_trips(network, _needs(1), (), horizon)) for horizon in (14.0, 15.0)] == [0, 1]


# empties


@given(st.integers(1, 8), st.integers(1, 30))
def test_empties_are_fetched_filled_and_brought(count: int, per_hour: int) -> None:
    """From b at 3 to the station at 13, in hand at 15, full one after the other: the last 60 k / r min later.

    Fetched on purpose; the first cylinder goes to b as soon as it is full, 3 + 10 + 2 min later.
    """
    network = _one_road([], [vehicle("truck", "b")], per_hour=per_hour)
    spent = [Spent("b", EMPTY, (0.0,) * count)]
    needs = _needs(count, 0, "b")
    trips = plan_trips(network, needs, spent, 1e5)
    times = arrivals(network, trips)["b", FULL]
    assert trips[0].stops[-1].unload[0].quantity == count
    assert len(times) == count
    assert times[0] == pytest.approx(15 + 60 / per_hour + 15)
    assert times[-1] >= 15 + 60 * count / per_hour + 15 - 1e-6
    patient = arrivals(network, plan_trips(network, _needs(count, 5000, "b"), spent, 1e5, Style(patience=5000.0)))
    assert patient["b", FULL] == pytest.approx([15 + 60 * count / per_hour + 15] * count)


def test_empties_are_taken_along() -> None:
    """The truck brings two to b, takes the two empties on to the station, and brings them back full."""
    network = _one_road([Stock("depot", FULL, 2, 0)], [vehicle("truck", "depot")])
    needs = [*_needs(2, 50, "b"), *_needs(2, 600, "b")]
    first, second = plan_trips(network, needs, [Spent("b", EMPTY, (0.0, 0.0))], DAY, Style(patience=60.0))
    assert [stop.place for stop in first.stops] == ["depot", "b", "station"]
    assert [stop.place for stop in second.stops] == ["station", "b"]
    assert not [trip for trip in (first, second) if trip.vehicle != "truck"]


def test_empties_leave_room_for_what_is_aboard() -> None:
    """Two slots, one full cylinder each for a and b: at a one of the two empties fits, beside what b gets."""
    network = _one_road([Stock("depot", FULL, 2, 0)], [vehicle("truck", "depot", slots={"small": 2})])
    needs = [*_needs(1, 50), *_needs(1, 100, "b"), *_needs(2, 600)]
    first = plan_trips(network, needs, [Spent("a", EMPTY, (0.0, 0.0))], DAY, Style(look_ahead=100.0))[0]
    assert [(stop.place, [cargo.quantity for cargo in stop.load]) for stop in first.stops] == [
        ("depot", [2]), ("a", [1]), ("b", []), ("station", []),
    ]  # fmt: skip


def test_no_empties_are_moved_for_nothing() -> None:
    """Where stock is enough nobody goes to the station."""
    network = _one_road([Stock("depot", FULL, 9, 0)], [vehicle("truck", "depot")])
    trips = plan_trips(network, _needs(9, 50, "b"), [Spent("b", EMPTY, (0.0,) * 9)], DAY)
    assert {stop.place for trip in trips for stop in trip.stops} == {"depot", "b"}


# brute force


@settings(max_examples=60, deadline=None)
@given(networks(), st.integers(0, 300), st.sampled_from("abc"), st.sampled_from(CARRIED))
def test_the_first_need_comes_as_early_as_can_be(network: Network, due: int, area: str, item: str) -> None:
    """A single need is as little late as the best of all vehicles and sources, tried minute by minute, lets it be."""
    network = dataclasses.replace(network, stock=tuple(heap for heap in network.stock if heap.item != EMPTY))
    needs = [Need(area, item, float(due))]
    trips = plan_trips(network, needs, (), 900, Style(fetch_empties=False))
    tried = [
        _usable(network, one, heap, area)
        for one, heap in itertools.product(network.vehicles, network.stock)
        if heap.item == item and heap.place != area
    ]
    assert lateness(network, needs, trips, INF) == pytest.approx(max(0, min(tried, default=INF) - due))


def _usable(network: Network, one: Vehicle, heap: Stock, area: str) -> float:
    """Return when one thing of a heap can be used at an area, brought by one vehicle, in whole minutes."""
    item, routes = network.items[heap.item], Routes(network, on_foot=one.on_foot)
    if one.crew > network.crews or item.kg > one.payload_kg or (item.cylinder and not one.slots[item.cylinder]):
        return INF
    time, here = one.available_from, one.place
    for place, minutes, ready in ((heap.place, one.loading, heap.available_from), (area, one.unloading, 0)):
        leg = routes.soonest(here, place, time) if time < INF else None
        if leg is None:
            return INF
        hours = next(each.open for each in network.places if each.key == place)
        begins = range(math.ceil(max(leg.arrive, ready)), 901)
        fits = (begin for begin in begins if any(each.start <= begin and begin + minutes <= each.end for each in hours))
        time, here = next(fits, INF) + minutes, place
    return time if time <= min(900, one.available_until) else INF
