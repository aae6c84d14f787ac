"""Laws of reading: other units, another order of lines or another way to write a moment change nothing."""

from __future__ import annotations

import dataclasses
import math
import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from mci.demand.stays import find_stays
from mci.errors import InputError
from mci.scenario import read_scenario
from mci.scenario.check import doubts
from mci.scenario.describe import describe
from mci.units import KPA_PER_PSI

SAME_FILE = settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=40, deadline=None)


@SAME_FILE
@given(
    psi=st.integers(600, 2100),
    unit=st.sampled_from(["bar", "kPa", "MPa"]),
    minutes=st.integers(1, 59),
    hours=st.integers(1, 20),
)
def test_units_change_nothing(write, right, psi, unit, minutes, hours):
    """The same pressure in bar, kPa, MPa or psi and the same time in h or min give the same scenario."""
    kpa = psi * KPA_PER_PSI
    metric = {"bar": f"{kpa / 100:.9f} bar", "kPa": f"{kpa:.9f} kPa", "MPa": f"{kpa / 1000:.9f} MPa"}[unit]
    horizon = 60 * hours + minutes
    us = right.replace("2000 psi", f"{psi} psi").replace("4 h", f"{horizon} min")
    other = right.replace("2000 psi", metric).replace("4 h", f"{hours} h {minutes:02d}").replace("2 kW", "2000 W")
    one, two = read_scenario(write(us)), read_scenario(write(other))
    assert one.horizon == two.horizon == horizon
    assert two.lots[0].litres == pytest.approx(one.lots[0].litres, rel=1e-6)
    assert two.lots[0].gauge_psi == pytest.approx(psi, rel=1e-6)
    assert one.power == two.power
    assert one.patients == two.patients


@SAME_FILE
@given(after=st.integers(0, 200))
def test_ways_to_write_a_moment_agree(write, right, after):
    """T+90, a length of time and the clock time it falls on are the same moment."""
    clock = (14 * 60 + 35 + after) % 1440
    ways = [f"T+{after}", f"{after} min", f"{clock // 60:02d}:{clock % 60:02d}"]
    base = right.replace(", leave: 16:40", "")
    arrivals = {read_scenario(write(base.replace("T+10", way))).patients[0].arrival.at for way in ways}
    assert arrivals == {after}


LINES = {
    "supplies": [
        "{cylinder: US E aluminium, count: 12, pressure: 2000 psi, area: west}",
        "{cylinder: US E aluminium, count: 3, pressure: 1500 psi, area: west}",
        "{cylinder: US E aluminium, count: 2, pressure: 1500 psi, area: east}",
        "{cylinder: US M60, count: 2, pressure: full, area: west}",
        "{concentrator: concentrator 5 L/min, count: 3, area: east}",
    ],
    "devices": [
        "{device: nasal cannula, count: unlimited, area: west}",
        "{device: nasal cannula, count: 30, area: east}",
        "{device: nasal cannula, count: 5, area: east}",
    ],
    "regulators": [
        "{regulator: yoke regulator 0-15 L/min, count: 4, area: west}",
        "{regulator: threaded regulator 0-15 L/min, count: 4, area: west}",
        "{regulator: yoke regulator 0-15 L/min, count: 2, area: east}",
    ],
    "staff": ["{people: 2, area: west}", "{people: 1, area: west, from: T+60}", "{people: unlimited, area: east}"],
}


def _text(lines: dict[str, list[str]]) -> str:
    head = """\
incident: {name: Quay fire, horizon: 4 h}
areas: {west: West portal, east: East portal}
patients:
  - {batch: one, count: 3, category: immediate, area: west, ladder: low need, arrive: T+10}
  - {batch: two, count: 20, category: minimal, area: east, ladder: low need, arrive: T+5, stay: 1 h 30}
power: [{power: 2 kW, area: east}]
resupply: {cylinder: US M60, regulator: threaded regulator 0-15 L/min}
"""
    return head + "".join(f"{key}:\n" + "".join(f"  - {line}\n" for line in rows) for key, rows in lines.items())


