"""What a litre buys, and the doubt that a milder case is served before a more urgent one."""

from __future__ import annotations

import pathlib

import pytest

from mci.demand.groups import count_demand
from mci.demand.stays import find_stays
from mci.pipeline import run
from mci.scenario import read_scenario
from mci.scenario.check import doubts
from mci.scenario.litre import values

BY_HAND = pathlib.Path(__file__).parents[2] / "scenarios" / "by-hand.yaml"
SHORT = """\
incident: {name: Quay fire, horizon: 2 h}
areas: {west: West portal}
patients:
  - {batch: B, count: 2, category: immediate, area: west, ladder: high need, arrive: T+0}
  - {batch: C, count: 4, category: minimal, area: west, ladder: low need, arrive: T+0}
supplies:
  - {cylinder: US H steel, count: 1, pressure: 1000 psi, area: west}
regulators:
  - {regulator: manifold 6 outlets, count: 1, area: west}
devices:
  - {device: non-rebreather, count: unlimited, area: west}
  - {device: partial rebreather, count: unlimited, area: west}
  - {device: simple mask, count: unlimited, area: west}
  - {device: nasal cannula, count: unlimited, area: west}
staff: [{people: 2, area: west}]
weights: {immediate: 1, minimal: 0.5}
resupply: {cylinder: US H steel, regulator: manifold 6 outlets}
"""


def _told(scenario):
    return [doubt.what for doubt in doubts(scenario, find_stays(scenario)) if doubt.code == "milder-first"]


def test_values_of_the_example_on_paper():
    """As in the comment of the scenario: B's first 2 L/min 0.3 / 2 = 0.15 a litre, A's first 10 L/min 0.9 / 10."""
    scenario = read_scenario(BY_HAND)
    found = [(v.category, v.rung, v.draw_lpm, v.per_litre) for v in values(scenario, find_stays(scenario))]
    assert found == [("delayed", 2, 2, pytest.approx(0.15)), ("immediate", 2, 10, pytest.approx(0.09))]


def test_lower_category_first_is_told(write):
    """Minimal at weight 0.5 earns 0.3 a litre on 1 L/min, Immediate 0.15 on 2 L/min, and litres are short."""
    (what,) = _told(read_scenario(write(SHORT)))
    assert "more for minimal on 'low need' (0.3 a litre) than for immediate on 'high need' (0.15 a litre)" in what
    assert "--priority strict" in what


def test_what_is_told_happens(write):
    """The plan serves Minimal patients fully while Immediate ones are short, and alone when there is less still."""
    share = run(read_scenario(write(SHORT))).coverage.set_index("category")["coverage"]
    assert share["minimal"] == pytest.approx(1, abs=1e-3)
    assert share["immediate"] < 0.7
    less = SHORT.replace("1000 psi", "300 psi") + "in service minimum: 300 psi\n"
    share = run(read_scenario(write(less))).coverage.set_index("category")["coverage"]
    assert share["minimal"] > 0.3
    assert share["immediate"] == pytest.approx(0, abs=1e-3)


def test_weights_that_keep_the_order_raise_nothing(write):
    """At a weight of 0.2 a litre buys 0.12 for Minimal, less than for Immediate."""
    assert _told(read_scenario(write(SHORT.replace("minimal: 0.5", "minimal: 0.2")))) == []


def test_enough_oxygen_raises_nothing(write):
    """Where all can be served nobody comes first."""
    plenty = SHORT.replace("count: 1, pressure: 1000 psi", "count: 3, pressure: 2000 psi")
    assert _told(read_scenario(write(plenty))) == []


def test_short_of_outlets_only_raises_nothing(write):
    """Where outlets are short but not litres, an outlet goes to whom it serves best by weight: Immediate."""
    plenty = SHORT.replace("count: 1, pressure: 1000 psi", "count: 3, pressure: 2000 psi")
    one = plenty.replace("manifold 6 outlets, count: 1", "threaded regulator 0-15 L/min, count: 2")
    scenario = read_scenario(write(one))
    assert any(doubt.code == "few-outlets" for doubt in doubts(scenario, find_stays(scenario)))
    assert _told(scenario) == []
    share = run(scenario).coverage.set_index("category")["coverage"]
    assert share["immediate"] == pytest.approx(1, abs=1e-3)
    assert share["minimal"] < 0.1


def test_flow_that_is_short_at_a_moment_counts(write):
    """A regulator that passes less than the top rungs draw makes litres a matter of order, too."""
    plenty = SHORT.replace("count: 1, pressure: 1000 psi", "count: 3, pressure: 2000 psi")
    narrow = plenty + (
        "regulator kinds:\n  narrow: {fits: [threaded US], outlets: 6, outlet flow: 15 L/min, total flow: 20 L/min}\n"
    )
    narrow = narrow.replace("{regulator: manifold 6 outlets, count: 1", "{regulator: narrow, count: 1")
    assert len(_told(read_scenario(write(narrow)))) == 1


def test_ladder_that_prescribes_less_is_told(write):
    """Within a category, whoever is prescribed less may come first; only the widest difference is named."""
    text = SHORT.replace("category: minimal", "category: immediate")
    (what,) = _told(read_scenario(write(text)))
    assert "within immediate 'low need' (0.6 a litre) before 'high need' (0.15 a litre)" in what
    assert "strict" not in what


def test_values_need_no_more_than_the_demand(write):
    """One value per category and ladder that occur, the most first."""
    scenario = read_scenario(write(SHORT))
    groups = {(group.category, group.ladder) for group in count_demand(scenario).groups}
    found = values(scenario, find_stays(scenario))
    assert {(v.category, v.ladder) for v in found} == groups
    assert [v.per_litre for v in found] == sorted((v.per_litre for v in found), reverse=True)
