"""A rung's draw and words follow from what is set on its device."""

from __future__ import annotations

import pytest

from mci.catalogue.load import load_catalogue
from mci.catalogue.rungs import make_rung

DEVICES = load_catalogue().devices


@pytest.mark.parametrize(
    ("device", "set_lpm", "fio2", "draw", "words"),
    [
        ("non-rebreather", 15, None, 15, "15 L/min"),
        ("high-flow cannula", 60, 0.6, 29.6203, "60 L/min at FiO2 0.60"),
        ("high-flow cannula", 60, 0.21, 0, "60 L/min at FiO2 0.21"),
        ("transport ventilator", 8, 1.0, 8.5, "minute volume 8 L/min at FiO2 1.00"),
        ("turbine ventilator", 8, 1.0, 8, "minute volume 8 L/min at FiO2 1.00"),
    ],
)
def test_draw_and_words(device: str, set_lpm: float, fio2: float | None, draw: float, words: str) -> None:
    """Set flow as it is, blended by the algebra, ventilators with their driving gas."""
    rung = make_rung(DEVICES[device], set_lpm, 0.5, fio2)
    assert rung.flow_lpm == pytest.approx(draw, abs=1e-4)
    assert rung.setting == words


@pytest.mark.parametrize("credit", [-0.1, 1.1, float("nan")])
def test_credits_are_shares(credit: float) -> None:
    """A credit beyond 0 to 1 is refused."""
    with pytest.raises(ValueError, match="a credit lies between 0 and 1"):
        make_rung(DEVICES["nasal cannula"], 2, credit)
