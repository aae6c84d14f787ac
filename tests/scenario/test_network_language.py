"""The network as written becomes the network that the program uses, field by field."""

from __future__ import annotations

import dataclasses
import math

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from made_network import INCIDENT, NETWORK, SMALL_NETWORK, network_text

from mci.catalogue.model import GasModel
from mci.catalogue.usable import usable_litres
from mci.scenario import read_scenario
from mci.scenario.network import Filling, ItemKind, Place, PlaceKind, Road, Stock, Vehicle, Window

SAME_FILE = settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=40, deadline=None)
ALWAYS = (Window(0, math.inf),)


@pytest.fixture
def scenario(write):
    """Return the scenario with every part of the language."""
    return read_scenario(write(network_text()))


def test_places_are_as_written(scenario):
    """Areas come first; hours that touch are one, daily hours go past midnight, and what is not said is always."""
    assert scenario.network.places == (
        Place("west", "West portal", PlaceKind.AREA, ALWAYS),
        Place("east", "East portal", PlaceKind.AREA, ALWAYS),
        Place("valley", "Valley depot", PlaceKind.DEPOT, (Window(0, 240), Window(300, math.inf))),
        Place("gasworks", "gasworks", PlaceKind.SUPPLIER, ALWAYS, lead=180),
        Place(
            "hilltop",
            "hilltop",
            PlaceKind.FILL_STATION,
            (Window(330, 930),),  # 20:00 to 06:00, five and a half hours after 14:30
            filling=Filling(frozenset({"US E aluminium"}), 12, 6000),
        ),
        Place("school yard", "school yard", PlaceKind.STAGING, ALWAYS),
        Place("bridge end", "bridge end", PlaceKind.JUNCTION, ALWAYS),
    )


def test_hours_of_every_day_are_those_of_the_clock(write):
    """Daily hours hold at a moment if and only if the clock says so, over three days."""
    text = network_text().replace("horizon: 8 h", "horizon: 72 h").replace("start: 14:30", "start: 02:15")
    station = read_scenario(write(text)).network.places[4]
    for minute in range(0, 72 * 60, 5):
        clock = (2 * 60 + 15 + minute) % 1440
        is_open = any(window.start <= minute < window.end for window in station.open)
        assert is_open == (clock >= 20 * 60 or clock < 6 * 60), minute


def test_roads_go_both_ways_or_one(scenario):
    """A road between two places is two roads of one key; one from and to is one; a path is on foot."""
    roads = scenario.network.roads
    shut = (Window(60, 120),)
    assert {r for r in roads if r.key == "bridge"} == {
        Road("bridge", "valley", "bridge end", 25, shut),
        Road("bridge", "bridge end", "valley", 25, shut),
    }
    assert [r for r in roads if r.key == "quay ramp"] == [Road("quay ramp", "school yard", "east", 5)]
    assert {(r.start, r.minutes) for r in roads if r.on_foot} == {("west", 12), ("east", 12)}
    assert len(roads) == 14


def test_vehicles_are_as_written(scenario):
    """No payload, from and until means no limit; truck 2 comes before truck 10."""
    trolley, small, large = scenario.network.vehicles
    e, m60 = "US E aluminium", "US M60 aluminium"
    assert trolley == Vehicle("trolley", "west", {e: 4}, 80, 2, 2, 3, 0, math.inf, on_foot=True)
    assert small == Vehicle("truck 2", "valley", {e: 24, m60: 2}, 900, 2, 10, 12, 15, 450)
    assert large == Vehicle("truck 10", "valley", {m60: 6}, math.inf, 1, 15, 20, 0, math.inf)
    assert scenario.network.crews == 6


