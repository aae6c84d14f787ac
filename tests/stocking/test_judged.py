"""Lists on fresh incidents: no policy beats the best possible, and intervals say no more than they can."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp
from small_stocking import draft_of
from small_studies import PATIENTS, STAND, UNCERTAIN, stand, stand_for_budget, study_of, two

from mci.lp.two_stage import tail_mean
from mci.settings import Settings
from mci.stocking.choose import owned_list
from mci.stocking.judged import FEWEST, FilledStudy, _share_interval, _tail_interval, judge_case, validate
from mci.stocking.result import CHOSEN, Stock
from mci.surge.cases import Case
from mci.surge.means import Means

SAME = 1e-6
MADE = {"goals": stand, "budget": stand_for_budget, "two": two}
GOALS = Settings(priority="strict", first=("immediate", "minimal"))


@pytest.fixture(scope="module", params=sorted(MADE))
def found(request: pytest.FixtureRequest) -> Stock:
    """Return a study of caches."""
    return MADE[request.param]()


shares = hnp.arrays(float, st.integers(1, 40), elements=st.floats(0.0, 1.0))
minutes = hnp.arrays(float, st.integers(1, 60), elements=st.floats(0.0, 1e4))


@given(shares)
def test_interval_of_a_share_holds_its_mean_and_is_a_share(values: np.ndarray) -> None:
    """Within 0 to 1; of fewer than five incidents there is none."""
    mean, low, high = _share_interval(values)
    assert mean == pytest.approx(values.mean())
    if len(values) < FEWEST:
        assert math.isnan(low)
        assert math.isnan(high)
    else:
        assert 0 <= low <= mean + 1e-12
        assert mean - 1e-12 <= high <= 1


@given(minutes, st.sampled_from([0.05, 0.1, 0.25, 0.5, 1.0]))
def test_interval_of_a_tail_holds_its_mean(values: np.ndarray, worst: float) -> None:
    """The mean of the worst is as elsewhere; there is no interval where fewer than five incidents are in the tail."""
    mean, low, high = _tail_interval(values, worst)
    chances = np.full(len(values), 1 / len(values))
    assert mean == pytest.approx(tail_mean(values, chances, worst), abs=1e-9)
    if worst * len(values) < FEWEST:
        assert math.isnan(low)
        assert math.isnan(high)
    else:
        assert 0 <= low <= mean + 1e-6
        assert high >= mean - 1e-6


@given(minutes)
def test_tail_of_all_is_the_mean(values: np.ndarray) -> None:
    """With its usual interval, cut at 0."""
    mean, low, high = _tail_interval(values, 1.0)
    assert mean == pytest.approx(values.mean())
    if len(values) >= FEWEST:
        from scipy import stats

        if values.std() > 1e-9:
            wanted = stats.t.interval(0.95, len(values) - 1, values.mean(), stats.sem(values))
            assert (low, high) == pytest.approx((max(0.0, wanted[0]), wanted[1]), rel=1e-6, abs=1e-6)


def test_interval_of_a_tail_covers_the_truth() -> None:
    """For minutes that are exponential the mean of the worst tenth is known: edge and mean, 1 + ln 10.  Seed 1."""
    random, hits = np.random.default_rng(1), 0
    for _ in range(300):
        _, low, high = _tail_interval(random.exponential(size=400), 0.1)
        hits += low <= 1 + math.log(10) <= high
    assert hits > 0.88 * 300


def test_in_sample_is_what_lists_tell(found: Stock) -> None:
    """Of the best possible, list by list and goal by goal; NaN for the other policies."""
    table, lists = found.validity.table, found.lists.set_index("list")
    for name, rows in table[table["policy"] == "best"].groupby("list"):
        told = rows["in_sample"].tolist()
        wanted = [lists.loc[name, "weighted"], *(lists.loc[name, f"goal_{n}"] for n in range(1, len(told)))]
        assert told == pytest.approx(wanted)
    assert table.loc[table["policy"] != "best", "in_sample"].isna().all()
    assert set(table.loc[table["policy"] == "best", "list"]) == set(found.lists["list"])
    assert set(table.loc[table["policy"] != "best", "list"]) <= {CHOSEN}


def test_rows_are_of_the_weighted_need_and_of_the_goals(found: Stock) -> None:
    """In the order of the goals, with their targets; met is about the mean, for sure about the whole interval."""
    goals = found.stocking.goals
    for _, rows in found.validity.table.groupby(["list", "policy"]):
        assert rows["category"].tolist() == ["weighted", *(goal.category for goal in goals)]
        first, *others = rows.to_dict("records")
        assert (first["met"], first["sure"]) == (None, None)
        assert math.isnan(first["target"])
        for row, goal in zip(others, goals, strict=True):
            assert row["target"] == (goal.coverage if goal.coverage is not None else goal.without_min)
            assert row["worst"] == goal.worst
            above = row["measure"] == "coverage"
            assert above == (goal.coverage is not None)
            gap = (row["mean"] - row["target"]) * (1 if above else -1)
            assert row["met"] == (gap >= -1e-4)
            assert not (row["sure"] and not row["met"])
            if math.isnan(row["low"]):
                assert not row["sure"]


def test_intervals_hold_their_means(found: Stock) -> None:
    """Shares are shares; where few incidents say little there is no interval."""
    for row in found.validity.table.to_dict("records"):
        count = found.validity.incidents if row["policy"] == "best" else found.validity.judged
        if count * row["worst"] < FEWEST:
            assert math.isnan(row["low"])
            assert math.isnan(row["high"])
            continue
        assert row["low"] - 1e-9 <= row["mean"] <= row["high"] + 1e-9
        assert row["low"] >= 0
        if row["measure"] == "coverage":
            assert row["high"] <= 1


@pytest.mark.parametrize("settings", [Settings(), GOALS], ids=["weighted", "strict"])
def test_no_policy_beats_the_best_possible(settings: Settings) -> None:
    """In each incident: neither orders, by weights or by goals, nor usual practice; each measure at its own best."""
    study = study_of(STAND, PATIENTS[:3])
    rule = study.layout.stocking.rules[0]
    entry = study.enter("rule", study.layout.decisions({("box", "gate"): rule.packs["box"]}))
    work = FilledStudy(study.sampled.draft, entry.packed, settings)
    for number, values in enumerate(study.sampled.values):
        row = judge_case(work, Case(str(number), values))
        for policy in ("orders", "usual"):
            assert float(row[f"{policy}_weighted"]) <= 1 - entry.harms[number, 0] + SAME
            for category in ("immediate", "minimal"):
                missed = entry.harms[number, study.targets.missed(category)]
                without = entry.harms[number, study.targets.without(category)]
                assert float(row[f"{policy}_{category}"]) <= 1 - missed + SAME
                assert float(row[f"{policy}_without_{category}_min"]) >= without - 1e-4


def test_what_is_packed_is_carried_out() -> None:
    """With more in the box orders reach more in the same incident; what the box holds is really there."""
    study = study_of(STAND, ((3, 4),))
    reached = []
    for packs in (0, 2, 3):
        plan = owned_list(study)
        plan[0], plan[1] = packs, 1 + packs
        packed = study.layout.packed(plan)
        row = judge_case(FilledStudy(study.sampled.draft, packed, GOALS), Case("1", study.sampled.values[0]))
        reached.append(float(row["orders_weighted"]))
    assert reached == sorted(reached)
    assert reached[0] < reached[1]


def test_means_of_orders_are_those_of_the_incidents() -> None:
    """The first fresh ones, judged one by one; and as many are told as were judged."""
    found = two()
    table = found.validity.table.set_index(["list", "policy", "category"]).sort_index()
    assert found.validity.judged == found.validity.incidents == 5
    for policy in ("orders", "usual"):
        for category in ("weighted", "immediate"):
            mean = table.loc[(CHOSEN, policy, category), "mean"].item()
            assert mean <= table.loc[(CHOSEN, "best", category), "mean"].item() + SAME


def test_without_judged_incidents_only_the_best_possible_is_told() -> None:
    """No orders, no rows of them."""
    found = stand_for_budget()
    assert found.validity.judged == 0
    assert set(found.validity.table["policy"]) == {"best"}


LATE = """\
  - {number: patients.stand.arrive, one of: {10 min: 50 %, 100 min: 50 %}}
  - {number: patients.queue.arrive, one of: {20 min: 50 %, 100 min: 50 %}}
"""


def test_fresh_incidents_that_cannot_be_planned_are_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where nobody arrives in time; the others are counted, and where there are none there are no rows."""
    made = study_of(STAND, PATIENTS[:2])
    draft = draft_of(STAND + UNCERTAIN + LATE)
    uncertainty = draft.uncertainty
    assert uncertainty is not None
    study = dataclasses.replace(made, sampled=dataclasses.replace(made.sampled, draft=draft))
    entry = study.enter(CHOSEN, owned_list(study))
    late = validate(study, uncertainty, entry, [], 24, 0, 3, Settings(), Means())
    assert 0 < late.incidents < 24
    assert np.isfinite(late.table["mean"]).all()
    monkeypatch.setattr("mci.stocking.judged.that_can_be_planned", lambda _draft, _cases: ())
    none = validate(study, uncertainty, entry, [], 24, 5, 3, Settings(), Means())
    assert (none.incidents, none.judged) == (0, 0)
    pd.testing.assert_index_equal(none.table.columns, late.table.columns)
