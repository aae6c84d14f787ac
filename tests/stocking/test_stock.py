"""The whole study: what is refused, that the seed alone decides, and that its parts tell the same."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest
from small_stocking import POST, draft_of
from small_studies import STAND, TWO, UNCERTAIN, stand, stand_for_budget, two

from mci.cli._stock_words import show_stock_page
from mci.cli._terminal import make_console
from mci.errors import NoPlanError, SolverLimitError, UsageError
from mci.lp.two_stage import Aim
from mci.report.stock_build import build_stock_page
from mci.report.stock_files import stock_files
from mci.scenario.uncertain_text import parse_uncertain
from mci.stocking.result import AVERAGE, CHOSEN, OWNED, Stock
from mci.stocking.stock import run_stock
from mci.stocking.study import Study
from mci.surge.means import Means

SAME = 1e-6
MADE = {"goals": stand, "budget": stand_for_budget, "two": two}
TABLES = ("packing", "usage", "lists", "contents", "frontier", "targets", "patients", "worst")
NO_GOALS = POST.partition("  goals:")[0]


@pytest.fixture(scope="module", params=sorted(MADE))
def found(request: pytest.FixtureRequest) -> Stock:
    """Return a study of caches."""
    return MADE[request.param]()


def _same(one: Stock, other: Stock) -> None:
    """Hold that two studies found the same."""
    for name in TABLES:
        pd.testing.assert_frame_equal(getattr(one, name), getattr(other, name), check_exact=False, rtol=1e-7, atol=1e-7)
    pd.testing.assert_frame_equal(one.validity.table, other.validity.table, check_exact=False, rtol=1e-7, atol=1e-7)
    pd.testing.assert_frame_equal(one.trace.drop(columns="seconds"), other.trace.drop(columns="seconds"))
    assert dataclasses.astuple(one.worth) == pytest.approx(dataclasses.astuple(other.worth), nan_ok=True)
    assert one.worst_scenarios == other.worst_scenarios
    assert (one.notes, one.rounds, one.cuts, one.step) == (other.notes, other.rounds, other.cuts, other.step)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (POST.partition("stocking:")[0] + UNCERTAIN, "does not say what caches may hold: add a section `stocking:`"),
        (STAND, "does not say what is uncertain: add a section `uncertain:`"),
        (NO_GOALS + UNCERTAIN, "has neither goals nor a budget for its caches: write one, or --budget"),
        (STAND.replace("stocking:", "reserve: {field: 100 L}\nstocking:") + UNCERTAIN,
         "stocking knows no reserve; remove the reserve of field"),
    ],
)  # fmt: skip
def test_what_cannot_be_asked_is_refused(text: str, told: str) -> None:
    """Before anything is loaded, with what to do."""
    with pytest.raises(UsageError) as caught:
        run_stock(draft_of(text), None, 2, say=lambda words: pytest.fail(words))
    assert told in str(caught.value)


def test_no_incident_that_can_be_planned_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where nobody ever arrives, say."""
    monkeypatch.setattr("mci.stocking.stock.that_can_be_planned", lambda _draft, _cases: ())
    with pytest.raises(UsageError, match=r"none of the 3 sampled incidents of made\.yaml can be planned"):
        run_stock(draft_of(STAND + UNCERTAIN), None, 3)


def test_goals_out_of_reach_and_time_over() -> None:
    """The choice of the list fails with what could be reached, or that there was no time."""
    text = STAND.replace("80 %", "99 %") + UNCERTAIN
    with pytest.raises(NoPlanError, match=r"99 % is asked for, .* can be reached where it alone counts"):
        run_stock(draft_of(text), None, 4)
    with pytest.raises(SolverLimitError, match="stopped at its limit"):
        run_stock(draft_of(STAND + UNCERTAIN), None, 4, time_limit=1e-9)


