"""The six numbers and the worst window that a reader takes away."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import pandas as pd
import pytest
from made_resupply import made_network

from mci.replay.verdict import Validity
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
    assert told["of the need is met at best"] == "82.4 %"
    assert told["patient-hours on a lower rung at best"] == "5.5"  # (120 + 210) / 60
    assert told["patient-hours without oxygen at best"] == "5.5"  # (90 + 30 + 210) / 60
    assert told["first shortage at best, at 14:40"] == "T+40"
    assert told["first area with empty cylinders at best, at 15:00"] == "T+60"
    assert (
        told["more cylinders (US E aluminium) at least, so that nobody is below target"] == "8"
    )  # 7 at west, 1 at east


def test_a_plan_that_can_be_carried_out_comes_first(planned_run: Run) -> None:
    """Headline, standing and the first figures tell of this plan, with the bound beside it, and say which is which."""
    page = build_page(planned_run)
    assert page.headline[0] == (
        "This plan meets 85.1 % of the weighted need up to T+180 (17:00); no plan can meet more than 86.9 %."
    )
    assert page.headline[1].startswith("Worst in this plan: T+0 to T+180 (14:00 to 17:00): 9 Immediate without oxygen")
    assert page.standing.startswith("Replay finds that this plan can be carried out")
    told = {figure.label: figure.value for figure in page.key_figures}
    assert told["of the weighted need is met in this plan"] == "85.1 %"
    assert "patient-hours without oxygen in this plan" in told
    assert told["first shortage in this plan, at 14:00"] == "T+0"


def test_a_network_is_not_counted_and_the_page_says_so(planned_run: Run) -> None:
    """With a network one sentence more, naming the command that plans trips; but for doubts nothing else changes."""
    scenario = dataclasses.replace(planned_run.scenario, network=made_network())
    page, bare = build_page(dataclasses.replace(planned_run, scenario=scenario)), build_page(planned_run)
    note = " What vehicles of the network could bring is not counted here: mci resupply plans their trips."
    assert page.standing == bare.standing + note
    assert dataclasses.replace(page, standing=bare.standing, doubts=bare.doubts) == bare


def test_a_plan_that_is_not_valid_is_not_shown(planned_run: Run) -> None:
    """Orders that cannot be carried out are no plan: no headline, comparison or sheet tells of them."""
    ours, *usual = planned_run.plans
    wrong = dataclasses.replace(ours, verdict=dataclasses.replace(ours.verdict, validity=Validity.INVALID))
    page = build_page(dataclasses.replace(planned_run, plans=(wrong, *usual)))
    assert "at best" in page.headline[0]
    assert page.standing.startswith("No orders are shown")
    assert page.comparison is None
    assert page.sheets == ()
