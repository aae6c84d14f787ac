"""Each doubt fires on a scenario that deserves it, and a scenario without fault raises none."""

from __future__ import annotations

import pytest

from mci.demand.stays import find_stays
from mci.scenario import read_scenario
from mci.scenario.check import RULES, doubts
from mci.scenario.doubts_exercise import exercise_doubts

FINE = """\
incident: {name: Quay fire, horizon: 4 h}
areas: {west: West portal}
patients:
  - {batch: B, count: 4, category: immediate, area: west, ladder: low need, arrive: T+10, stay: 60 min}
  - {batch: C, count: 1, category: delayed, area: west, ladder: low need, arrive: T+10, stay: 60 min}
supplies:
  - {cylinder: US E, count: 6, pressure: 2000 psi, area: west}
regulators:
  - {regulator: yoke regulator 0-15 L/min, count: 6, area: west}
devices:
  - {device: nasal cannula, count: 6, area: west}
staff: [{people: 2, area: west}]
resupply: {cylinder: US M60, regulator: threaded regulator 0-15 L/min}
"""
SHORT_AND_HEAVY = (
    "weights: {immediate: 1, delayed: 2}\nsupplies:\n  - {cylinder: US D, count: 1, pressure: 600 psi, area: west}\n"
)
CONCENTRATORS = "supplies:\n  - {concentrator: concentrator 5 L/min, count: 3, area: west}\n"


def _doubts(path):
    scenario = read_scenario(path)
    return doubts(scenario, find_stays(scenario))


def test_scenario_without_fault_raises_no_doubt(write):
    """Enough of everything is said to be enough."""
    assert _doubts(write(FINE)) == ()


DOUBTFUL = [
    (
        "arrive-too-late",
        "arrive: T+10, stay: 60 min}\n  - {batch: C",
        "arrive: T+240}\n  - {batch: C",
        "4 of 'B' arrive",
    ),
    (
        "few-devices",
        "nasal cannula, count: 6",
        "nasal cannula, count: 4",
        "nasal cannula of their own for their top rung; 4 are",
    ),
    (
        "few-devices",
        "delayed, area: west, ladder: low need, arrive: T+10",
        "delayed, area: west, ladder: low need, arrive: T+80",
        "",
    ),
    ("fewer-devices-than-patients", "nasal cannula, count: 6", "nasal cannula, count: 4", "5 patients and 4 devices"),
    ("weights-invert-triage", "supplies:", "weights: {immediate: 1, delayed: 2}\nsupplies:", "delayed weighs more (2)"),
    ("weight-of-nothing", "supplies:", "weights: {delayed: 0}\nsupplies:", "delayed weighs 0"),
    ("nobody-there", "areas: {west: West portal}", "areas: {west: West portal, east: East}", "no patient is there"),
    ("no-hands", "people: 2, area: west", "people: 2, area: west, from: T+30", "from T+10 nobody is there"),
    ("no-hands", "people: 2, area: west", "people: 2, area: west, until: T+30", "from T+30 nobody is there"),
    ("no-supply", "  - {cylinder: US E, count: 6, pressure: 2000 psi, area: west}\n", "  []\n", "no supply of oxygen"),
    ("no-regulator-fits", "cylinder: US E, count: 6", "cylinder: UK F, count: 6", "fits the bullnose valve"),
    (
        "idle-regulators",
        "cylinder: US E, count: 6",
        "cylinder: UK F, count: 6",
        "no cylinder there has a valve for 6 x yoke",
    ),
    ("few-outlets", "L/min, count: 6", "L/min, count: 4", "5 patients; regulators and outlets serve 4"),
    ("few-outlets", "L/min, count: 6", "L/min, count: 5", ""),
    ("few-devices", "nasal cannula, count: 6", "nasal cannula, count: 5", ""),
    ("few-regulators", "L/min, count: 6", "L/min, count: 4", "4 regulators for 6 cylinders"),
    ("no-high-pressure", "west, ladder: low need", "west, ladder: ventilated", "transport ventilator"),
    ("flow-above-outlets", "supplies:\n", CONCENTRATORS, "no flow outlet there passes more than 5 L/min"),
    ("less-than-wanted", "stay: 60 min", "leave: T+239", ""),
    ("less-than-wanted", "cylinder: US E, count: 6", "cylinder: US E, count: 1", "the top rungs draw 600 L"),
    (
        "late-delivery",
        "staff:",
        ("deliveries: [{delivery: truck, at: 4 h, area: west, brings: [{device: nasal cannula, count: 1}]}]\nstaff:"),
        "delivery 'truck' comes at T+240",
    ),
    (
        "never-used",
        "supplies:\n",
        (
            "supplies:\n  - {piped: wall, outlets: 8, outlet flow: 15 L/min, total flow: 60 L/min, "
            "area: west, from: T+90}\n"
        ),
        "while wall can be used",
    ),
    ("little-power", "supplies:\n", CONCENTRATORS, "need 1.8 kW; there are 1 kW"),
    ("reserve-above-stock", "supplies:", "reserve: {west: 9000 L}\nsupplies:", "reserve of 9 000 L is more"),
    ("milder-first", "US E, count: 6", "US E, count: 1", ""),
    ("milder-first", "supplies:\n", SHORT_AND_HEAVY, "more for delayed on 'low need' (1.2 a litre)"),
    ("odd-gauge", "2000 psi", "2100 psi", "above that of a full one"),
    (
        "left-out",
        "supplies:\n",
        "supplies:\n  - {cylinder: US D, count: 1, pressure: 300 psi, area: west}\n",
        "left out",
    ),
]


