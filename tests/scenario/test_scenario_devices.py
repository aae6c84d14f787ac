"""Who needs a device of their own: counted by hand, and the same for ``mci check`` as for the resupply timeline."""

from __future__ import annotations

import pathlib
import re

import pytest

from mci.demand.groups import count_demand
from mci.demand.stays import find_stays
from mci.resupply.timeline import resupply_timeline
from mci.scenario import read_scenario
from mci.scenario.check import doubts
from mci.scenario.presence import first_needs
from mci.settings import Settings

BUNDLED = sorted((pathlib.Path(__file__).parents[2] / "scenarios").glob("*.yaml"))
MOVED = """\
incident: {name: Quay fire, horizon: 4 h}
areas: {west: West portal, east: East portal}
patients:
  - {batch: stay, count: 2, category: delayed, area: west, ladder: low need, arrive: T+10, stay: 60 min}
  - batch: moved
    count: 3
    category: delayed
    area: west
    ladder: low need
    arrive: T+20
    then:
      - {after: 30 min, area: east}
      - {after: 60 min, ladder: mild}
      - {after: 90 min, ladder: moderate need}
supplies:
  - {cylinder: US H steel, count: 6, pressure: full, area: west}
  - {cylinder: US H steel, count: 6, pressure: full, area: east}
regulators:
  - {regulator: manifold 6 outlets, count: 2, area: west}
  - {regulator: manifold 6 outlets, count: 2, area: east}
devices:
  - {device: nasal cannula, count: 4, area: west}
  - {device: nasal cannula, count: 1, area: east}
  - {device: simple mask, count: 2, area: east}
staff: [{people: 2, area: west}, {people: 2, area: east}]
ladders:
  mild: {title: Mild, rungs: [{device: nasal cannula, flow: 1 L/min, credit: 1}]}
resupply: {cylinder: US M60, regulator: manifold 6 outlets}
"""


def _few(scenario):
    found = doubts(scenario, find_stays(scenario))
    return {(doubt.area, doubt.what) for doubt in found if doubt.code == "few-devices"}


def test_device_that_is_brought_along_counts_once(write):
    """Moved or on a milder ladder, a patient keeps the cannula; only the mask is new, at the moment of the change."""
    scenario = read_scenario(write(MOVED))
    needs = [(s.label, s.area, d.key, s.count, s.start) for s, d in first_needs(scenario, find_stays(scenario))]
    assert needs == [
        ("stay", "west", "nasal cannula", 2, 10),
        ("moved", "west", "nasal cannula", 3, 20),
        ("moved", "east", "simple mask", 3, 110),
    ]
    of_own = "of their own for their top rung"
    assert _few(scenario) == {
        ("west", f"by T+20, 5 patients will have needed a nasal cannula {of_own}; 4 are there by then"),
        ("east", f"by T+110, 3 patients will have needed a simple mask {of_own}; 2 are there by then"),
    }


def test_delivery_in_time_is_counted(write):
    """What comes before it is needed raises no doubt; what comes later is named."""
    late = MOVED + "deliveries: [{delivery: D, at: T+30, area: west, brings: [{device: nasal cannula, count: 9}]}]\n"
    west = next(what for area, what in _few(read_scenario(write(late))) if area == "west")
    assert west.endswith("4 are there by then, 9 more come later")
    early = late.replace("at: T+30", "at: T+15")
    assert {area for area, _ in _few(read_scenario(write(early)))} == {"east"}


@pytest.mark.parametrize("path", BUNDLED, ids=lambda path: path.stem)
def test_agrees_with_the_resupply_timeline(path):
    """Area, device and how many are missing are the same in the doubt and in the timeline for everyone."""
    scenario = read_scenario(path)
    _same(scenario)


def test_agrees_with_the_resupply_timeline_where_patients_move(write):
    """The same where patients bring devices along."""
    _same(read_scenario(write(MOVED)))


def _same(scenario):
    table, _ = resupply_timeline(scenario, count_demand(scenario), Settings())
    rows = table[(table["goal"] == "everyone") & (table["unit"] == "device")]
    timeline = {(row.area, row.item.split(" (")[0], row.total) for row in rows.itertuples()}
    told = set()
    for area, what in _few(scenario):
        words = re.search(r"(\d+) patients? .* an? (.*?)(?: of their own)? for their top rung; (\d+)", what)
        told.add((area, words[2], int(words[1]) - int(words[3])))
    assert told == timeline


def test_ferry_needs_24_masks():
    """By hand: 8 + 14 + asthma + deck hand, who keeps his mask when he gets worse; 14 are there before the truck."""
    ferry = read_scenario(next(path for path in BUNDLED if path.stem == "ferry-fire"))
    (what,) = (what for _, what in _few(ferry))
    assert what.startswith("by T+85, 24 patients will have needed a non-rebreather of their own")
    assert what.endswith("14 are there by then, 10 more come later")


def test_tunnel_has_masks_for_all():
    """By hand: 6 + 14 + 5 + 8 of 34 at the north portal; 4 + 10 of 24 at the south, where 14 bring theirs."""
    tunnel = read_scenario(next(path for path in BUNDLED if path.stem == "tunnel-fire"))
    counts = {"north": 0, "south": 0}
    for stay, device in first_needs(tunnel, find_stays(tunnel)):
        counts[stay.area] += stay.count if device.key == "non-rebreather" else 0
    assert counts == {"north": 33, "south": 14}
    assert _few(tunnel) == set()
