"""The page in words: what a run says is said, with the worst first."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from mci.lp.outcome import Status
from mci.report.build import build_page

if TYPE_CHECKING:
    from collections.abc import Callable

    from mci.pipeline import Run


def test_headline_names_coverage_and_the_worst_window(run: Run) -> None:
    """The first sentence is the coverage; the worst is oxygen missing, weighted by category."""
    page = build_page(run)
    assert page.headline[0] == "What is at hand meets at best 82.4 % of the need up to T+180 (17:00)."
    assert page.headline[1] == (
        "Worst, even at best: T+40 to T+90 (14:40 to 15:30): 6 Immediate below target, 3 of them without oxygen, "
        "at West portal."
    )


def test_a_fraction_short_is_rounded_up_and_said_so(run: Run) -> None:
    """One and a half patients without oxygen are about two."""
    sentences = [row.sentence for row in build_page(run).windows]
    assert "6 Delayed below target, about 2 of them without oxygen, at West portal" in sentences[1]
    assert "3 Minimal without oxygen, at East yard" in sentences[2]


def test_no_clock_without_a_start(make_run: Callable[..., Run]) -> None:
    """An incident without a start has no clock times anywhere."""
    page = build_page(make_run(start=None))
    assert "(1" not in " ".join([*page.headline, *(row.sentence + row.clock for row in page.windows)])
    assert page.emptyings[0].when == "T+60"


def test_calm_run_says_so(calm_run: Run) -> None:
    """Oxygen enough: nobody below target, nothing to send, nothing binds."""
    page = build_page(calm_run)
    assert page.headline[0] == "At best, nobody falls below target before T+180 (17:00), the end of the plan."
    assert page.windows == page.bottlenecks == ()
    assert [goal.sentence for goal in page.goals] == ["Nothing more is needed."] * 2
    assert not any(figure.short for figure in page.key_figures)


def test_bottlenecks_are_sorted_by_worth(run: Run) -> None:
    """The resource of which one more is worth most comes first, and its bar is the longest."""
    found = build_page(run).bottlenecks
    assert [row.gain for row in found] == ["+1.8 %", "+1.5 %", "+0.81 %", "+0.03 %"]
    assert found[0].relative == 1.0
    assert found[3].by_category == "Immediate +0.03, Delayed −0.03"


def test_goals_are_grouped_by_area_and_item(run: Run) -> None:
    """Each item at each area has its steps in order of time, gas before devices, and a sum in words."""
    everyone, immediate = build_page(run).goals
    assert [(need.area, need.total, len(need.steps)) for need in everyone.needs] == [
        ("West portal", "7", 2),
        ("West portal", "2", 1),
        ("East yard", "1", 1),
    ]
    assert everyone.sentence.endswith("; the first by T+38 (14:38).")
    assert immediate.sentence.startswith("More needed: at West portal 3 × US E aluminium cylinder")


def test_nothing_for_immediate_alone_is_explained(run: Run) -> None:
    """Immediate patients are below target though the gas would do for them alone: the goal says why."""
    only_everyone = run.resupply[run.resupply["goal"] == "everyone"]
    immediate = build_page(dataclasses.replace(run, resupply=only_everyone)).goals[1]
    assert "if they always come first" in immediate.sentence


def test_no_goal_for_immediate_patients_that_do_not_exist(run: Run) -> None:
    """An incident without Immediate patients has one goal."""
    coverage = run.coverage[run.coverage["category"] != "immediate"]
    assert len(build_page(dataclasses.replace(run, coverage=coverage)).goals) == 1


def test_a_limit_is_never_called_best(run: Run) -> None:
    """A plan found at the time limit says that a better one may exist, and by how much at most."""
    outcome = dataclasses.replace(run.outcome, status=Status.LIMIT, bound=run.outcome.achieved / 0.98)
    page = build_page(dataclasses.replace(run, outcome=outcome))
    assert "stopped at a limit" in page.standing
    assert "at most 2.0 %" in page.standing
    assert "best possible" not in page.standing


def test_therapy_and_supplies_add_up(run: Run) -> None:
    """Peaks per rung and litres per lot are those of the outcome."""
    page = build_page(run)
    first = page.therapy[0]
    assert (first.word, first.device, first.setting, first.rung, first.most) == (
        "Immediate", "Non-rebreather mask", "15 L/min", "target", "6",
    )  # fmt: skip
    assert [(row.holds, row.drawn, row.left) for row in page.supplies][1] == ("12 000 L", "11 310 L", "690 L")


def test_every_caution_names_its_source(run: Run) -> None:
    """No caution stands without a source and how far it was checked."""
    cautions = build_page(run).cautions
    assert {"No oil or grease", "Open slowly"} <= {caution.short for caution in cautions}
    assert all(caution.text and caution.source and caution.basis for caution in cautions)


def test_the_priority_rule_is_named(run: Run) -> None:
    """A strict plan does not claim to be the best for the weights, which it does not use."""
    settings = {**run.provenance.settings, "priority": "strict"}
    strict = dataclasses.replace(run, provenance=dataclasses.replace(run.provenance, settings=settings))
    assert "these weights" in build_page(run).standing
    assert "category after category" in build_page(strict).standing
    assert "weights" not in build_page(strict).standing


def test_shortage_of_this_plan_in_whole_patients(planned_run: Run) -> None:
    """By hand: no Delayed is served before T+2, then two of 6; one of them is on a lower rung from T+40 to T+62."""
    page = build_page(planned_run)
    assert page.plan_windows is not None
    assert page.shown_windows == page.plan_windows
    (delayed,) = [row for row in page.plan_windows if row.word == "Delayed"]
    assert delayed.sentence == "T+0 to T+180 (14:00 to 17:00): 6 Delayed without oxygen, at West portal"
    assert delayed.lower_time == "0.4"  # 22 patient-minutes
    assert delayed.without_time == "14.2"  # 4 x 180 + 2 for two + 130 after the withdrawal: 854 patient-minutes
    assert "about" not in "".join(row.sentence for row in page.plan_windows)
    assert dict(page.glance)["Short, this plan"][0] == f"{page.plan_windows[0].sentence}."


def test_without_a_plan_shortage_is_at_best(run: Run) -> None:
    """No orders, no windows of a plan: what is shown is at best."""
    page = build_page(run)
    assert page.plan_windows is None
    assert page.shown_windows == page.windows


def test_clock_and_minutes_of_a_window_agree(make_run: Callable[..., Run], run: Run) -> None:
    """A window that ends at T+66.4 is told to T+67, which is 15:07, in the table as in the sentence."""
    page = build_page(make_run(windows=run.windows.assign(end_min=66.4).iloc[:1]))
    (row,) = page.windows
    assert (row.when, row.clock) == ("T+40 to T+67", "14:40 to 15:07")
    assert "(14:40 to 15:07)" in row.sentence
