"""What trips bring to areas, as deliveries."""

from __future__ import annotations

import dataclasses
import random

from hypothesis import given
from hypothesis import strategies as st
from incidents import regulator
from small_network import LARGE, SMALL, full_lot, incident, network, stop, trip

from mci.plan.deliver import deliver
from mci.plan.things import find_supplies
from mci.plan.trips import Cargo, Stop, Trip
from mci.scenario.model import DeviceStock, Lot, RegulatorStock, Unit
from mci.scenario.network import Stock


def _round(key: str = "truck, trip 1", at: float = 0) -> Trip:
    """Return a trip from the depot to both areas: 20 min to a, 29 to b."""
    return trip(
        key,
        "truck",
        stop("depot", at, at + 3, "bridge", load="6 small full, 2 large full, 2 reg, 10 mask"),
        stop("a", at + 13, at + 15, "lane", unload="4 small full, 1 reg, 10 mask"),
        stop("b", at + 20, at + 22, unload="2 small full, 2 large full, 1 reg"),
    )


def _brought(key: str, delivery: str, area: str, quantity: int, at: float, *, large: bool = False) -> Lot:
    made = full_lot(LARGE if large else SMALL, 4500 if large else 450, quantity, key=key, area=area, at=at)
    return dataclasses.replace(made, delivery=delivery)


def test_it_is_as_if_written_by_hand() -> None:
    """A trip's loads are deliveries under its key, usable when they are unloaded."""
    made, name = incident(), "truck, trip 1"
    by_hand = dataclasses.replace(
        made,
        lots=(
            made.lots[0],
            _brought(f"a small {name}", name, "a", 4, 15),
            _brought(f"b large {name}", name, "b", 2, 22, large=True),
            _brought(f"b small {name}", name, "b", 2, 22),
        ),
        regulators=(
            made.regulators[0],
            RegulatorStock(f"a reg {name}", "a", regulator(1).outlets, 1, 15, name),
            made.regulators[1],
            RegulatorStock(f"b reg {name}", "b", regulator(1).outlets, 1, 22, name),
        ),
        devices=(made.devices[0], DeviceStock(f"a mask {name}", "a", "mask", 10, 15, name), made.devices[1]),
    )
    assert deliver(made, [_round()]) == by_hand


def test_without_trips_or_network_nothing_changes() -> None:
    """Nothing is brought, nothing is taken."""
    made = incident()
    assert deliver(made, []) == made
    bare = dataclasses.replace(made, network=None)
    assert deliver(bare, [_round()]) is bare


def test_what_comes_at_the_horizon_gives_nothing() -> None:
    """At b the trip unloads at the end of the plan, at a seven minutes before."""
    made = deliver(incident(), [_round(at=600 - 22)])
    assert {lot.area for lot in made.lots if lot.delivery} == {"a"}
    assert {each.area for each in made.regulators if each.delivery} == {"a"}


def test_staging_and_depots_supply_nobody() -> None:
    """What is left at staging is no delivery."""
    kept = trip(
        "1",
        "truck",
        stop("depot", 0, 3, "bridge", "gate", load="6 small full"),
        stop("yard", 15, 17, unload="6 small full"),
    )
    assert deliver(incident(), [kept]) == incident()


def test_what_an_area_lends_is_taken_from_it() -> None:
    """Three of five cylinders and both regulators go to b: two cylinders and no regulator stay."""
    moved = trip(
        "1",
        "van",
        stop("a", 0, 3, "lane", load="3 small full, 2 reg"),
        stop("b", 8, 10, unload="3 small full, 2 reg"),
    )
    made = deliver(incident(), [moved])
    (kept, came) = made.lots
    assert (kept.key, kept.quantity, kept.litres, kept.label) == ("a small", 2, 900, "2 x small at 2000 psi")
    assert (came.area, came.quantity, came.litres) == ("b", 3, 1350)
    assert [(each.area, each.quantity, each.available_from) for each in made.regulators] == [("b", 1, 0), ("b", 2, 10)]


def test_all_that_an_area_has_can_go() -> None:
    """A lot of which nothing is left is no lot; a stock of no devices still says that there are none."""
    lends = network(stock=(Stock("a", "small full", 5, 0, "a small"), Stock("a", "mask", 4, 0, "a-mask")))
    made = incident(lends)
    devices = tuple(dataclasses.replace(each, quantity=4) for each in made.devices)
    moved = trip(
        "1",
        "van",
        stop("a", 0, 3, "lane", load="5 small full, 4 mask"),
        stop("b", 8, 10, unload="5 small full, 4 mask"),
    )
    made = deliver(dataclasses.replace(made, devices=devices), [moved])
    assert [(lot.area, lot.quantity) for lot in made.lots] == [("b", 5)]
    assert [(each.area, each.quantity) for each in made.devices] == [("a", 0), ("b", 4), ("b", 4)]