def _essence(scenario):
    """Return the scenario without what only tells about the file, assumptions in no order."""
    return dataclasses.replace(scenario, sha256="", assumptions=tuple(sorted(scenario.assumptions, key=str)))


@SAME_FILE
@given(data=st.data())
def test_order_of_lines_changes_nothing(write, data):
    """Lines of supplies and resources in any order, sections in any order, give the same scenario and keys."""
    sections = data.draw(st.permutations(list(LINES)))
    shuffled = {key: data.draw(st.permutations(LINES[key])) for key in sections}
    assert _essence(read_scenario(write(_text(shuffled)))) == _essence(read_scenario(write(_text(LINES))))


def test_keys_are_used_once_and_can_be_read(write):
    """Every lot, stock and shift has its own key, which begins with its area."""
    scenario = read_scenario(write(_text(LINES)))
    for things in (scenario.lots, scenario.regulators, scenario.devices, scenario.staff, scenario.power):
        keys = [thing.key for thing in things]
        assert len(set(keys)) == len(keys)
        assert all(thing.key.startswith(thing.area) for thing in things)
    assert scenario.lots[0].key == "west US E aluminium"
    assert scenario.lots[1].key == "west US E aluminium #2"


def test_hash_is_over_contents_only(write, right):
    """Renaming a roster keeps its contents' part of the hash; one more letter in it changes the hash."""
    roster = "patient,category,area,ladder,arrive\nr1,delayed,west,low need,T+20\n"
    text = right.replace("supplies:\n", "  - {roster: r.csv}\nsupplies:\n")
    one = read_scenario(write(text, r__csv=roster)).sha256
    assert one == read_scenario(write(text, r__csv=roster)).sha256
    assert one != read_scenario(write(text, r__csv=roster.replace("r1", "r2"))).sha256


def test_big_batch_is_one_entry(write, right):
    """A hundred thousand patients in a batch are one entry, not a hundred thousand."""
    scenario = read_scenario(write(right.replace("count: 20", "count: 100000")))
    assert [p.count for p in scenario.patients] == [1, 100_000]
    assert math.isinf(scenario.patients[0].stay)


@settings(SAME_FILE, max_examples=150)
@given(data=st.data())
def test_damaged_scenario_is_read_or_told(write, right, data):
    """Whatever is cut out of a scenario or put into it, it is read, or told as mistakes: nothing else happens."""
    at = data.draw(st.integers(0, len(right)))
    cut = data.draw(st.integers(0, 12))
    put = data.draw(
        st.sampled_from(["", "\n", "  ", ":", "- ", "{", "}", "]", "'", "0", "-", "~", "x: [{y: z}]", "é\t"])
    )
    text = right[:at] + put + right[at + cut :]
    try:
        scenario = read_scenario(write(text))
    except InputError as error:
        told = error.mistakes
    else:
        told = doubts(scenario, find_stays(scenario))
    assert all(str(one) for one in told)


VALUES = st.sampled_from(
    [
        "~",
        "[]",
        "{}",
        "[1]",
        "{a: b}",
        "0",
        "-1",
        "1e9",
        "nan",
        "inf",
        "99999999999",
        "T+1e3",
        "''",
        "unlimited",
        "full",
        "0.000001 psi",
        "0 L/min",
        "0 L",
        "0 kW",
        "0 min",
        "0 psi",
        "1 C",
    ]
)


@settings(SAME_FILE, max_examples=150)
@given(data=st.data())
def test_odd_values_are_read_or_told(write, example, beside, data):
    """Any value may be replaced by any other: the answer is a scenario or mistakes in words."""
    places = [match.span(1) for match in re.finditer(r": ([^,{}\[\]\n#]+)", example)]
    start, end = data.draw(st.sampled_from(places))
    text = example[:start] + data.draw(VALUES) + example[end:]
    try:
        scenario = read_scenario(write(text, **beside))
    except InputError as error:
        told = [str(mistake) for mistake in error.mistakes]
    else:
        told = [table.title for table in describe(scenario, find_stays(scenario))]
    assert all(told)