@pytest.mark.parametrize(("code", "old", "new", "words"), DOUBTFUL, ids=[f"{d[0]}-{i}" for i, d in enumerate(DOUBTFUL)])
def test_doubt_is_raised(write, code, old, new, words):
    """What deserves a doubt raises it under its stable code, in words that name what and where."""
    assert old in FINE
    text = FINE.replace(old, new, 1)
    if new == CONCENTRATORS:
        text = text.replace("  - {cylinder: US E, count: 6, pressure: 2000 psi, area: west}\n", "")
        text = text.replace("ladder: low need", "ladder: moderate need") + "power: [{power: 1 kW, area: west}]\n"
        text = text.replace("devices:\n", "devices:\n  - {device: simple mask, count: 9, area: west}\n")
    if new == SHORT_AND_HEAVY:
        text = text.replace("  - {cylinder: US E, count: 6, pressure: 2000 psi, area: west}\n", "")
    if code == "no-high-pressure":
        text = text.replace(
            "devices:\n",
            "".join(
                [
                    "devices:\n",
                    *(
                        f"  - {{device: {d}, count: 9, area: west}}\n"
                        for d in ("transport ventilator", "bag-valve-mask")
                    ),
                ]
            ),
        )
    found = [doubt for doubt in _doubts(write(text)) if doubt.code == code]
    if not words:
        assert not found
        return
    assert any(words in doubt.what for doubt in found), found


def test_every_rule_has_a_doubt_that_shows_it():
    """No rule is without an example above, but for those of exercises, which have tests of their own."""
    assert len({code for code, *_, words in DOUBTFUL if words}) >= len(set(RULES) - {exercise_doubts})


def test_one_patient_after_the_end_is_told_by_the_moment(write):
    """One late patient has a moment, with the clock time that may have been meant for another day."""
    text = FINE.replace("horizon: 4 h", 'start: "18:05", horizon: 4 h')
    late = "  - {patient: S, category: delayed, area: west, ladder: low need, arrive: 0:15}\nsupplies:"
    (found,) = _doubts(write(text.replace("supplies:", late, 1)))
    assert found.what == "'S' arrives at T+370 (00:15 +1 d) and is not planned for: the plan ends at T+240"


def test_none_of_a_device_can_be_said(write):
    """A device that a ladder offers and an area lacks has a count of 0: said back, doubted, planned without."""
    scenario = read_scenario(write(FINE.replace("nasal cannula, count: 6", "nasal cannula, count: 0")))
    assert [stock.quantity for stock in scenario.devices] == [0]
    assert any("0 are there" in doubt.what for doubt in doubts(scenario, find_stays(scenario)))
