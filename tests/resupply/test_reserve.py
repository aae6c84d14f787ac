"""A reserve that only trips can fill."""

from __future__ import annotations

import dataclasses

import pytest
from one_road import one_road, planner


def test_trips_fill_a_reserve_that_no_own_gas_can() -> None:
    """An area without gas that must keep 500 L at the end gets them, though most plans on the way would break that."""
    incident = dataclasses.replace(one_road(own=0), reserve={"a": 500.0})
    found = planner(incident)
    trips = found.trips()
    worth = found.care.worth(found.network, trips)
    assert worth.unkept == pytest.approx(0.0, abs=1e-6)
    assert found.care.worth(found.network, ()).unkept == pytest.approx(500.0)