def test_bounds_hold_the_list(found: Stock) -> None:
    """No list costs less than the lower bound, or misses less; rounds close the distance."""
    chosen = found.lists.iloc[0]
    assert found.lower <= found.upper + SAME
    assert found.proven
    assert found.gap <= 0.005
    assert found.lower >= found.upper - 0.005 * max(1.0, found.upper)
    if found.mode == "goals":
        assert math.isnan(found.budget)
        assert found.upper == pytest.approx(chosen["cost"])
    else:
        assert chosen["cost"] <= found.budget
        assert found.upper == pytest.approx(1 - chosen["weighted"], abs=SAME)
    trace = found.trace
    assert trace["round"].tolist() == list(range(1, found.rounds + 1))
    assert (np.diff(trace["lower"]) >= -SAME).all()
    assert (np.diff(trace["upper"][np.isfinite(trace["upper"])]) <= SAME).all()
    assert trace["upper"].iloc[-1] == pytest.approx(found.upper, abs=SAME)
    assert trace["seconds"].is_monotonic_increasing
    assert found.cuts > 0


def test_parts_tell_the_same(found: Stock) -> None:
    """Lists, curve, patients and worth of one list agree."""
    lists = found.lists.set_index("list")
    assert list(lists.index)[:2] == [CHOSEN, OWNED]
    assert found.worth.chosen_cost == pytest.approx(lists.loc[CHOSEN, "cost"])
    assert found.worth.chosen_coverage == pytest.approx(lists.loc[CHOSEN, "weighted"])
    assert found.worth.chosen_goals == lists.loc[CHOSEN, "goals_met"]
    assert (AVERAGE in lists.index) == math.isfinite(found.worth.average_cost)
    if AVERAGE in lists.index:
        assert found.worth.average_cost == pytest.approx(lists.loc[AVERAGE, "cost"])
        assert found.worth.average_coverage == pytest.approx(lists.loc[AVERAGE, "weighted"])
    curve = found.frontier
    assert curve["cost"].iloc[0] == pytest.approx(lists.loc[OWNED, "cost"])
    assert curve["budget"].iloc[0] == pytest.approx(lists.loc[OWNED, "cost"])
    assert curve["weighted"].iloc[0] == pytest.approx(lists.loc[OWNED, "weighted"])
    assert curve["budget"].iloc[-1] >= lists.loc[CHOSEN, "cost"]
    assert set(found.worst["incident"]) <= set(range(1, found.incidents + 1))
    assert list(found.worst_scenarios) == found.worst["name"].tolist()


def test_means_over_incidents_hold_the_worst(found: Stock) -> None:
    """Incidents that are not shown miss no more than the last that is: their mean lies below."""
    missed, count = 1 - found.worst["weighted"].to_numpy(), found.incidents
    total = count * (1 - found.lists["weighted"].iloc[0])
    assert missed.sum() <= total + SAME
    assert total <= missed.sum() + (count - len(missed)) * missed.min() + SAME


def test_the_seed_alone_decides() -> None:
    """Twice the same is the same in every table; another seed draws others."""
    again = run_stock(draft_of(STAND + UNCERTAIN), None, 6, 1, fresh=12, judged=3)
    _same(stand(), again)
    other = run_stock(draft_of(STAND + UNCERTAIN), None, 6, 2, budget=300.0, fresh=12, judged=0)
    assert other.validity.table["mean"].tolist() != stand().validity.table["mean"].tolist()


@pytest.mark.slow
def test_other_processes_find_the_same() -> None:
    """Incidents dealt out to two workers."""
    _same(stand(), run_stock(draft_of(STAND + UNCERTAIN), None, 6, 1, fresh=12, judged=3, means=Means(workers=2)))


def test_what_is_uncertain_may_be_given() -> None:
    """In place of what the scenario says; a number that does not vary makes all incidents alike."""
    draft = draft_of(TWO)
    given = parse_uncertain(["patients.stand.count = fixed 3"], draft)
    found = run_stock(draft, given, 3, 1, budget=300.0, fresh=2, judged=0)
    assert found.worth.known_coverage == pytest.approx(found.worth.chosen_coverage, abs=SAME)
    assert found.worth.chosen_coverage == pytest.approx(found.validity.table["mean"].iloc[0], abs=SAME)


