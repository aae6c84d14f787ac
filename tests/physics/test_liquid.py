"""Gas from liquid oxygen against the fire code's table, textbooks and the equation of state."""

from __future__ import annotations

import pytest
from published import published

from mci.physics.liquid import litres_per_kg, litres_per_lb, litres_per_litre, usable_liquid_litres

LITRES_PER_GALLON = 3.785412


@pytest.mark.parametrize(
    "row", published("liquid_oxygen"), ids=lambda r: f"{r['quantity']} {r['reference [C]']} {r['source'][:9]}"
)
def test_gas_from_liquid(row: dict[str, str]) -> None:
    """Litres of gas per litre, kg, lb and gallon at the temperature of each source."""
    celsius = float(row["reference [C]"])
    gas = {
        "litre": litres_per_litre(celsius),
        "kg": litres_per_kg(celsius),
        "lb": litres_per_lb(celsius),
        "US gallon": litres_per_litre(celsius) * LITRES_PER_GALLON,
    }[row["quantity"]]
    assert gas == pytest.approx(float(row["litres of gas"]), abs=float(row["tolerance"]))


def test_published_days_from_80_pounds() -> None:
    """80 lb at 3 L/min for 8 h a day last 19 days (respiratory care test bank, 2.5 lb/L and 860:1)."""
    row = {r["id"]: r for r in published("other_examples")}["WE28"]
    days = 80 * litres_per_lb(21.1) / (3 * 8 * 60)
    assert days == pytest.approx(float(row["published"]), abs=0.5)


def test_published_reservoir() -> None:
    """73 lb give the 24,950 L that are printed for a home reservoir (webmd.com)."""
    assert 73 * litres_per_lb(21.1) == pytest.approx(24950, rel=0.002)


def test_the_unusable_share_is_taken_off() -> None:
    """A given share, or the upper end of the published 5-10 % of bulk systems (beckershospitalreview.com)."""
    assert usable_liquid_litres(1000, 0.25) == pytest.approx(750)
    assert usable_liquid_litres(1000) == pytest.approx(900)


@pytest.mark.parametrize("share", [-0.1, 1.1])
def test_impossible_shares_are_refused(share: float) -> None:
    """A share lies between 0 and 1."""
    with pytest.raises(ValueError, match="share"):
        usable_liquid_litres(1000, share)
