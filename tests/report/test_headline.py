"""The six numbers and the worst window that a reader takes away."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd
import pytest

from mci.report.build import build_page

if TYPE_CHECKING:
    from collections.abc import Callable

    from mci.pipeline import Run

_COLUMNS = "area category start_min end_min most_below_target most_without below_patient_min without_patient_min"


def _windows(*rows: tuple[str, str, float, float]) -> pd.DataFrame:
    """Return windows of an area and category, with patient-minutes on a lower rung and without."""
    found = [(area, category, 0.0, 10.0, 2.0, float(dry > 0), low, dry) for area, category, low, dry in rows]
    return pd.DataFrame(found, columns=_COLUMNS.split())


@pytest.mark.parametrize(
    ("windows", "worst"),
    [
        ([("west", "immediate", 900.0, 0.0), ("east", "minimal", 0.0, 5.0)], "Minimal"),  # none at all is worse
        ([("west", "delayed", 0.0, 30.0), ("west", "immediate", 0.0, 20.0)], "Immediate"),  # by weight
        ([("west", "delayed", 30.0, 0.0), ("west", "immediate", 20.0, 0.0)], "Immediate"),
        ([("west", "delayed", 90.0, 0.0), ("west", "immediate", 20.0, 0.0)], "Delayed"),
    ],
)
def test_the_worst_window_is_oxygen_missing_then_oxygen_reduced(
    make_run: Callable[..., Run], windows: list[tuple[str, str, float, float]], worst: str
) -> None:
    """Weighted patient-minutes without oxygen count first, those on a lower rung only where they are equal."""
    weights = {"immediate": 1.0, "delayed": 0.5, "minimal": 0.2}
    page = build_page(make_run(windows=_windows(*windows), weights=weights))
    assert f" {worst} " in page.headline[1]


def test_six_numbers(run: Run) -> None:
    """Coverage, patient time reduced and missing, the first shortage, the first empty area, and what must come."""
    told = {figure.label: figure.value for figure in build_page(run).key_figures}
    assert told["of the need is met"] == "82.4 %"
    assert told["patient-hours on a lower rung"] == "5.5"  # (120 + 210) / 60
    assert told["patient-hours without oxygen"] == "5.5"  # (90 + 30 + 210) / 60
    assert told["first shortage, at 14:40"] == "T+40"
    assert told["first area with empty cylinders, at 15:00"] == "T+60"
    assert told["more cylinders (US E aluminium) so that nobody is below target"] == "8"  # 7 at west, 1 at east
