"""What is measured for a case is what planning and judging it by itself finds."""

from __future__ import annotations

import functools
import math
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

import mci
from mci.demand.groups import count_demand
from mci.dispatch.rolling import rolling
from mci.errors import InputError, NoPlanError, UsageError
from mci.lp.allocate import allocate
from mci.lp.worth import worth_of_one_more
from mci.resupply.shortage import cover_over_time, coverage_by_category
from mci.scenario.model import CATEGORIES
from mci.settings import Settings
from mci.surge.cases import Case, Role, Row
from mci.surge.engine import run_cases
from mci.surge.measure import measure
from mci.surge.measures import MEASURES, POLICIES
from mci.surge.study import Study

if TYPE_CHECKING:
    import pandas as pd

    from mci.pipeline import Run
    from mci.replay.judged import Judged
    from mci.scenario.draft import Draft

FOLDER = Path(mci.__file__).parents[1] / "scenarios"
DRAFTS = {name: mci.read_draft(FOLDER / f"{name}.yaml") for name in ("by-hand", "ferry-fire", "hospital-main-failure")}
EVERY = 60.0
#: Cases that differ in what binds, one with two areas and more, one where nothing is short, one as written.
CASES = {
    "jetty": ("by-hand", Case("jetty", {}, orders=True)),
    "jetty with plenty": (
        "by-hand",
        Case(
            "plenty",
            {
                "supplies.US E aluminium at jetty.count": "9",
                "regulators.yoke regulator 0-15 L/min at jetty.count": "9",
            },
            orders=True,
        ),
    ),
    "ferry": (
        "ferry-fire",
        Case(
            "ferry",
            {"patients.count": "34", "supplies.pressure": "85 %", "incident.horizon": "2 h"},
            orders=True,
        ),
    ),
    "hospital": ("hospital-main-failure", Case("hospital", {"reserve.icu": "3000 L"})),
}


@functools.cache
def _study(name: str) -> Study:
    own = tuple(case.values for draft, case in CASES.values() if draft == name)
    return Study(DRAFTS[name], Settings(), ({}, *own), EVERY)


@functools.cache
def _row(name: str) -> Row:
    draft, case = CASES[name]
    return measure(_study(draft), case)


@functools.cache
def _run(name: str) -> Run:
    draft, case = CASES[name]
    return mci.run(DRAFTS[draft].scenario(case.values), further=False)


def _need(run: Run) -> float:
    """Return the weighted need [weighted patient-min]."""
    need = run.outcome.need
    weights = need["category"].map(run.scenario.weights)
    return float((weights * need["patients"] * (need["end_min"] - need["start_min"])).sum())


def _by_category(table: pd.DataFrame, column: str) -> dict[str, float]:
    """Return a column by category."""
    return dict(zip(table["category"], table[column].astype(float), strict=True))


def _of_plan(policy: str, judged: Judged, need: float) -> dict[str, float]:
    """Return the columns of a plan that is carried out, from the judge's verdict."""
    verdict = judged.verdict
    without = _by_category(verdict.coverage, "without_patient_min")
    return {
        f"{policy}_share": verdict.weighted / need,
        **{f"{policy}_{category}": share for category, share in _by_category(verdict.coverage, "coverage").items()},
        f"{policy}_without_min": without.pop("all"),
        **{f"{policy}_without_{category}_min": minutes for category, minutes in without.items()},
    }


def _hold(row: Row, expected: dict[str, float], policy: str) -> None:
    """Hold that a row has these columns of a policy, and no others."""
    found = {name: value for name, value in row.items() if name.startswith(f"{policy}_")}
    assert found == pytest.approx(expected, rel=1e-5, abs=1e-5)


