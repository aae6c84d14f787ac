"""Oxygen drawn by blended devices, and air entrained, against published ratios."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from published import published

from mci.physics.draw import air_ratio, blended_draw, entrained_total, ventilator_draw


@pytest.mark.parametrize("row", published("blended_draw"), ids=lambda r: f"{r['total_flow [L/min]']} at {r['fio2']}")
def test_blended_draw_as_computed_by_hand(row: dict[str, str]) -> None:
    """Oxygen share of a blended flow."""
    drawn = blended_draw(float(row["total_flow [L/min]"]), float(row["fio2"]))
    assert drawn == pytest.approx(float(row["oxygen [L/min]"]), abs=0.05)


@pytest.mark.parametrize("row", published("air_entrainment"), ids=lambda r: f"{r['fio2']} {r['source'][:12]}")
def test_air_entrainment_ratios_and_totals(row: dict[str, str]) -> None:
    """Litres of air per litre of oxygen, and the total flow: within the rounding of the print."""
    fio2 = float(row["fio2"])
    if row["air_per_oxygen"]:
        assert air_ratio(fio2) == pytest.approx(float(row["air_per_oxygen"]), abs=float(row["tolerance"]) + 1e-9)
    elif row["total_flow [L/min]"]:
        total = entrained_total(float(row["oxygen_flow [L/min]"]), fio2)
        assert total == pytest.approx(float(row["total_flow [L/min]"]), rel=0.04)
    if row["air_per_oxygen"] and row["total_flow [L/min]"]:
        total = entrained_total(float(row["oxygen_flow [L/min]"]), fio2)
        assert total == pytest.approx(float(row["total_flow [L/min]"]), abs=0.06)


def test_published_transfer_of_a_ventilated_patient_is_never_below_the_draw() -> None:
    """2 x 60 min x (6 x 0.6 + 0.5) = 492 L (frcemexam.com) counts the oxygen of room air as supplied."""
    row = {r["id"]: r for r in published("other_examples")}["WE32"]
    as_printed = 2 * 60 * (6 * 0.6 + 0.5)
    assert as_printed == pytest.approx(float(row["published"]))
    assert 2 * 60 * ventilator_draw(6, 0.6, 0.5) < as_printed
    assert ventilator_draw(6, 1.0, 0.5) == pytest.approx(6 * 1.0 + 0.5)


@given(st.floats(1, 100), st.floats(0.22, 1))
def test_mixture_holds_the_oxygen_that_went_in(oxygen: float, fio2: float) -> None:
    """Entrain air with an oxygen flow, and the blend of the total draws that oxygen again."""
    total = entrained_total(oxygen, fio2)
    assert blended_draw(total, fio2) == pytest.approx(oxygen)
    assert oxygen + 0.21 * (total - oxygen) == pytest.approx(fio2 * total)


@pytest.mark.parametrize("fio2", [0.2, 1.01])
def test_impossible_fractions_are_refused(fio2: float) -> None:
    """Less than room air or more than pure oxygen is a mistake."""
    with pytest.raises(ValueError, match="fraction"):
        blended_draw(10, fio2)
    with pytest.raises(ValueError, match="mixture"):
        air_ratio(fio2)
