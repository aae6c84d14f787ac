"""The curve over the money and over the targets, held to every list that there is."""

from __future__ import annotations

import dataclasses
import math
import re

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_studies import STAND, TWO, Tried, study_of, tried

from mci.lp.decompose import Found
from mci.lp.two_stage import Aim, tail_mean
from mci.stocking.choose import choose
from mci.stocking.frontier import BEYOND, COST_GAP, COVERAGE_GAP, LOOSER, POINTS, budget_frontier, changed, round_step
from mci.stocking.frontier import target_table as targets_of
from mci.stocking.layout import Packed
from mci.stocking.study import Study

SAME = 1e-6


@pytest.fixture(scope="module")
def every() -> Tried:
    """Return all lists of the first aid post."""
    return tried()


@pytest.fixture(scope="module", params=[100.0, 30.0, 300.0])
def curve(request: pytest.FixtureRequest, every: Tried) -> pd.DataFrame:
    """Return the best lists for steps of so much money, up to beyond a list for 485."""
    return budget_frontier(every.study, choose(every.study, 500.0)[0], request.param)


@pytest.fixture(scope="module")
def targets() -> pd.DataFrame:
    """Return the cheapest lists for looser and tighter goals, looked for by a study that knows nothing yet."""
    return targets_of(study_of(STAND))


@given(st.floats(0.0, 1e9))
def test_step_is_the_least_round_one(cost: float) -> None:
    """1, 2 or 5 times a power of 10, so that so many points go so far beyond the list; the next smaller would not."""
    step = round_step(cost)
    digit = float(f"{step:e}".partition("e")[0])
    assert digit in (1.0, 2.0, 5.0)
    wanted = max(cost, 1.0) * BEYOND
    assert step * (POINTS - 1) >= wanted * (1 - 1e-8)
    smaller = step / {1.0: 2.0, 2.0: 2.0, 5.0: 2.5}[digit]
    assert smaller * (POINTS - 1) < wanted * (1 + 1e-8)


def test_more_money_never_covers_less(curve: pd.DataFrame) -> None:
    """Budgets rise, coverage never falls, nothing costs more than its budget."""
    assert (np.diff(curve["budget"]) > 0).all()
    assert (np.diff(curve["weighted"]) >= -SAME).all()
    assert (curve["cost"] <= curve["budget"] + SAME).all()


def test_it_begins_with_what_is_owned_and_reaches_the_chosen_list(curve: pd.DataFrame, every: Tried) -> None:
    """Also where a step is too small to buy anything at all."""
    assert curve["budget"].iloc[0] == curve["cost"].iloc[0] == pytest.approx(26.0)
    assert curve["weighted"].iloc[-1] >= every.most(485.0) - COVERAGE_GAP
    assert len(curve) <= POINTS + 2


def test_each_is_the_best_for_its_money(curve: pd.DataFrame, every: Tried) -> None:
    """Within the gap of the best of all lists, which lies between the bounds."""
    for row in curve.to_dict("records"):
        best = every.most(row["budget"])
        assert best - COVERAGE_GAP - SAME <= row["weighted"] <= best + SAME
        assert row["lower"] - SAME <= best <= row["upper"] + SAME
        assert row["lower"] == row["weighted"]
        assert row["gap"] == pytest.approx(row["upper"] - row["lower"], abs=1e-12)


def test_columns_of_categories_are_of_a_list_for_the_money(curve: pd.DataFrame, every: Tried) -> None:
    """Coverage, minutes without oxygen and those of the worst 5 % are what one of the lists leaves."""
    chances, targets = every.study.asked.chances, every.study.targets
    for row in curve.to_dict("records"):
        same = [
            e
            for e in every.entries
            if abs(e.cost - row["cost"]) < SAME and abs(every.study.weighted(e) - row["weighted"]) < SAME
        ]
        told = []
        for entry in same:
            values = []
            for category in ("immediate", "minimal"):
                without = entry.harms[:, targets.without(category)]
                covered = 1 - chances @ entry.harms[:, targets.missed(category)]
                values += [covered, chances @ without, tail_mean(without, chances, 0.05)]
            told.append(values)
        names = [f"{a}_{c}{b}" for c in ("immediate", "minimal")
                 for a, b in (("coverage", ""), ("without", "_min"), ("tail", "_min"))]  # fmt: skip
        assert any(np.allclose([row[name] for name in names], values, atol=1e-5) for values in told)


def test_what_is_added_adds_up(curve: pd.DataFrame, every: Tried) -> None:
    """From row to row it is the difference in cost of the lists; a row that is as the one above adds nothing."""
    prices = {j.key: j.buy + 2 * j.yearly for j in every.study.layout.stocking.candidates}
    for before, row in zip(curve.to_dict("records"), curve.to_dict("records")[1:], strict=False):
        assert sum(prices[name] * n for name, n in _read(row["added"]).items()) == pytest.approx(
            row["cost"] - before["cost"]
        )
    assert curve["added"].iloc[0] == ""


def _read(words: str) -> dict[str, int]:
    """Read what comes in and goes out from the words about it."""
    parts = (re.fullmatch(r"([+-]\d+) (.+)", part) for part in words.split("; ") if part)
    return {part[2]: int(part[1]) for part in parts if part}


PLACES = [("box", "gate"), ("crate", "hall"), ("crate", "barn")]


