"""Cylinder timeline: no minute of service is lost or invented, and many cylinders are spread over pages."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import pytest
from made_plans import with_regulators

from mci.replay.verdict import Holding
from mci.report.build import build_page
from mci.report.cylinder_bars import cylinder_sheets
from mci.report.html import html_text

if TYPE_CHECKING:
    from mci.pipeline import Run


def test_patient_minutes_on_the_bars_are_those_of_the_services(planned_run: Run) -> None:
    """What is drawn adds up to what the judge saw."""
    sheets = cylinder_sheets(planned_run.scenario, planned_run.plans[0])
    drawn = sum((u.end - u.start) * len(u.patients) for s in sheets for bar in s.bars for u in bar.uses)
    served = sum(service.end - service.start for service in planned_run.plans[0].verdict.services)
    assert drawn == pytest.approx(served)


def test_a_bar_spans_its_time_on_regulators_without_overlap(planned_run: Run) -> None:
    """Uses follow each other from going on to coming off, those without patients included."""
    west, _ = cylinder_sheets(planned_run.scenario, planned_run.plans[0])
    third = next(bar for bar in west.bars if bar.mark == "C3")
    assert [(use.start, use.end, len(use.patients)) for use in third.uses] == [(36, 62, 1), (62, 85, 1), (85, 180, 0)]
    assert third.changes == ((36, "R1"),)
    assert third.empty == 85
    assert [bar.mark for bar in west.bars] == ["C1", "C2", "C3", "C10"]


def test_unused_cylinders_are_listed_in_words(planned_run: Run) -> None:
    """A cylinder is a bar or in the list, never neither."""
    page = build_page(planned_run)
    assert page.unused == (("West portal", "C4 to C9, C11"), ("East yard", "C2 to C7"))
    assert "not used: C4 to C9, C11" in html_text(planned_run)


def test_two_hundred_cylinders_are_spread_over_figures(planned_run: Run) -> None:
    """No figure holds more than forty bars, so that each fits on a page and can be read."""
    lot = planned_run.scenario.lots[0]
    scenario = dataclasses.replace(planned_run.scenario, lots=(dataclasses.replace(lot, quantity=200),))
    holdings = tuple(Holding(f"west-1 {n}", "", "west", n / 2, n / 2 + 30, 500, 0) for n in range(1, 201))
    first, *others = planned_run.plans
    verdict = dataclasses.replace(first.verdict, holdings=holdings, services=())
    plans = (dataclasses.replace(first, verdict=verdict), *others)
    text = html_text(dataclasses.replace(planned_run, scenario=with_regulators(scenario), plans=plans))
    assert text.count("Cylinders over time: West portal, part") == 5
    assert "West portal, part 5 of 5" in text
    assert "40 cylinders, 40 changes, 40 emptied" in text