def test_stock_is_where_it_says(scenario):
    """Alike things at one place are one stock; a supplier's are ready after its lead; what is lent names its lot."""
    warm = "US E aluminium, full, above 300 psi, read at 35 °C, change 5 min"
    yoke = "yoke regulator 0-15 L/min"
    assert scenario.network.stock == (
        Stock("west", "US E aluminium at 2000 psi", 5, 0, "west US E aluminium"),
        Stock("west", yoke, 8, 0, f"west {yoke}"),
        Stock("west", "nasal cannula", 30, 0, "west nasal cannula"),
        Stock("valley", "US E aluminium, full", 43, 0),
        Stock("valley", yoke, 6, 30),
        Stock("valley", "nasal cannula", 50, 0),
        Stock("gasworks", "US M60 aluminium, full", 12, 180),
        Stock("hilltop", "US E aluminium, empty", 10, 0),
        Stock("school yard", warm, 7, 0),
    )
    assert list(scenario.network.items) == [
        "US E aluminium at 2000 psi",
        "US E aluminium, full",
        warm,
        "US M60 aluminium, full",
        "US E aluminium, empty",
        yoke,
        "nasal cannula",
    ]


def test_item_is_one_cylinder_as_it_would_be_in_use(scenario):
    """A full cylinder is a lot of one without key and area, with the litres of its line, like a delivered one."""
    items = scenario.network.items
    lot = items["US E aluminium, full"].lot
    assert (lot.key, lot.area, lot.delivery, lot.quantity, lot.available_from) == ("", "", "", 1, 0)
    assert lot.litres == lot.litres_each == usable_litres(lot.cylinder, lot.cylinder.full_psi, 200)
    warm = items["US E aluminium, full, above 300 psi, read at 35 °C, change 5 min"].lot
    assert warm.litres == usable_litres(warm.cylinder, warm.cylinder.full_psi, 300, 35, GasModel.FACTOR)
    assert (warm.residual_psi, warm.temperature_c, warm.change_min) == (300, 35, 5)
    own = scenario.lots[0]
    lent = items["US E aluminium at 2000 psi"].lot
    assert lent == dataclasses.replace(
        own, key="", area="", quantity=1, litres=own.litres_each, label="1 x US E aluminium at 2000 psi"
    )


def test_masses_are_of_the_catalogue_or_written(scenario):
    """A US E weighs 4.5 kg; its 680 L of oxygen weigh 680 x 31.998 g/mol / 24.14 L/mol = 0.90 kg."""
    items = scenario.network.items
    assert items["US E aluminium at 2000 psi"].kg == items["US E aluminium, full"].kg == 4.5
    assert items["US E aluminium, empty"].kg == pytest.approx(4.5 - 680 * 31.998 / 24.14 / 1000, abs=2e-3)
    assert items["US M60 aluminium, full"].kg == 13
    assert items["nasal cannula"].kg == 0
    told = {a.what: a.value for a in scenario.assumptions}
    assert told["mass of one US M60 aluminium"] == "13 kg full, 10.7 kg empty"
    assert "licensed practice" in told["filling of cylinders"]
    assert "without traffic" in told["travel times of the network"]


def test_filled_cylinders_are_like_full_ones(write):
    """What a fill station gives is the thing that ``pressure: full`` is, also where none is in stock."""
    stock = [line for line in NETWORK["stock"] if "US E" not in line or "empty" in line]
    filled = read_scenario(write(network_text({**NETWORK, "stock": stock}))).network.items["US E aluminium, full"]
    assert filled == read_scenario(write(network_text())).network.items["US E aluminium, full"]


def test_full_written_as_pressure_is_full(write):
    """2015 psi of a US E is what full means, and one thing with it."""
    stock = [*NETWORK["stock"], "{cylinder: US E, count: 2, pressure: 2015 psi, at: valley}"]
    network = read_scenario(write(network_text({**NETWORK, "stock": stock}))).network
    assert Stock("valley", "US E aluminium, full", 45, 0) in network.stock


def test_things_that_differ_in_their_last_digits_are_two(write):
    """Two contents that are written alike have two keys."""
    more = [f"{{cylinder: US E, count: 1, pressure: {psi} psi, at: valley}}" for psi in ("1500.2", "1500.1")]
    network = read_scenario(write(network_text({**NETWORK, "stock": more}))).network
    found = [
        network.items[key].lot.gauge_psi for key in ("US E aluminium at 1500 psi", "US E aluminium at 1500 psi #2")
    ]
    assert found == [1500.1, 1500.2]