def test_of_cylinders_known_one_by_one_the_last_go() -> None:
    """Two of four marked cylinders leave, with their own litres."""
    units = tuple(Unit(f"K-{number}", 2000, 400 + number) for number in range(4))
    made = incident()
    lot = dataclasses.replace(made.lots[0], quantity=4, units=units, litres=1606.0, label="4 x small at 2000 psi")
    moved = trip("1", "van", stop("a", 0, 3, "lane", load="2 small full"), stop("b", 8, 10, unload="2 small full"))
    kept = deliver(dataclasses.replace(made, lots=(lot,)), [moved]).lots[0]
    assert [unit.id for unit in kept.units] == ["K-0", "K-1"]
    assert (kept.quantity, kept.litres) == (2, 801)


def test_what_came_last_is_loaded_first() -> None:
    """Of three lent and two brought cylinders four go on: the brought ones, then two of the lent."""
    came = trip(
        "1", "truck", stop("depot", 0, 3, "bridge", load="2 small full"), stop("a", 13, 15, unload="2 small full")
    )
    late = trip("2", "van", stop("a", 12, 18, "lane", load="4 small full"), stop("b", 23, 25, unload="4 small full"))
    early = trip("2", "van", stop("a", 12, 17, "lane", load="3 small full"), stop("b", 22, 24, unload="3 small full"))
    made = deliver(incident(), [came, late])
    assert [(lot.area, lot.quantity, lot.available_from) for lot in made.lots] == [("a", 3, 0), ("b", 4, 25)]
    made = deliver(incident(), [came, early])  # loaded from T+14 on, before the truck has unloaded
    assert [(lot.area, lot.quantity, lot.available_from) for lot in made.lots] == [
        ("a", 2, 0),
        ("a", 2, 15),
        ("b", 3, 24),
    ]


def test_names_that_nobody_knows_are_passed_over() -> None:
    """The judge tells them; here nothing breaks."""
    lost = Trip("1", "ghost", (stop("a", 0, 3, load="1 small full"), stop("b", 8, 10, unload="1 small full")))
    odd = trip("2", "van", stop("z", 0, 3, load="1 gold"), stop("b", 8, 10, unload="1 gold"))
    none = trip("3", "van", Stop("a", 0, 3, load=(Cargo("small full", -2),)), stop("b", 8, 10))
    assert deliver(incident(), [lost, odd, none]) == incident()


@st.composite
def _moves(draw: st.DrawFn) -> list[Trip]:
    """Return trips with full cylinders from the depot, and at most the three that ``a`` lends from there to ``b``."""
    lent, trips = 3, []
    for number in range(draw(st.integers(1, 6))):
        start, source = draw(st.integers(0, 500)), draw(st.sampled_from(["depot", "a"] if lent else ["depot"]))
        count = draw(st.integers(1, lent if source == "a" else 4))
        lent -= count * (source == "a")
        target = "b" if source == "a" else draw(st.sampled_from(["a", "b", "yard"]))
        load = f"{count} small full"
        stops = (stop(source, start, start + 3, load=load), stop(target, start + 20, start + 22, unload=load))
        trips.append(trip(str(number), "truck", *stops))
    return trips


@given(_moves(), st.randoms(use_true_random=False))
def test_cylinders_are_conserved(trips: list[Trip], rng: random.Random) -> None:
    """Areas gain what comes from the depot and does not stay at staging; in any order of trips, under unique names."""
    before, made = incident(), deliver(incident(), trips)
    gained = sum(
        cargo.quantity
        for each in trips
        for cargo in each.stops[-1].unload
        if (each.stops[0].place, each.stops[-1].place) in {("depot", "a"), ("depot", "b")}
    )
    assert sum(lot.quantity for lot in made.lots) == 5 + gained
    assert sum(lot.litres for lot in made.lots) == 450 * (5 + gained)
    keys = [each.key for each in find_supplies(made)]
    assert len(keys) == len(set(keys))
    mixed = list(trips)
    rng.shuffle(mixed)
    assert deliver(before, mixed) == made


def test_two_visits_of_one_trip_have_two_names() -> None:
    """The same thing brought twice to one area by one trip: two lots, neither with the name of a cylinder there."""
    twice = trip(
        "1",
        "truck",
        stop("depot", 0, 3, "bridge", load="4 small full"),
        stop("a", 13, 15, "lane", unload="2 small full"),
        stop("b", 20, 20, "lane"),
        stop("a", 25, 27, unload="2 small full"),
    )
    lots = [lot for lot in deliver(incident(), [twice]).lots if lot.delivery]
    assert [(lot.key, lot.available_from) for lot in lots] == [("a small 1 #2", 15), ("a small 1 #3", 27)]
