"""The programme against the same incident with every patient by name, solved by another solver."""

from __future__ import annotations

import pytest
from common import bound, repeatable
from hypothesis import given
from incidents import cylinders, ladder, outlet_set, patients, scenario
from named_model import best_by_name
from random_incidents import incidents

from mci.scenario.model import Scenario, Spell


@repeatable(150)
@given(incidents())
def test_the_aggregate_equals_the_programme_by_name(incident: Scenario) -> None:
    """Without a shortage of single-use devices, counting patients gives the optimum of naming them."""
    assert bound(incident) == pytest.approx(best_by_name(incident), rel=1e-6, abs=1e-6)


@repeatable(100)
@given(incidents(memory=True))
def test_with_single_use_devices_the_aggregate_is_a_bound(incident: Scenario) -> None:
    """Where single-use devices run out, no plan by name is better than the aggregated optimum."""
    best = best_by_name(incident)
    assert bound(incident) >= best * (1 - 1e-6) - 1e-6


def test_the_bound_is_not_always_attained() -> None:
    """One mask and two patients who move on with or without it: the aggregate counts both as owners afterwards."""
    wear = ladder("wear", ("mask", 10, 1.0), single_use=True)
    again = ladder("again", ("mask", 10, 1.0), single_use=True)
    incident = scenario(
        horizon=20,
        ladders=[wear, again],
        patients=[patients(2, "wear", then=(Spell(10, "a", "immediate", "again"),))],
        lots=[cylinders(2, 1000, built_in=outlet_set("own"))],
        devices={("a", "mask"): 1},
    )
    assert best_by_name(incident) == pytest.approx(20)  # one of the two, all the time
    assert bound(incident) == pytest.approx(30)  # one, then both
