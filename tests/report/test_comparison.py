"""What planning buys: usual practice, this plan and the bound by one yardstick."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import pytest
from made_plans import GAINS, ORDERS

from mci.plan.orders import Action
from mci.report.build import build_page
from mci.report.compared import comparison_table, find_withdrawals, measure

if TYPE_CHECKING:
    from mci.pipeline import Run
    from mci.report.comparison import Comparison


def compared(run: Run) -> Comparison:
    """Return the comparison of a run that has plans."""
    found = build_page(run).comparison
    assert found is not None
    return found


def test_the_sentence_says_what_planning_buys(planned_run: Run) -> None:
    """Plans are rounded down, the limit up, all as shares of the weighted need."""
    assert compared(planned_run).sentence == (
        "This plan meets 85.1 % of the weighted need; first come, first served 60.8 %; sickest first, first come "
        "73.8 %; no plan can meet more than 86.9 %."
    )


def test_usual_practice_plan_and_bound_stand_side_by_side(planned_run: Run) -> None:
    """Usual practice to the left, then this plan, then the bound, which has no orders to count."""
    found = compared(planned_run)
    assert found.names[-2:] == ("This plan", "Best possible")
    rows = {row.label: row.cells for row in found.rows}
    assert rows["Gap to the best possible"] == ("30.0 %", "15.0 %", "2.0 %", "none")
    assert rows["Cylinder changes"] == ("1", "2", "5", "–")
    assert rows["Moves to another outlet"][2:] == ("1", "–")
    assert rows["Step-downs"][2:] == ("1", "–")
    assert rows["Withdrawals"][2:] == ("1", "–")
    assert rows["Immediate"][3] == build_page(planned_run).coverage[0].coverage
    assert {len(cells) for cells in rows.values()} == {4}


def test_without_plans_there_is_nothing_to_compare(run: Run) -> None:
    """The page goes without the section; the table has the bound alone."""
    assert build_page(run).comparison is None
    (row,) = comparison_table(measure(run.scenario, run.outcome.bound, run.coverage, run.plans)).rows
    assert row[0] == "best possible"


def test_a_plan_at_the_bound_meets_as_much_as_the_best(planned_run: Run) -> None:
    """The yardstick of plans and bound is one: what earns the bound has the same share and no gap."""
    first = planned_run.plans[0]
    verdict = dataclasses.replace(first.verdict, weighted=planned_run.outcome.bound)
    plans = (dataclasses.replace(first, verdict=verdict),)
    ours, best = measure(planned_run.scenario, planned_run.outcome.bound, planned_run.coverage, plans)
    assert (ours.weighted, ours.gap) == pytest.approx((best.weighted, 0.0))
    assert [one.gap for one in measure(planned_run.scenario, 100.0, planned_run.coverage, ())] == [0.0]


def test_only_who_still_needs_it_is_withdrawn(planned_run: Run) -> None:
    """A patient in need who comes off oxygen is withdrawn; who leaves, or changes outlets at once, is not."""
    scenario, plan = planned_run.scenario, planned_run.plans[0].plan
    assert [order.minute for order in find_withdrawals(scenario, plan)] == [50.0]
    patients = tuple(dataclasses.replace(each, stay=180.0, leave=180.0) for each in scenario.patients)
    staying = dataclasses.replace(scenario, patients=patients)
    assert sorted(order.minute for order in find_withdrawals(staying, plan)) == [50.0, 150.0]
    back = dataclasses.replace(next(o for o in ORDERS if o.action is Action.CONNECT), minute=50.0)
    back = dataclasses.replace(back, patient="delayed patients 2")
    assert find_withdrawals(scenario, dataclasses.replace(plan, orders=(*plan.orders, back))) == frozenset()


def test_a_strict_rule_limits_plans_by_that_rule_only(planned_run: Run) -> None:
    """The optimum of the strict rule does not bound plans by weights, and the sentence does not say so."""
    settings = {**planned_run.provenance.settings, "priority": "strict"}
    strict = dataclasses.replace(planned_run, provenance=dataclasses.replace(planned_run.provenance, settings=settings))
    assert "by that rule no plan" in compared(strict).sentence


def test_shares_of_the_table_are_those_that_plans_earn(planned_run: Run) -> None:
    """The CSV holds one row per plan with its gap."""
    measured = measure(planned_run.scenario, planned_run.outcome.bound, planned_run.coverage, planned_run.plans)
    table = comparison_table(measured)
    gaps = [row[table.headers.index("gap_to_best_share")] for row in table.rows]
    assert gaps == pytest.approx([1 - GAINS[1], 1 - GAINS[2], 1 - GAINS[0], 0.0])


def test_who_is_driven_to_another_area_is_not_withdrawn(planned_run: Run) -> None:
    """Coming off oxygen to be moved is no withdrawal: the patient's stay at that area is over."""
    scenario, plan = planned_run.scenario, planned_run.plans[0].plan
    patients = tuple(
        dataclasses.replace(each, course=(*each.course, dataclasses.replace(each.course[0], after=50.0, area="east")))
        if each.label.startswith("delayed")
        else each
        for each in scenario.patients
    )
    assert find_withdrawals(dataclasses.replace(scenario, patients=patients), plan) == frozenset()
