"""Each doubt about a network is raised by one that deserves it, and a network without fault raises none."""

from __future__ import annotations

import pytest
from made_network import SMALL_NETWORK, network_text

from mci.demand.stays import find_stays
from mci.scenario import read_scenario
from mci.scenario.check import doubts
from mci.scenario.doubts_network import NETWORK_RULES

FINE = network_text(SMALL_NETWORK, rest="")
PLACE = "    - {depot: valley}\n"
STATION = PLACE + "    - {fill station: hill, fills: [US E], per hour: 9}\n"
SUPPLIER = PLACE + "    - {supplier: works, lead: 8 h}\n"
TO_WEST = "    - {road: west road, between: [valley, west], drive: 10 min}\n"
TO_HILL = TO_WEST + "    - {road: hill road, from: hill, to: valley, drive: 10 min}\n"
TO_WORKS = TO_WEST + "    - {road: works road, between: [works, valley], drive: 10 min}\n"
REGULATORS = "    - {regulator: yoke regulator 0-15 L/min, count: 6, at: valley}\n"
PORTERS = (
    "    - {porters: trolley, at: west, slots: {US E: 4}, payload: 4 kg, crew: 2, loading: 2 min, unloading: 2 min}\n"
)
STAGED = (
    "    - {road: west road, between: [valley, yard], drive: 10 min}\n"
    "    - {path: yard path, between: [yard, west], walk: 5 min}\n"
)
FROM_YARD = PORTERS.replace("at: west", "at: yard").replace("payload: 4 kg", "payload: 40 kg")
WEST_E = "{cylinder: US E aluminium, count: 5, pressure: 2000 psi, area: west}"


def _network_doubts(path):
    scenario = read_scenario(path)
    found = doubts(scenario, find_stays(scenario))
    return [doubt for doubt in found if doubt.code in {code for code, *_ in DOUBTFUL}]


# code, changes (what is replaced, by what), area, words
DOUBTFUL = [
    (
        "area-unreached",
        [("[valley, east]", "[west, valley]")],
        "east",
        "no road or path leads there from any place with stock",
    ),
    (
        "area-unreached",
        [("10 min}\n    - {road: east road", "10 min, closed: [{from: T+0}]}\n    - {road: east road")],
        "west",
        "no road or path leads there",
    ),
    (
        "area-unreached",
        [("{road: east road, between: [valley, east], drive", "{path: east way, between: [valley, east], walk")],
        "east",
        "no vehicle that carries what is in stock can both load it and come there",
    ),
    ("vehicle-fits-nothing", [("slots: {US E: 24}", "slots: {US M60: 24}")], "", "'truck' has slots for US M60"),
    (
        "vehicle-goes-nowhere",
        [("[valley, east]", "[west, east]"), ("[valley, west]", "[west, east]")],
        "",
        "no road leads from 'valley', where 'truck' is",
    ),
    ("vehicle-late", [("crew: 2,", "crew: 2, from: 8 h,")], "", "'truck' may be used from T+480, when the plan"),
    ("crew-above-crews", [("network:\n", "network:\n  crews: 1\n")], "", "needs a crew of 2, and 1 people"),
    ("payload-below-one", [("payload: 900 kg", "payload: 4 kg")], "", "one weighs 4.5 kg, more than its payload of 4"),
    ("stock-stuck", [("slots: {US E: 24}", "slots: {US D: 24}")], "", "no vehicle can carry 40 x US E aluminium, full"),
    (
        "stock-stuck",
        [(REGULATORS, REGULATORS + "    - {empty: US E, count: 3, at: valley}\n")],
        "",
        "3 x US E aluminium, empty from 'valley' to any fill station",
    ),
    (
        "stock-late",
        [("count: 6, at: valley", "count: 6, at: valley, ready: 9 h")],
        "",
        "6 x yoke regulator 0-15 L/min at 'valley' are ready at T+540, when the plan is over (T+480)",
    ),
    (
        "supplier-late",
        [(PLACE, SUPPLIER), (TO_WEST, TO_WORKS)],
        "",
        "'works' needs 8 h 00 min from the request",
    ),
    (
        "hand-over",
        [(PLACE, PLACE + "    - {staging: yard}\n"), (TO_WEST, STAGED), ("  vehicles:\n", "  vehicles:\n" + FROM_YARD)],
        "west",
        "cylinders come there only from one vehicle to another",
    ),
    ("place-closed", [("{depot: valley}", "{depot: valley, open: [{from: 9 h}]}")], "", "'valley' is not open at"),
    (
        "station-without-empties",
        [(PLACE, STATION), (TO_WEST, TO_HILL)],
        "",
        "no empty US E aluminium can be brought to 'hill' to be filled",
    ),
    (
        "cylinder-without-regulator",
        [("US E: 24", "UK F: 24"), ("{cylinder: US E, count: 40", "{cylinder: UK F, count: 40")],
        "east",
        "UK F 137 bar can be brought there, but no regulator there or in the network fits its bullnose valve",
    ),
    (
        "device-on-no-ladder",
        [(REGULATORS, REGULATORS + "    - {device: CPAP flow driven, count: 3, at: valley}\n")],
        "",
        "CPAP flow driven is in stock, and no patient's ladder uses it",
    ),
]


