"""Every doubt is raised where it should be, and none where all is well."""

from __future__ import annotations

import pytest

from mci.catalogue.doubts import cylinder_doubts, device_doubts, outlet_doubts
from mci.catalogue.load import load_catalogue

CATALOGUE = load_catalogue()
E = CATALOGUE.cylinders["US E aluminium"]
CD = CATALOGUE.cylinders["UK CD 230 bar"]


def test_a_full_cylinder_raises_no_doubt() -> None:
    """Nor does a gauge that a warm day explains when the temperature is given."""
    assert list(cylinder_doubts(E, 2015, 200)) == []
    assert list(cylinder_doubts(E, 2195, 200, 40)) == []


@pytest.mark.parametrize(
    ("gauge", "expected"),
    [
        (499, ["below 500 psi"]),
        (200, ["not above the residual", "below 500 psi"]),
        (2195, ["above that of a full one"]),
    ],
)
def test_doubtful_gauges(gauge: float, expected: list[str]) -> None:
    """Too low to start, nothing left, more than full."""
    told = list(cylinder_doubts(E, gauge, 200))
    assert len(told) == len(expected)
    assert all(words in doubt for words, doubt in zip(expected, told, strict=True))


def test_a_cold_cylinder_may_be_overfull_below_its_full_gauge() -> None:
    """2000 psi at -20 °C would read far above 2015 psi when warm."""
    (told,) = cylinder_doubts(E, 2000, 200, -20)
    assert told.startswith("at 21.1 °C the gauge would read 25")


def test_metric_doubts_are_in_bar() -> None:
    """The planner's own units."""
    assert "34 bar" in next(cylinder_doubts(E, 400, 200, metric=True))


@pytest.mark.parametrize(
    ("key", "flow", "expected"),
    [
        ("non-rebreather", 10, ""),
        ("non-rebreather", 9.9, "below the range of non-rebreather (10 to 15 L/min): the reservoir bag"),
        ("non-rebreather", 15.1, "above the range"),
        ("simple mask", 5, ""),
        ("simple mask", 4.9, "below the range of simple mask (5 to 10 L/min): exhaled carbon dioxide"),
        ("nasal cannula", 0.5, "below the range of nasal cannula (1 to 6 L/min)"),
        ("high-flow cannula", 30, ""),
        ("high-flow cannula", 61, "more than high-flow cannula can use"),
        ("transport ventilator", 20.5, ""),
    ],
)
def test_flows_outside_a_device(key: str, flow: float, expected: str) -> None:
    """At the limits all is well, beyond them the risk is told."""
    told = list(device_doubts(CATALOGUE.devices[key], flow))
    assert len(told) == bool(expected)
    assert not told or expected in told[0]


def test_flows_beyond_the_usual_outlet() -> None:
    """A larger regulator is named where there is one; a high-pressure device needs its own outlet."""
    assert list(outlet_doubts(E, 15)) == []
    assert list(outlet_doubts(CD, 15)) == []
    assert "yoke regulator 0-25 L/min passes it" in next(outlet_doubts(E, 20))
    assert next(outlet_doubts(E, 30)).endswith("(15 L/min)")
    assert next(outlet_doubts(CD, 20)).endswith("(15 L/min)")
    ventilator = CATALOGUE.devices["transport ventilator"]
    assert "needs a 50 psi" in next(outlet_doubts(E, 8, ventilator))
    assert list(outlet_doubts(CD, 8, ventilator)) == []
