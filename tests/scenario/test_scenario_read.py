"""Reading a scenario: what is right becomes the model, and all mistakes are told at once."""

from __future__ import annotations

import math

import pytest

from mci.errors import InputError
from mci.scenario import read_scenario
from mci.scenario.model import LotKind


def test_right_scenario_becomes_the_model(write, right):
    """Units are canonical and names resolved in what the program sees."""
    scenario = read_scenario(write(right))
    assert scenario.start == 14 * 60 + 35
    assert scenario.horizon == 240
    assert [p.label for p in scenario.patients] == ["A", "walking"]
    assert scenario.patients[0].leave == 125
    assert scenario.patients[1].stay == 90
    assert math.isinf(scenario.patients[1].leave)
    cylinders, machines = scenario.lots
    assert (cylinders.kind, machines.kind) == (LotKind.CYLINDER, LotKind.CONCENTRATOR)
    assert cylinders.litres == pytest.approx(12 * 0.28 * 1800)
    assert machines.watts_each == 600
    assert scenario.resupply.cylinder.key == "US M60 aluminium"
    assert scenario.weights["immediate"] > scenario.weights["minimal"]


def test_mistakes_of_different_kinds_are_told_together(write, right):
    """A misspelt key, a wrong unit, a negative count and a missing file come in one error, each with its line."""
    text = (
        right.replace("horizon: 4 h", "hroizon: 4 h")
        .replace("2000 psi", "2000 L")
        .replace("count: 20", "count: -20")
        .replace("supplies:\n", "  - {roster: gone.csv}\nsupplies:\n")
    )
    with pytest.raises(InputError) as caught:
        read_scenario(write(text))
    told = [(m.line, m.path) for m in caught.value.mistakes]
    assert told == [
        (4, "incident.hroizon"),
        (9, "patients[1].count"),
        (10, "patients[2].roster"),
        (12, "supplies[0].pressure"),
    ]
    assert caught.value.exit_code == 3
