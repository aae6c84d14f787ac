"""Published duration problems, right and wrong ones, and the law litres = minutes x flow."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from published import published

from mci.physics.contents import factor_litres
from mci.physics.duration import duration_min, whole_minutes

MINUTES = {"min": 1, "h": 60, "day": 1440}


def computed(row: dict[str, str]) -> float:
    """Return our answer in the unit of the published one."""
    if row["content [L]"]:
        litres = float(row["content [L]"])
    else:
        litres = factor_litres(float(row["factor [L/psi]"]), float(row["gauge [psi]"]), float(row["residual [psi]"]))
    return duration_min(litres, float(row["flow [L/min]"])) / MINUTES[row["unit"]]


@pytest.mark.parametrize("row", [r for r in published("durations") if r["print"] == "right"], ids=lambda r: r["id"])
def test_published_durations(row: dict[str, str]) -> None:
    """Every published problem whose printed answer is right, within its own rounding."""
    assert computed(row) == pytest.approx(float(row["published"]), abs=float(row["tolerance"]) + 1e-9)


@pytest.mark.parametrize("row", [r for r in published("durations") if r["print"] == "wrong"], ids=lambda r: r["id"])
def test_a_wrong_published_duration_is_not_reproduced(row: dict[str, str]) -> None:
    """Negative control: E, 1500 psi, factor 0.28, 3 L/min is printed as 148 min and is 140 min."""
    assert computed(row) == pytest.approx(140)
    assert abs(computed(row) - float(row["published"])) > float(row["tolerance"])


def test_a_published_transfer_with_twice_the_oxygen() -> None:
    """320 L for 16 min at 10 L/min, doubled for safety (frcemexam.com): they last twice as long."""
    row = {r["id"]: r for r in published("other_examples")}["WE31"]
    assert duration_min(float(row["published"]), 10) == pytest.approx(2 * 16)


@given(st.floats(0, 1e6), st.floats(0.1, 100))
def test_duration_times_flow_is_litres(litres: float, flow: float) -> None:
    """Nothing is lost, and whole minutes are never more than the litres allow."""
    minutes = duration_min(litres, flow)
    assert minutes * flow == pytest.approx(litres)
    assert whole_minutes(minutes) * flow <= litres + 1e-6


@given(st.integers(0, 10_000), st.integers(1, 150))
def test_whole_minutes_survive_the_arithmetic(minutes: int, tenths: int) -> None:
    """Litres for exactly so many minutes last so many minutes, not one less."""
    flow = tenths / 10
    assert whole_minutes(duration_min(minutes * flow, flow)) == minutes


@pytest.mark.parametrize(("minutes", "whole"), [(28.9999, 28), (28.999999999999, 29), (29.5, 29), (0.0, 0)])
def test_minutes_are_rounded_down(minutes: float, whole: int) -> None:
    """Only the last digits of a float are forgiven, not a second."""
    assert whole_minutes(minutes) == whole


@pytest.mark.parametrize("flow", [0, -1, float("nan")])
def test_no_flow_has_no_duration(flow: float) -> None:
    """A duration without a flow is refused, not infinite."""
    with pytest.raises(ValueError, match="flow above 0"):
        duration_min(100, flow)