def test_budget_of_the_planner_is_asked_where_there_are_no_goals() -> None:
    """The most weighted coverage for it; no goals, no targets, and every list meets all of none."""
    text = NO_GOALS.replace("years: 2", "years: 2\n  budget: 300") + UNCERTAIN
    found = run_stock(draft_of(text), None, 6, 1, fresh=4, judged=0)
    assert (found.mode, found.budget) == ("budget", 300.0)
    assert found.lists["weighted"].iloc[0] == pytest.approx(stand_for_budget().lists["weighted"].iloc[0], abs=SAME)
    assert found.lists["together"].all()
    assert found.targets.empty
    assert found.patients["cost"].isna().all()
    assert "report.html" in stock_files(found)


def test_budget_that_is_asked_comes_before_goals() -> None:
    """And before what the planner wrote; a step that is asked is kept."""
    text = STAND.replace("years: 2", "years: 2\n  budget: 200") + UNCERTAIN
    found = run_stock(draft_of(text), None, 6, 1, budget=300.0, step=40.0, fresh=4, judged=0)
    pd.testing.assert_frame_equal(found.packing, stand_for_budget().packing)
    assert stand_for_budget().step == 40.0
    steps = found.frontier["budget"].to_numpy()[1:] / 40
    assert steps == pytest.approx(steps.round())


def _only_first(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the first search end in time, and no other."""
    find, asked = Study.find_in_time, []

    def late(self: Study, aim: Aim, gap: float | None = None) -> object:
        asked.append(aim)
        if len(asked) > 1:
            raise SolverLimitError("late")
        return find(self, aim, gap)

    monkeypatch.setattr(Study, "find_in_time", late)


@pytest.mark.parametrize(("text", "budget"), [(STAND + UNCERTAIN, None), (STAND + UNCERTAIN, 300.0), (TWO, None)])
def test_a_list_is_not_lost_where_later_searches_take_too_long(
    monkeypatch: pytest.MonkeyPatch, text: str, budget: float | None
) -> None:
    """What they should tell is left out, which is said; pages and files can be made."""
    _only_first(monkeypatch)
    found = run_stock(draft_of(text), None, 6, 1, budget=budget, fresh=4, judged=1)
    assert found.proven
    assert not found.packing.empty
    assert found.frontier.empty
    assert found.targets["cost"].isna().all()
    assert found.patients["cost"].isna().all()
    assert any(
        "searches beside that for the list found nothing within their time limit" in note for note in found.notes
    )
    assert "report.html" in stock_files(found)
    show_stock_page(build_stock_page(found), make_console())


def test_a_list_that_is_not_proven_says_how_far_it_may_be(monkeypatch: pytest.MonkeyPatch) -> None:
    """In money, or in percentage points."""
    find = Study.find_in_time

    def unproven(self: Study, aim: Aim, gap: float | None = None) -> object:
        found = find(self, aim, gap)
        shift = 0.1 * abs(found.upper) if found else 0.0
        return found and dataclasses.replace(found, lower=found.upper - shift, proven=False)

    monkeypatch.setattr(Study, "find_in_time", unproven)
    for budget, told in ((None, "cost up to 10.0 % more than the best"), (300.0, "cover up to 8.27 percentage points")):
        found = run_stock(draft_of(STAND + UNCERTAIN), None, 6, 1, budget=budget, fresh=2, judged=0)
        assert any(note.startswith("The search stopped at its time limit") and told in note for note in found.notes)


def _said() -> tuple[list[str], Callable[[str], None]]:
    told: list[str] = []
    return told, told.append


def test_it_says_what_it_does_and_keeps_the_record() -> None:
    """In words, step by step; settings, solver and the scenario's mark are kept."""
    told, say = _said()
    found = run_stock(draft_of(TWO), None, 3, 5, budget=300.0, fresh=2, judged=0, say=say)
    assert told[:2] == ["loading 3 incidents", "choosing the list"]
    assert "2 fresh incidents" in told
    settings = found.provenance.settings
    assert {"incidents": 3, "seed": 5, "budget": 300.0, "fresh": 2, "judged": 0}.items() <= settings.items()
    assert found.provenance.scenario_file == "made.yaml"
    assert len(found.provenance.scenario_sha256) == 64
    assert found.provenance.timings["study_s"] >= found.seconds
    assert (found.incidents, found.seed) == (3, 5)