@st.composite
def packed(draw: st.DrawFn) -> Packed:
    """Draw a list for a box and a crate that may stand at two places."""
    held = st.dictionaries(st.sampled_from(["E, full", "mask", "yoke"]), st.integers(1, 9))
    return {("box", "gate"): draw(held), draw(st.sampled_from(PLACES[1:])): draw(held)}


@given(packed(), packed())
def test_words_of_a_change_are_the_difference(before: Packed, after: Packed) -> None:
    """Summed over caches, the most first; and a crate that moved is told with its new place."""
    sums = [{name: sum(h.get(name, 0) for h in each.values()) for h in each.values() for name in h}
            for each in (before, after)]  # fmt: skip
    names = {*sums[0], *sums[1]}
    wanted = {n: sums[1].get(n, 0) - sums[0].get(n, 0) for n in names}
    words = changed(before, after)
    told = _read(words)
    assert told == {name: more for name, more in wanted.items() if more}
    assert list(told.values()) == sorted(told.values(), reverse=True)
    moved = [cache for cache, place in PLACES if after.get((cache, place)) and not before.get((cache, place))]
    held = any(each for each in before.values())
    for cache, place in PLACES:
        here = after.get((cache, place)) and not before.get((cache, place))
        assert (f"{cache} at {place}" in words.split("; ")) == bool(here and held), (moved, words)


def test_tighter_never_costs_less(targets: pd.DataFrame) -> None:
    """From loose to tight; where one cannot be met no tighter one can."""
    for _, rows in targets.groupby("goal"):
        costs = rows["cost"].to_numpy()
        assert len(rows) == len(LOOSER)
        met = ~np.isnan(costs)
        assert (np.diff(met.astype(int)) <= 0).all()
        assert (np.diff(costs[met]) >= -COST_GAP * costs[met][1:]).all()
        strict = rows["target"].to_numpy() * (1 if rows["target"].max() <= 1 else -1)
        assert (np.diff(strict) > 0).all()


def test_targets_are_met_at_least_cost(targets: pd.DataFrame, every: Tried) -> None:
    """Within the gap of the cheapest of all lists for that goal and the others as written; none where none is."""
    some = {False: 0, True: 0}
    for row in targets.to_dict("records"):
        limits = every.study.targets.limits()
        limits[row["goal"] - 1] = 1 - row["target"] if row["goal"] == 1 else row["target"]
        cheapest = every.cheapest(limits)
        some[cheapest is None] += 1
        if cheapest is None:
            assert math.isnan(row["cost"])
            assert not row["proven"]
            continue
        assert cheapest.cost - SAME <= row["cost"] <= cheapest.cost / (1 - COST_GAP) + SAME
        assert row["lower"] <= cheapest.cost + SAME
        assert row["proven"]
        packs = {name.removeprefix("packs: "): n for name, n in row.items() if str(name).startswith("packs: ")}
        prices = {j.key: j.buy + 2 * j.yearly for j in every.study.layout.stocking.candidates}
        offset = every.study.layout.offset
        assert sum(prices[name] * n for name, n in packs.items()) + offset == pytest.approx(row["cost"])
    assert min(some.values()) > 0  # both are tried here


def test_goal_as_written_is_among_the_targets(targets: pd.DataFrame) -> None:
    """Each once, with looser and tighter ones around it."""
    assert 1.0 in LOOSER
    first, second = (rows["target"].tolist() for _, rows in targets.groupby("goal"))
    assert first == pytest.approx([1 - 0.2 * f for f in LOOSER])
    assert second == pytest.approx([50 * f for f in LOOSER])


def test_without_goals_and_without_time() -> None:
    """No goals, no rows; no time, no cost and no points, but the columns that a reader looks for."""
    study = study_of(TWO, ((3,),))
    chosen = study.enter("", choose(study, 500.0)[0].plan)
    late = dataclasses.replace(study, time_limit=0.0)
    rows = targets_of(late)
    assert len(rows) == len(LOOSER)
    assert rows["cost"].isna().all()
    assert not rows["proven"].any()
    curve = budget_frontier(late, chosen, 100.0)
    assert curve.empty
    assert {"cost", "budget", "weighted", "upper", "coverage_immediate", "added"} <= {*curve.columns}
    assert len(late.late) > len(LOOSER)


def test_lists_that_are_found_to_a_gap_only(every: Tried, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a search ends with a poor list the one above is kept, never covers less, and the bound still holds.

    Every second search is made to end with what is owned, with the bound that it had found.
    """
    find, asked = Study.find, []

    def poor(self: Study, aim: Aim, gap: float | None = None) -> Found | None:
        found = find(self, aim, gap)
        asked.append(aim)
        plan = every.study.layout.decisions({("box", "gate"): {"yoke regulator 0-15 L/min": 1}})
        return dataclasses.replace(found, plan=plan) if found and len(asked) % 2 else found

    chosen = choose(every.study, 500.0)[0]
    monkeypatch.setattr(Study, "find", poor)
    curve = budget_frontier(every.study, chosen, 100.0)
    assert (np.diff(curve["weighted"]) >= 0).all()
    assert (curve["cost"] <= curve["budget"] + SAME).all()
    best = np.array([every.most(budget) for budget in curve["budget"]])
    assert (curve["upper"] >= best - SAME).all()
    assert (curve["gap"] > 0.01).any()
    kept = [row["added"] for row, before in zip(curve.to_dict("records")[1:], curve.to_dict("records"), strict=False)
            if row["weighted"] == before["weighted"]]  # fmt: skip
    assert kept
    assert set(kept) == {""}