def test_only_what_is_alike_and_counted_is_lent(write):
    """An inventory of differing contents, what a delivery brings and what is unlimited are not lent."""
    brought = (
        "deliveries: [{delivery: van, at: T+9, area: east, brings: [{cylinder: US M60, count: 1, pressure: full}]}]\n"
    )
    text = network_text({**NETWORK, "lends": ["east"]}).replace(
        "regulators:\n", "  - {inventory: i.csv}\nregulators:\n", 1
    )
    text = text.replace("incident: {", "incident: {inspection date: 2026-05-01, ")
    rows = "id,cylinder,pressure,area,test date\n1,US E,1900 psi,east,2024-05\n2,US E,1890 psi,east,2024-05\n"
    lent = [s for s in read_scenario(write(brought + text, i__csv=rows)).network.stock if s.source]
    assert [(s.item, s.quantity) for s in lent] == [
        ("US M60 aluminium, full", 2),
        ("threaded regulator 0-15 L/min", 8),
    ]
    alike = rows.replace("1890", "1900")
    lent = [s for s in read_scenario(write(brought + text, i__csv=alike)).network.stock if s.source]
    assert ("US E aluminium at 1900 psi", 2) in [(s.item, s.quantity) for s in lent]


def test_cylinder_too_low_for_service_is_left_out(write):
    """As among the supplies, a cylinder below the in-service minimum is left out, with the place and the reason."""
    low = ["{cylinder: US E, count: 2, pressure: 400 psi, at: valley}"]
    scenario = read_scenario(write(network_text({**NETWORK, "stock": low})))
    (left,) = scenario.left_out
    assert (left.what, left.area) == ("2 x US E aluminium at 400 psi", "valley")
    assert "in-service minimum" in left.why
    assert all(stock.source for stock in scenario.network.stock)


def test_what_is_not_said_has_no_limit(write):
    """Without crews nothing limits who is under way; without payload masses may be unknown."""
    lines = {key: [line.replace("US E", "EU 10L 200 bar") for line in rows] for key, rows in SMALL_NETWORK.items()}
    lines["vehicles"] = [lines["vehicles"][0].replace("payload: 900 kg, ", "")]
    network = read_scenario(write(network_text(lines, rest=""))).network
    assert math.isinf(network.crews)
    assert network.items["EU 10L 200 bar, full"].kg == 0


def test_scenario_without_network_has_none(write):
    """Whoever writes no network has none, and nothing about it among the assumptions."""
    scenario = read_scenario(write(INCIDENT))
    assert scenario.network is None
    assert not any("network" in a.what or "mass of" in a.what for a in scenario.assumptions)


@SAME_FILE
@given(data=st.data())
def test_order_of_lines_changes_nothing(write, data):
    """Roads, vehicles, stock and parts in any order, and a road written from its other end, are the same network."""
    shuffled = {part: data.draw(st.permutations(NETWORK[part])) for part in data.draw(st.permutations(list(NETWORK)))}
    shuffled["places"] = NETWORK["places"]  # the order of places is the planner's, like that of areas
    if data.draw(st.booleans()):
        shuffled["roads"] = [line.replace("[valley, bridge end]", "[bridge end, valley]") for line in shuffled["roads"]]
    one, two = read_scenario(write(network_text())), read_scenario(write(network_text(shuffled)))
    assert one.network == two.network
    assert list(one.network.items) == list(two.network.items)
    assert sorted(one.assumptions, key=str) == sorted(two.assumptions, key=str)


def test_everything_else_is_as_without_network(write):
    """A network changes nothing of the rest of the scenario but the assumptions and the hash."""
    one, two = read_scenario(write(network_text())), read_scenario(write(INCIDENT))
    alike = dataclasses.replace(one, network=None, sha256=two.sha256, assumptions=two.assumptions)
    assert alike == two
    assert set(two.assumptions) < set(one.assumptions)


def test_kinds_of_thing_come_in_a_fixed_order(scenario):
    """Full cylinders, then empties, regulators and devices."""
    kinds = [item.kind for item in scenario.network.items.values()]
    assert kinds == sorted(kinds, key=list(ItemKind).index)
