"""The numbers behind the figures, summed by hand from the invented run."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from mci.report.series import (
    Delivery,
    ResupplySteps,
    ShortStrip,
    Span,
    flow_steps,
    need_steps,
    records,
    resupply_steps,
    short_strips,
    stock_lines,
)

if TYPE_CHECKING:
    from mci.pipeline import Run

AT_40 = 2  # the period from T+40 to T+60


def test_need_is_summed_over_areas(run: Run) -> None:
    """At T+40 eight Immediate patients at west and two at east: 4 at target, 3 on a lower rung, 3 without."""
    immediate = need_steps(records(run.over_time))[0]
    steps = (immediate.need, immediate.at_target, immediate.lower, immediate.without)
    assert immediate.category == "immediate"
    assert [step[AT_40] for step in steps] == [10, 4, 3, 3]


def test_flow_is_summed_over_categories(run: Run) -> None:
    """At T+40 west wants 8 x 15 + 6 x 6 L/min and gets 2 x 15 + 3 x 10 + 4.5 x 3 L/min."""
    west = flow_steps(records(run.over_time), run.scenario.areas)[0]
    assert west.area == "West portal"
    assert west.target[AT_40] == pytest.approx(156)
    assert west.delivered[AT_40] == pytest.approx(73.5)


def test_strips_are_where_somebody_is_short(run: Run) -> None:
    """Neighbouring periods join; below target counts those without too; whoever is never short has no strip."""
    assert short_strips(records(run.over_time), run.scenario.areas) == (
        ShortStrip("West portal", "immediate", (Span(40, 90, 6),), (Span(40, 90, 3),)),
        ShortStrip("West portal", "delayed", (Span(40, 90, 6),), (Span(40, 60, 1.5),)),
        ShortStrip("East yard", "minimal", (Span(90, 180, 3),), (Span(90, 180, 3),)),
    )


def test_a_delivery_is_a_jump_in_the_stock(run: Run) -> None:
    """Two points at one moment: what was left just before, and what is there just after."""
    west = stock_lines(run)[0]
    assert [litres for time, litres in zip(west.times, west.litres, strict=True) if time == 60] == [0, 12000]
    assert west.deliveries == (Delivery(60, 12000),)
    assert west.empty == 60


def test_resupply_is_a_running_total_of_gas(run: Run) -> None:
    """Devices are no cylinders; each goal has its own line."""
    assert resupply_steps(run) == (
        ResupplySteps("West portal", ((38, 4), (60, 7)), ((40, 3),)),
        ResupplySteps("East yard", ((88, 1),), ()),
    )
