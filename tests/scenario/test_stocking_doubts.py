"""What can be planned but looks wrong about caches is told; what is right is not."""

from __future__ import annotations

import pytest
from made_stocking import FAIR, stocking_text

from mci.demand.stays import find_stays
from mci.scenario import read_scenario
from mci.scenario.check import doubts
from mci.scenario.doubts_stocking import STOCKING_RULES

UNRULY = "packs: {trailer: {US E aluminium: 40, nasal cannula: 6, yoke regulator 0-15 L/min: 40}}"

UK_F = "    - {cylinder: UK F, pressure: full, buy: 9, volume: 1 L, weight: 1 kg}\n"

# code, changes of the text, area, words of the doubt
DOUBTFUL = [
    (
        "cache-too-late",
        [("field: 20 min", "field: 5 h")],
        "field",
        "'trailer' from 'fire hall' is there at T+302, when the plan is over (T+240)",
    ),
    (
        "area-without-cache",
        [(", gate: 0}", "}")],
        "gate",
        "patients are there, and no cache comes there in time",
    ),
    (
        "candidate-without-regulator",
        [("  candidates:\n", f"  candidates:\n{UK_F}")],
        "",
        "UK F 137 bar may be packed, and no regulator that may be packed or is where caches go fits its bullnose valve",
    ),
    (
        "candidate-fits-no-cylinder",
        [("{regulator: yoke regulator 0-15 L/min, buy", "{regulator: threaded regulator 0-15 L/min, buy"),
         ("owned: {yoke regulator 0-15 L/min: 6, ", "owned: {")],
        "",
        "threaded regulator 0-15 L/min may be packed, and no cylinder that may be packed",
    ),
    (
        "candidate-on-no-ladder",
        [("name: few cannulas, device: nasal cannula", "name: few cannulas, device: non-rebreather")],
        "",
        "few cannulas may be packed, and no patient's ladder uses the device non-rebreather",
    ),
    (
        "candidate-fits-no-cache",
        [("weight: 15 kg", "weight: 500 kg"), ("cache: cupboard", "cache: cupboard\n      volume: 1 L")],
        "",
        "one pack of concentrator 5 L/min is more than any cache may take ('trailer': 500.0 kg, and its payload is",
    ),
    (
        "cache-without-hands",
        [(", {people: 2, area: gate}", ""), ("area: gate}\nregulators", "area: field}\nregulators"),
         ("    - {people: 2, yearly: 400, at most: 3}\n", "")],
        "gate",
        "caches may bring US E aluminium there, and no staff is there or may come with them",
    ),
    (
        "cache-without-power",
        [(", {power: 1 kW, area: gate}", "")],
        "gate",
        "caches may bring concentrator 5 L/min there, and no electrical power is there",
    ),
    (
        "goal-without-patients",
        [("category: minimal, without", "category: delayed, without")],
        "",
        "a goal of stocking is about delayed, and no such patient comes",
    ),
    (
        "neither-goal-nor-budget",
        [("  budget: 9000.50\n", ""), ("  goals:\n", ""), ("    - {category: immediate, coverage: 99 %}\n", ""),
         ("    - {category: immediate, without oxygen: 60 min, worst: 5 %}\n", ""),
         ("    - {category: minimal, without oxygen: 2 h}\n", "")],
        "",
        "neither a goal nor a budget",
    ),
    (
        "rule-beyond-limits",
        [("packs: {trailer: {US E aluminium: 3, nasal cannula: 1}, cupboard: {few cannulas: 2}}", UNRULY)],
        "",
        "'one each' is more than 'trailer' may take: 40 slots of the kind 'rack', and it has 24",
    ),
]  # fmt: skip


def _found(path):
    scenario = read_scenario(path)
    return doubts(scenario, find_stays(scenario))


@pytest.mark.parametrize("network", [False, True])
def test_stocking_without_fault_raises_no_doubt(write, network):
    """A trailer and a cupboard that all fits raise none, of stocking or else: areas are told as without caches."""
    with_caches = {(d.code, d.area) for d in _found(write(stocking_text(network=network)))}
    assert with_caches <= {(d.code, d.area) for d in _found(write(FAIR))} | {("area-unreached", "gate")}


@pytest.mark.parametrize(
    ("code", "changes", "area", "words"), DOUBTFUL, ids=[f"{d[0]}-{i}" for i, d in enumerate(DOUBTFUL)]
)
def test_doubt_is_raised(write, code, changes, area, words):
    """What deserves a doubt raises it, and no other of stocking, under its stable code, in words that say what."""
    codes = {code for code, *_ in DOUBTFUL}
    found = [doubt for doubt in _found(write(stocking_text(*changes))) if doubt.code in codes]
    assert {doubt.code for doubt in found} == {code}
    assert any(doubt.area == area and words in doubt.what for doubt in found), found


def test_every_rule_has_a_doubt_that_shows_it():
    """No rule is without an example above."""
    assert len({code for code, *_ in DOUBTFUL}) == len(STOCKING_RULES)


def test_station_from_which_no_road_leads_is_doubted(write):
    """With a network, a cache at the end of a one-way road comes nowhere."""
    dead_end = ("{road: ring, from: fire hall, to: north gate", "{road: ring, from: north gate, to: fire hall")
    text = stocking_text(dead_end, (", reaches: {field: 20 min}", ""), network=True)
    told = {doubt.what for doubt in _found(write(text)) if doubt.code == "cache-too-late"}
    assert told == {"no road leads 'trailer' from 'fire hall' to any area"}


def test_regulators_count_only_where_caches_go(write):
    """A regulator for the cylinder helps at an area to which a cache comes, and not at another."""
    bullnose = ("devices:\n", "  - {regulator: bullnose regulator 0-15 L/min, count: 1, area: gate}\ndevices:\n")
    cylinder = ("  candidates:\n", f"  candidates:\n{UK_F}")
    for changes, doubted in (((), False), (((", gate: 0}", "}"),), True)):
        codes = {doubt.code for doubt in _found(write(stocking_text(bullnose, cylinder, *changes)))}
        assert ("candidate-without-regulator" in codes) == doubted


def test_what_caches_bring_counts_for_areas(write):
    """Cylinders without a regulator, and regulators without cylinders, may wait for what a cache brings."""
    yoke = "  - {regulator: yoke regulator 0-15 L/min, count: 6, area: field}\n"
    cylinders = "  - {cylinder: US E aluminium, count: 40, pressure: full, area: field}\n"
    for lines in (yoke, cylinders):
        codes = {doubt.code for doubt in _found(write(stocking_text((lines, ""))))}
        assert not codes & {"no-regulator-fits", "idle-regulators"}
        bare = {doubt.code for doubt in _found(write(FAIR.replace(lines, "")))}
        assert bare & {"no-regulator-fits", "idle-regulators"}


def test_scenario_without_stocking_raises_none(write):
    """Without the section there is nothing to doubt about it."""
    assert not {doubt.code for doubt in _found(write(FAIR))} & {code for code, *_ in DOUBTFUL}
