"""Pressures are written in the unit that the planner wants, everywhere, and change nothing else."""

from __future__ import annotations

import dataclasses
import json

import pytest

from mci.demand.stays import find_stays
from mci.scenario import read_scenario
from mci.scenario.check import doubts
from mci.scenario.describe import describe

CYLINDERS = """\
id,cylinder,pressure,area,test date
101,US E aluminium,138 bar,west,2023-05
102,US E aluminium,150 bar,west,2023-05
103,US E aluminium,34 bar,west,2023-05
104,US E aluminium,10 bar,west,2023-05
105,US E aluminium,200 bar,west,2023-05
"""


@pytest.fixture
def in_bar(right, write):
    """Read a scenario with an inventory in bar."""
    text = right.replace("horizon: 4 h", "horizon: 4 h\n  pressures in: bar")
    text = text.replace("supplies:\n", "supplies:\n  - {inventory: cylinders.csv}\n")
    text = text.replace("pressure: 2000 psi", "pressure: 138 bar, residual: 20 bar")
    return read_scenario(write(text, cylinders__csv=CYLINDERS))


def _texts(scenario):
    stays = find_stays(scenario)
    yield from (lot.label for lot in scenario.lots)
    yield from (item.why for item in scenario.left_out)
    yield from (f"{item.what} {item.value}" for item in scenario.assumptions)
    yield from (doubt.what for doubt in doubts(scenario, stays))
    yield from (json.dumps(table.records()) for table in describe(scenario, stays))
    yield from (" ".join(cells) for table in describe(scenario, stays) for _, cells in table.page())


def test_bar_everywhere(in_bar):
    """No label, reason, assumption, doubt or table says psi."""
    assert in_bar.pressures_in_bar
    texts = list(_texts(in_bar))
    assert not [text for text in texts if "psi" in text]
    assert "12 x US E aluminium at 138 bar" in texts
    assert "2 x US E aluminium at 138 to 150 bar" in texts
    assert "residual pressure, kept in every cylinder 14 bar" in texts


def test_rounding_hides_no_difference(in_bar):
    """34 bar is less than 500 psi: written as closely as it takes to see it."""
    assert [item.why for item in in_bar.left_out] == [
        "34.0 bar is below the in-service minimum of 34.5 bar",
        "10 bar is below the in-service minimum of 34 bar",
        "200 bar is above full (139 bar): check the gauge",
    ]


def test_doubtful_gauge_names_the_cylinder(in_bar):
    """Of the lot of two, the one whose gauge is odd is named, and its gauge."""
    found = [doubt.what for doubt in doubts(in_bar, find_stays(in_bar)) if doubt.code == "odd-gauge"]
    assert len(found) == 1
    assert found[0].startswith("102 (US E aluminium) at 150 bar: the gauge is above that of a full one (139 bar")


def test_unit_changes_words_only(right, write):
    """With psi or bar the numbers of the scenario are the same; without the key it is psi."""
    without = read_scenario(write(right))
    assert not without.pressures_in_bar
    bar = read_scenario(write(right.replace("horizon: 4 h", "horizon: 4 h\n  pressures in: bar")))
    psi = read_scenario(write(right.replace("horizon: 4 h", "horizon: 4 h\n  pressures in: psi")))
    assert dataclasses.replace(psi, sha256=without.sha256) == without
    strip = {"label": ""}
    assert [dataclasses.replace(lot, **strip) for lot in bar.lots] == [
        dataclasses.replace(lot, **strip) for lot in psi.lots
    ]
