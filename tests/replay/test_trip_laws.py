"""Every law of trips made to fire: trips that can be carried out with one thing wrong, and what is said of it."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable

import pytest
from incidents import INF
from rounds import made_incident, made_trips
from small_network import network, stop, trip

from mci.plan.deliver import deliver
from mci.plan.orders import Action, Order
from mci.plan.trip_table import trip_rows
from mci.plan.trips import Cargo, Trip
from mci.replay.judge import replay
from mci.replay.laws_store import STORE_LAWS
from mci.replay.laws_trip import TRIP_LAWS
from mci.replay.trips import judge_trips
from mci.replay.verdict import Finding
from mci.scenario.network import Filling, Place, Road, Stock, Vehicle, Window

Mutation = Callable[[list[Trip]], list[Trip]]


def edit(key: str, number: int, **changes: object) -> Mutation:
    """Change one stop of a trip; ``load`` and ``unload`` are written as texts."""
    for way in ("load", "unload"):
        if isinstance(changes.get(way), str):
            changes[way] = getattr(stop("", 0, 0, **{way: str(changes[way])}), way)

    def change(trips: list[Trip]) -> list[Trip]:
        done = []
        for each in trips:
            stops = list(each.stops)
            if each.key == key:
                stops[number - 1] = dataclasses.replace(stops[number - 1], **changes)  # type: ignore[arg-type]
            done.append(dataclasses.replace(each, stops=tuple(stops)))
        return done

    return change


def rename(name: str, **changes: str) -> Mutation:
    """Change key or vehicle of a trip."""
    return lambda trips: [dataclasses.replace(each, **changes) if each.key == name else each for each in trips]  # type: ignore[arg-type]


def drop(name: str) -> Mutation:
    """Leave a trip out."""
    return lambda trips: [each for each in trips if each.key != name]


def shift(key: str, minutes: float) -> Mutation:
    """Let a trip begin, and all its stops be, later."""

    def later(trips: list[Trip]) -> list[Trip]:
        return [
            dataclasses.replace(
                each,
                stops=tuple(
                    dataclasses.replace(one, arrive=one.arrive + minutes, depart=one.depart + minutes)
                    for one in each.stops
                ),
            )
            if each.key == key
            else each
            for each in trips
        ]

    return later


def both(*mutations: Mutation) -> Mutation:
    """Do one after the other."""

    def change(trips: list[Trip]) -> list[Trip]:
        for mutate in mutations:
            trips = mutate(trips)
        return trips

    return change


def _vehicles(key: str, **changes: object) -> tuple[Vehicle, ...]:
    return tuple(dataclasses.replace(v, **changes) if v.key == key else v for v in network().vehicles)  # type: ignore[arg-type]


def _roads(key: str, **changes: object) -> tuple[Road, ...]:
    return tuple(dataclasses.replace(r, **changes) if r.key == key else r for r in network().roads)  # type: ignore[arg-type]


def _places(key: str, **changes: object) -> tuple[Place, ...]:
    return tuple(dataclasses.replace(p, **changes) if p.key == key else p for p in network().places)  # type: ignore[arg-type]


def _stock(place: str, item: str, **changes: object) -> tuple[Stock, ...]:
    here = (place, item)
    return tuple(dataclasses.replace(s, **changes) if (s.place, s.item) == here else s for s in network().stock)  # type: ignore[arg-type]


def _filling(**changes: object) -> tuple[Place, ...]:
    return _places("filling", filling=dataclasses.replace(Filling(frozenset({"small"}), 12, 6000), **changes))  # type: ignore[arg-type]


#: What is done to the trips, the law that it breaks, the row that is named, and words of the reason.
MUTATIONS: dict[str, tuple[Mutation, str, int, str]] = {
    "unknown vehicle": (rename("porters 1", vehicle="mule"), "known", 28, "no vehicle 'mule'"),
    "unknown place": (edit("porters 1", 2, place="z"), "known", 29, "no place 'z'"),
    "unknown item": (edit("van 2", 4, unload="3 small full, 1 gold"), "known", 28, "no item 'gold'"),
    "unknown road": (edit("porters 1", 1, via=("track",)), "known", 28, "no road 'track'"),
    "one name twice": (rename("porters 1", key="van 1"), "known", 28, "another trip 'van 1'"),
    "part of a thing": (
        edit("porters 1", 2, unload=(Cargo("small full", 0.5),)),  # type: ignore[arg-type]
        "whole",
        29,
        "0.5 of small full is no whole number above 0",
    ),
    "less than nothing": (edit("porters 1", 2, unload="-1 small full"), "whole", 29, "-1 of small full"),
    "begins elsewhere": (drop("van 1"), "one place", 19, "van is at a, not at b"),
    "goes on elsewhere": (edit("truck 2", 1, place="a", via=()), "one place", 15, "truck is at b, not at a"),
    "goes on too early": (edit("truck 2", 1, arrive=76), "one place", 15, "free after truck 1 from T+77 min on"),
    "wrong road": (edit("truck 1", 2, via=("hill",)), "road", 5, "hill does not lead on from a"),
    "road left out": (edit("truck 2", 2, via=("ring east",)), "road", 16, "ends at corner, not at depot"),
    "no road": (edit("truck 2", 1, via=()), "road", 15, "ends at b, not at a"),
    "a path": (edit("truck 1", 2, via=("path",)), "road", 5, "truck cannot take path, which is for people on foot"),
    "a road on foot": (
        edit("porters 1", 1, via=("lane",)),
        "road",
        28,
        "porters cannot take lane, which is for vehicles",
    ),
    "roads from the end": (edit("truck 1", 5, via=("lane",)), "road", 14, "b is the last stop, but roads are named"),
    "too fast": (edit("truck 1", 2, arrive=12), "road", 1, "is at a by this way not before T+13 min, not at T+12 min"),
    "over a closed bridge": (
        edit("truck 2", 2, via=("bridge",), depart=87),
        "road",
        16,
        "at depot by this way not before T+110 min, not at T+102 min",
    ),
    "unloads too fast": (
        edit("truck 1", 3, depart=24.5),
        "time at stop",
        9,
        "unloading at b takes 2 min, not 1.50 min",
    ),
    "loads too fast": (
        edit("truck 1", 2, arrive=14),
        "time at stop",
        5,
        "unloading and loading at a takes 5 min, not 4.00 min",
    ),
    "leaves before it comes": (edit("truck 2", 1, depart=79.5), "time at stop", 15, "before it is there at T+80 min"),
    "loads while it is closed": (
        shift("truck 2", 96),
        "hours",
        17,
        "open T+0 min to T+200 min, T+260 min to T+600 min",
    ),
    "unloads more": (edit("truck 1", 5, unload="4 small full"), "aboard", 14, "4 small full are unloaded, where 3"),
    "unloads what it has not": (edit("porters 1", 2, unload="1 reg"), "aboard", 29, "1 reg are unloaded, where 0"),
    "no slot": (
        edit("porters 1", 1, load="3 small full"),
        "slots",
        28,
        "leaves with 3 small, full or empty, and has 2",
    ),
    "no slot for an empty": (
        both(
            edit("truck 1", 1, load="10 small full, 2 large full, 2 reg, 1 mask"),
            edit("truck 1", 2, unload="1 small full, 1 reg, 1 mask", load="2 small empty"),
        ),
        "slots",
        8,
        "leaves with 11 small, full or empty, and has 10",
    ),
    "too heavy": (edit("truck 1", 1, load="10 small full, 2 large full, 2 reg, 40 mask"), "weight", 1, "202 kg"),
    "back to the depot": (
        both(
            edit("truck 2", 2, unload=""),
            edit("truck 2", 3, unload="1 small full", depart=107),
            edit("truck 2", 4, arrive=117, depart=119),
        ),
        "place",
        17,
        "depot is a depot and takes no small full",
    ),
    "full to the fill station": (
        both(
            edit("truck 1", 3, unload="1 small full, 2 large full, 1 reg"),
            edit("truck 1", 4, unload="1 small empty, 1 small full"),
        ),
        "place",
        13,
        "filling is a fill station and takes no small full",
    ),
    "loaded at a junction": (
        both(
            edit("truck 2", 2, via=("ring east",)),
            edit("truck 2", 3, place="corner", via=("ring east",)),
        ),
        "place",
        17,
        "corner is a junction, where nothing is loaded",
    ),
    "more than there is": (
        edit("truck 1", 1, load="6 small full, 2 large full, 5 reg, 10 mask"),
        "stock",
        3,
        "where 4",
    ),
    "more than is lent": (edit("van 1", 1, load="2 small full, 3 reg"), "stock", 20, "3 reg are loaded at a from T+0"),
    "before the supplier is ready": (edit("van 2", 2, arrive=59, depart=62), "stock", 24, "from T+59 min on, where 0"),
    "before it is there": (
        both(edit("van 1", 1, load="3 small full, 1 reg"), shift("porters 1", -7)),
        "stock",
        28,
        "1 small full are loaded at a from T+13 min on, where 0 are then",
    ),
    "more than came": (edit("van 2", 3, load="3 small full"), "stock", 26, "at yard from T+71 min on, where 2 are"),
    "before it is full": (edit("truck 1", 4, depart=54.5), "filling", 13, "from T+51.5 min on, where 2 are then"),
    "more empties than there are": (edit("truck 1", 2, load="3 small empty"), "empties", 8, "where 2 are then"),
}

#: What else the network is, the law that the trips then break, the row that is named, and words of the reason.
CHANGES: dict[str, tuple[dict[str, object], str, int, str]] = {
    "fewer people": ({"crews": 4}, "crews", 28, "5 people are under way at once, and there are 4"),
    "a vehicle that comes later": (
        {"vehicles": _vehicles("porters", available_from=21.0)},
        "one place",
        28,
        "porters is there from T+21 min on, not at T+20 min",
    ),
    "a vehicle that goes earlier": (
        {"vehicles": _vehicles("porters", available_until=25.5)},
        "one place",
        29,
        "porters may be used until T+25.5 min, not until T+26 min",
    ),
    "less payload": (
        {"vehicles": _vehicles("truck", payload_kg=170.0)},
        "weight",
        1,
        "leaves with 171 kg and carries 170",
    ),
    "no slots of a kind": (
        {"vehicles": _vehicles("truck", slots={"small": 10})},
        "slots",
        1,
        "2 large, full or empty, and has 0",
    ),
    "a slower vehicle": (
        {"vehicles": _vehicles("porters", loading=1.5)},
        "time at stop",
        28,
        "takes 1.5 min, not 1.00 min",
    ),
    "a road that stays closed": (
        {"roads": _roads("path", closed=(Window(24, INF),))},
        "road",
        28,
        "never, since it stays closed",
    ),
    "a longer road": ({"roads": _roads("path", minutes=4.5)}, "road", 28, "not before T+25.5 min, not at T+25 min"),
    "a supplier that takes longer": (
        {"stock": _stock("market", "small full", available_from=61.0)},
        "stock",
        24,
        "where 0",
    ),
    "a station that opens later": (
        {"places": _places("filling", open=(Window(37.5, 600),))},
        "filling",
        13,
        "3 small full are loaded at filling from T+52 min on, where 2 are then",
    ),
    "a station that closes while it would fill": (
        {"places": _places("filling", open=(Window(30, 39), Window(43, 600)))},
        "filling",
        13,
        "where 2 are then",
    ),
    "fewer cylinders an hour": ({"places": _filling(per_hour=11.5)}, "filling", 13, "where 2 are then"),
    "fewer litres an hour": ({"places": _filling(litres_per_hour=5300)}, "filling", 13, "where 2 are then"),
    "a kind that it does not fill": (
        {"places": _filling(cylinders=frozenset({"large"}))},
        "place",
        12,
        "filling is a fill station and takes no small empty",
    ),
    "a place that is closed": (
        {"places": _places("yard", open=(Window(0, 70),))},
        "hours",
        25,
        "unloading at yard from T+69",
    ),
    "less in stock": ({"stock": _stock("depot", "small full", quantity=6)}, "stock", 17, "where 0 are then"),
}


def _first(trips: list[Trip], **changes: object) -> tuple[Finding, set[str]]:
    findings = judge_trips(made_incident(**changes), trips)
    return findings[0], {each.law for each in findings}


def test_the_trips_can_be_carried_out() -> None:
    """Before anything is wrong with them, nothing is found; whatever their order."""
    assert judge_trips(made_incident(), made_trips()) == ()
    assert judge_trips(made_incident(), made_trips()[::-1]) == ()


@pytest.mark.parametrize("name", MUTATIONS)
def test_one_thing_wrong_is_found_and_named(name: str) -> None:
    """The first finding names law, row and reason, and no other law is broken."""
    mutate, law, row, words = MUTATIONS[name]
    found, laws = _first(mutate(made_trips()))
    assert (found.law, found.row, laws) == (law, row, {law})
    assert words in found.reason


@pytest.mark.parametrize("name", CHANGES)
def test_another_network_is_noticed(name: str) -> None:
    """The same trips where less is allowed: one law is broken."""
    changes, law, row, words = CHANGES[name]
    found, laws = _first(made_trips(), **changes)
    assert (found.law, found.row) == (law, row)
    assert words in found.reason
    assert laws <= {law, "filling", "stock"}  # what is not taken is not filled


def test_every_law_has_a_case() -> None:
    """A law that is added needs trips that break it."""
    laws = {law for law, _ in TRIP_LAWS} | set(STORE_LAWS) | {"known", "whole"}
    assert {law for _, law, *_ in (*MUTATIONS.values(), *CHANGES.values())} == laws


def test_rows_are_those_of_the_table() -> None:
    """Every row that loads too much is named by its number in the table."""
    trips = made_trips()
    rows = list(trip_rows(trips))
    for number, row in enumerate(rows, start=1):
        if row.cargo is None or row.action != "load":
            continue
        stop_now = row.trip.stops[row.number - 1]
        more = tuple(dataclasses.replace(c, quantity=99) if c is row.cargo else c for c in stop_now.load)
        findings = judge_trips(made_incident(), edit(row.trip.key, row.number, load=more)(trips))
        assert number in {each.row for each in findings if each.law in STORE_LAWS}


def test_empties_in_use_cannot_be_judged_without_orders() -> None:
    """More empties than stand there may have been used up by then: nobody knows."""
    found, laws = _first(edit("truck 1", 2, load="3 small empty")(made_trips()))
    assert (found.judged, laws) == (False, {"empties"})
    assert "without orders nobody knows" in found.reason


def _orders(until: float) -> list[Order]:
    """Return orders that use up one cylinder at ``a`` (450 L, 45 min at 10 L/min) and take the regulator off it."""
    one, two, reg = "a small 1", "a small 2", "a-reg 1"
    return [
        Order(2, "a", Action.CHANGE, supply=one, regulator=reg, begin=0, by="anyone"),
        Order(2, "a", Action.CONNECT, "batch", "mask", 10, one, reg),
        Order(until, "a", Action.CHANGE, supply=two, regulator=reg, begin=until - 2, by="anyone"),
    ]


@pytest.mark.parametrize(
    ("until", "arrive", "there"),
    [(47, 60, True), (47, 49, True), (47, 48.9, False), (40, 60, False), (44.7, 60, False), (44.8, 60, True)],
)
def test_orders_tell_which_cylinders_are_used_up(until: float, arrive: float, there: bool) -> None:
    """An empty is one that is off its regulator by then with no more than 5 % left: here 22.5 L, 2.25 min."""
    taken = trip(
        "1", "van", stop("a", 0, arrive + 3 - 5, load=""), stop("a", arrive - 2, arrive + 1, load="3 small empty")
    )
    made = made_incident()
    verdict = replay(deliver(made, [taken]), _orders(until))
    findings = judge_trips(made, [taken], verdict)
    assert [each.law for each in findings] == ([] if there else ["empties"])
    assert all(each.judged for each in findings)


def test_the_judge_needs_a_network() -> None:
    """Trips without places and roads make no sense."""
    bare = dataclasses.replace(made_incident(), network=None)
    with pytest.raises(ValueError, match="without a network"):
        judge_trips(bare, made_trips())
