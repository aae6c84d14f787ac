"""The planner against the solution on paper that stands in the comment of scenarios/by-hand.yaml.

Every number here is worked out there, step by step, and none was read off the planner.
"""

from __future__ import annotations

import pytest

from mci.pipeline import Run


def test_best_is_79_of_95(by_hand: Run) -> None:
    """No plan earns more than 28 + 36 + 15 = 79 weighted credit-minutes (proof by prices in the comment)."""
    assert by_hand.outcome.bound == pytest.approx(79, rel=1e-9)
    assert by_hand.outcome.achieved == pytest.approx(79, rel=1e-6)


def test_top_rung_for_the_first_comer_is_much_worse(by_hand: Run) -> None:
    """First come, first served earns 58.3: A until its cylinder is empty, B to the end, C nothing, D."""
    usable = 0.28 * (1450 - 200)
    first_come = usable / 15 + 0.5 * 40 + 0 + 15
    assert first_come == pytest.approx(58.33, abs=0.01)
    assert first_come < 0.75 * by_hand.outcome.bound


def test_coverage_per_category(by_hand: Run) -> None:
    """Immediate 69 of 75, Delayed 20 of 40, all 89 of 115 patient-minutes."""
    table = by_hand.coverage.set_index("category")
    expected = {"immediate": (3, 75, 69), "delayed": (1, 40, 20), "all": (4, 115, 89)}
    for category, (patients, needed, credit) in expected.items():
        row = table.loc[category]
        assert row["patients"] == patients
        assert row["needed_patient_min"] == pytest.approx(needed)
        assert row["credit_min"] == pytest.approx(credit, rel=1e-5)
        assert row["coverage"] == pytest.approx(credit / needed, rel=1e-5)


def test_shortage_windows(by_hand: Run) -> None:
    """Immediate T+0 to T+40, two below target, none without; Delayed T+20 to T+40, one without."""
    windows = by_hand.windows.set_index("category")
    assert sorted(windows.index) == ["delayed", "immediate"]
    columns = ["start_min", "end_min", "most_below_target", "most_without", "below_patient_min", "without_patient_min"]
    assert list(windows.loc["immediate", columns]) == pytest.approx([0, 40, 2, 0, 60, 0], abs=1e-3)
    assert list(windows.loc["delayed", columns]) == pytest.approx([20, 40, 1, 1, 0, 20], abs=1e-3)


def test_first_empty(by_hand: Run) -> None:
    """All 700 L are gone at T+40."""
    assert list(by_hand.first_empty["empty_min"]) == [40]


def test_litres_per_phase(by_hand: Run) -> None:
    """300 L are drawn to T+20, 400 L from there to T+40, 225 L for D."""
    draw = by_hand.outcome.draw
    assert draw.loc[draw["end_min"] <= 20, "litres"].sum() == pytest.approx(300, rel=1e-4)
    assert draw.loc[(draw["start_min"] >= 20) & (draw["end_min"] <= 40), "litres"].sum() == pytest.approx(400, rel=1e-4)
    assert draw.loc[draw["start_min"] >= 45, "litres"].sum() == pytest.approx(225, rel=1e-4)


def test_worth_of_one_more(by_hand: Run) -> None:
    """A cylinder with a regulator gains 15, a cylinder alone 6, a regulator alone nothing."""
    gains = dict(zip(by_hand.worth["resource"], by_hand.worth["weighted_gain_min"], strict=True))
    assert gains == {
        "gas supply and regulators": pytest.approx(15, rel=1e-6),
        "gas supply": pytest.approx(6, rel=1e-6),
    }
    shares = dict(zip(by_hand.worth["resource"], by_hand.worth["gain_share"], strict=True))
    assert shares == pytest.approx({"gas supply and regulators": 15 / 95, "gas supply": 6 / 95}, rel=1e-6)


@pytest.mark.parametrize(("goal", "by", "litres"), [("everyone", 40 / 3, 400), ("immediate", 80 / 3, 200)])
def test_one_more_cylinder_must_come_in_time(by_hand: Run, goal: str, by: float, litres: float) -> None:
    """One more cylinder meets each goal, no later than worked out on paper, and it holds what is missing."""
    (row,) = by_hand.resupply[by_hand.resupply["goal"] == goal].to_dict("records")
    assert (row["quantity"], row["total"]) == (1, 1)
    assert row["by_min"] <= by
    assert litres <= row["litres"] + 1e-3
    assert row["litres"] <= 0.28 * (2015 - 200) + 1e-3


@pytest.mark.parametrize(("goal", "by", "litres"), [("everyone", 10, 400), ("immediate", 20, 200)])
def test_one_more_cylinder_need_not_come_earlier(by_hand: Run, goal: str, by: float, litres: float) -> None:
    """It must come by the last look (every 10 min) before the moment worked out on paper, with just what is missing."""
    (row,) = by_hand.resupply[by_hand.resupply["goal"] == goal].to_dict("records")
    assert row["by_min"] == by
    assert row["litres"] == pytest.approx(litres, rel=1e-4)