@pytest.mark.parametrize("name", CASES)
def test_best_possible_is_that_of_the_run(name: str) -> None:
    """Bound, need and coverage are those of the whole run of the variant."""
    row, run = _row(name), _run(name)
    need = _need(run)
    assert row["status"] == "planned"
    assert row["bound_weighted_min"] == pytest.approx(run.outcome.bound, rel=1e-6)
    assert row["need_weighted_min"] == pytest.approx(need)
    needed = _by_category(run.coverage, "needed_patient_min")
    weights = run.scenario.weights
    weighted = sum(weights[c] * needed[c] * float(row[f"best_{c}"]) for c in needed if c != "all")
    assert weighted == pytest.approx(run.outcome.bound, rel=1e-5)
    expected = {"best_share": run.outcome.bound / need}
    expected |= {f"best_{category}": share for category, share in _by_category(run.coverage, "coverage").items()}
    assert {column: row[column] for column in expected} == pytest.approx(expected, rel=1e-5)


@pytest.mark.parametrize("name", CASES)
def test_shortage_is_that_of_the_answer(name: str) -> None:
    """Who is without oxygen, and when it is short first, is read off the answer; plans that are as good may differ."""
    draft, case = CASES[name]
    study, row = _study(draft), _row(name)
    scenario = study.scenario(case.values)
    over_time = cover_over_time(scenario, study.answer(scenario).outcome)
    coverage = coverage_by_category(over_time, count_demand(scenario, study.settings.max_period))
    without = _by_category(coverage, "without_patient_min")
    assert row["best_without_min"] == without.pop("all")
    assert {column for column in row if column.startswith("best_without_")} == {
        "best_without_min",
        *(f"best_without_{category}_min" for category in without),
    }
    assert [row[f"best_without_{category}_min"] for category in without] == list(without.values())
    lengths = over_time["end_min"] - over_time["start_min"]
    short = (over_time["need"] - over_time["at_target"]) * lengths
    assert row["short_min"] == pytest.approx(short.sum(), rel=1e-4, abs=0.1)
    when = over_time["start_min"][over_time["need"] - over_time["at_target"] > 1e-3]
    assert row.get("first_short_min", math.inf) == min(when, default=math.inf)
    if name.startswith("jetty"):  # where no other plan is as good
        windows = _run(name).windows
        assert row["short_min"] == pytest.approx(windows[["below_patient_min", "without_patient_min"]].sum().sum())
        assert row.get("first_short_min", math.inf) == min(windows["start_min"], default=math.inf)


@pytest.mark.parametrize("name", CASES)
def test_usual_practice_is_first_come_judged(name: str) -> None:
    """Usual practice is the run's plan of first come, first served, as the judge found it."""
    run = _run(name)
    usual = next(judged for judged in run.plans if judged.plan.name == "first come, first served")
    assert usual.verdict.validity
    _hold(_row(name), _of_plan("usual", usual, _need(run)), "usual")


@pytest.mark.parametrize("name", CASES)
def test_one_more_is_the_best_of_all(name: str) -> None:
    """What binds is the single thing of which one more gains most; nothing where nobody lacks anything."""
    row, scenario = _row(name), _run(name).scenario
    worth = worth_of_one_more(allocate(scenario, count_demand(scenario), Settings(max_period=math.inf)))
    single = worth[~worth["one_more"].str.contains(" plus one ")]
    if len(single):
        assert row["one_more_gain"] == pytest.approx(single["gain_share"].max(), rel=1e-6)
        best = single[single["gain_share"] > single["gain_share"].max() * (1 - 1e-6)]
        assert row["binding"] in set(best["resource"])
        several = name == "hospital"
        told = [f"{each.one_more} at {each.area}" if several else each.one_more for each in best.itertuples()]
        assert row["one_more"] in told
    else:
        assert (row["binding"], row["one_more"], row["one_more_gain"]) == ("", "", 0.0)
    assert bool(row["one_more_gain"]) is (name != "jetty with plenty")