def test_network_without_fault_raises_no_doubt(write):
    """One depot, two roads and a truck that fits raise none."""
    assert _network_doubts(write(FINE)) == []


@pytest.mark.parametrize(
    ("code", "changes", "area", "words"), DOUBTFUL, ids=[f"{d[0]}-{i}" for i, d in enumerate(DOUBTFUL)]
)
def test_doubt_is_raised(write, code, changes, area, words):
    """What deserves a doubt raises it under its stable code, in words that name what and where."""
    text = FINE
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    found = [doubt for doubt in _network_doubts(write(text)) if doubt.code == code]
    assert any(doubt.area == area and words in doubt.what for doubt in found), found


def test_every_rule_has_a_doubt_that_shows_it():
    """No rule is without an example above."""
    assert len({code for code, *_ in DOUBTFUL}) == len(NETWORK_RULES)


def test_staging_and_a_path_reach_an_area(write):
    """What a truck puts down at a staging place and porters carry on from there reaches its area, by hand-over only."""
    text = FINE.replace(PLACE, PLACE + "    - {staging: yard}\n")
    text = text.replace("{road: east road, between: [valley, east]", "{road: yard road, between: [valley, yard]")
    text = text.replace("  vehicles:\n", "    - {path: lane, between: [yard, east], walk: 9 min}\n  vehicles:\n")
    assert [(d.code, d.area) for d in _network_doubts(write(text))] == [("area-unreached", "east")]
    carried = text.replace(
        "  stock:\n", PORTERS.replace("at: west", "at: east").replace("4 kg", "40 kg") + "  stock:\n"
    )
    assert [(d.code, d.area) for d in _network_doubts(write(carried))] == [("hand-over", "east")]


def test_fill_station_takes_empties_of_areas(write):
    """Cylinders that are emptied at an area can be brought to a fill station by whoever drives both."""
    text = FINE.replace(PLACE, STATION).replace(
        TO_WEST, TO_HILL.replace("from: hill, to: valley", "between: [hill, valley]")
    )
    assert _network_doubts(write(text)) == []


def test_regulators_and_cylinders_of_the_network_count(write):
    """Cylinders without a regulator, and regulators without cylinders, may wait for what the network brings."""
    west = "  - {regulator: yoke regulator 0-15 L/min, count: 8, area: west}\n"
    for text in (
        FINE.replace(west, ""),
        FINE.replace(WEST_E, "{cylinder: US M60, count: 1, pressure: full, area: east}"),
    ):
        scenario = read_scenario(write(text))
        codes = {doubt.code for doubt in doubts(scenario, find_stays(scenario))}
        assert not codes & {"no-regulator-fits", "idle-regulators"}
    lone = FINE.replace(west, "").replace(REGULATORS, "")
    scenario = read_scenario(write(lone))
    assert "no-regulator-fits" in {doubt.code for doubt in doubts(scenario, find_stays(scenario))}


def test_low_cylinders_of_a_depot_are_doubted(write):
    """Cylinders of the network that are left out are told like those of an area."""
    low = FINE.replace(REGULATORS, REGULATORS + "    - {cylinder: US E, count: 1, pressure: 300 psi, at: valley}\n")
    scenario = read_scenario(write(low))
    assert ("left-out", "valley") in {(d.code, d.area) for d in doubts(scenario, find_stays(scenario))}


def test_scenario_without_network_raises_none(right, write):
    """Without a network there is nothing to doubt about it."""
    scenario = read_scenario(write(right))
    assert not [d for d in doubts(scenario, find_stays(scenario)) if d.code in {code for code, *_ in DOUBTFUL}]