@pytest.mark.parametrize("name", [name for name, (_, case) in CASES.items() if case.orders])
def test_orders_are_those_of_the_run(name: str) -> None:
    """Orders are the run's plan to carry out, those of a crew that plans again are judged; neither beats the bound."""
    row, run = _row(name), _run(name)
    executable = run.executable
    assert executable is not None
    _hold(row, _of_plan("orders", executable, _need(run)), "orders")
    study = _study(CASES[name][0])
    again = rolling(run.scenario, study.as_written, EVERY, study.settings)
    _hold(row, _of_plan("rolling", again, _need(run)), "rolling")
    for policy in ("orders", "rolling", "usual"):
        assert 0 < float(row[f"{policy}_share"]) <= float(row["best_share"]) * (1 + 1e-6)
    assert name == "jetty with plenty" or float(row["best_share"]) < 1


@pytest.mark.parametrize("name", CASES)
def test_a_row_has_known_columns_of_categories_that_occur(name: str) -> None:
    """Every column is among those that are described, no category that does not occur has one, and none is NaN."""
    row, run = _row(name), _run(name)
    titles = {each.name: each.unit for each in MEASURES}
    assert set(row) <= set(titles)
    words = {column for column, value in row.items() if isinstance(value, str)}
    assert words == {column for column in row if not titles[column]}
    occurs = set(run.coverage["category"])
    for policy in POLICIES:
        if f"{policy}_share" in row:
            assert {c for c in (*CATEGORIES, "all") if f"{policy}_{c}" in row} == occurs
    assert len(occurs) < 5
    absent = {column for column, value in row.items() if isinstance(value, float) and math.isnan(value)}
    assert absent <= {"last_safe_min"}
    assert ("orders_share" in row) is ("rolling_share" in row) is CASES[name][1].orders


def test_a_driver_has_the_best_possible_only() -> None:
    """Of a case that shows what drives the result, only the best possible is measured, the same as of any other."""
    draft, case = CASES["ferry"]
    row = measure(_study(draft), Case("driver", case.values, Role.DRIVER, orders=True))
    whole = _row("ferry")
    assert row == {name: whole[name] for name in row}
    left_out = {name.partition("_")[0] for name in whole.keys() - row.keys()}
    assert left_out == {"usual", "binding", "one", "last", "orders", "rolling"}


def test_last_safe_is_left_out_with_the_strict_rule() -> None:
    """With the strict rule no last safe arrival is told, and a note says why."""
    strict = Study(DRAFTS["by-hand"], Settings("strict"), ({},))
    row = measure(strict, Case("x"))
    assert not {"last_safe_min", "last_safe_delivery"} & set(row)
    assert "binding" in row
    assert any("weighted rule only" in note for note in strict.notes)
    assert _row("jetty")["last_safe_delivery"] == "second ambulance"
    assert _row("jetty")["last_safe_min"] == 45.0


@pytest.mark.parametrize(
    ("draft", "values", "error", "reason"),
    [
        (DRAFTS["hospital-main-failure"], {"reserve.icu": "900000 L"}, NoPlanError, "the reserve of 900000 L at icu"),
        (DRAFTS["by-hand"], {"patients.A.leave": "T+0"}, InputError, "leave"),
        (DRAFTS["by-hand"], {"no such number": "3"}, UsageError, "there is no number 'no such number'"),
    ],
)
def test_what_is_impossible_is_told(draft: Draft, values: dict[str, str], error: type[Exception], reason: str) -> None:
    """A variant with no plan or with mistakes is an error, and in a study a row that says why; others go on."""
    study = Study(draft, Settings(), (values, {}))
    with pytest.raises(error):
        measure(study, Case("impossible", values))
    wrong, right = run_cases(measure, study, [Case("impossible", values), Case("as it is", role=Role.DRIVER)])
    assert set(wrong) == {"status"}
    assert reason in str(wrong["status"])
    assert "\n" not in str(wrong["status"])
    assert right["status"] == "planned"
