"""The list that is chosen and those beside it, held to every list there is; and what is said where there is none."""

from __future__ import annotations

import dataclasses
import math

import pytest
from small_stocking import POST
from small_studies import PATIENTS, STAND, TWO, study_of, tried

from mci.errors import NoPlanError, SolverLimitError
from mci.stocking.choose import average_list, choose, keeps_limits, others, owned_list
from mci.stocking.result import AVERAGE, CHOSEN, OWNED

SAME = 1e-6


def test_no_list_that_meets_the_goals_together_is_cheaper() -> None:
    """Of all lists; and meeting each goal by itself is not enough."""
    every = tried()
    chosen, found = choose(study_of(STAND), None)
    cheapest = every.cheapest()
    assert cheapest is not None
    assert chosen.cost == found.upper == pytest.approx(cheapest.cost)
    assert chosen.name == CHOSEN
    assert every.study.together(chosen)
    assert keeps_limits(every.study, chosen)


def test_meeting_each_goal_is_not_meeting_all() -> None:
    """With a goal that is a little higher some list meets each, and none both: what helps one the other lacks."""
    every = tried(STAND.replace("80 %", "84 %"))
    each = [entry for entry in every.entries if all(every.study.met(entry))]
    assert each
    assert not any(every.study.together(entry) for entry in each)


@pytest.mark.parametrize("budget", [26.0, 92.0, 193.0, 200.0, 258.99, 259.0, 500.0, 9999.0])
def test_no_list_for_a_budget_reaches_more(budget: float) -> None:
    """Of all lists that cost no more; bounds hold it between them."""
    every = tried()
    chosen, found = choose(every.study, budget)
    assert chosen.cost <= budget + SAME
    assert every.study.weighted(chosen) == pytest.approx(every.most(budget), abs=SAME)
    assert -found.upper == pytest.approx(every.study.weighted(chosen), abs=SAME)
    assert found.lower <= found.upper + SAME


def test_budget_of_the_planner_binds_where_goals_are_met() -> None:
    """One coin less than the cheapest list costs leaves none."""
    cheapest = tried().cheapest()
    assert cheapest is not None
    for budget in (cheapest.cost, cheapest.cost - 1):
        study = study_of(STAND.replace("years: 2", f"years: 2\n  budget: {budget:g}"))
        if budget < cheapest.cost:
            with pytest.raises(NoPlanError, match="the limits of the caches and the budget"):
                choose(study, None)
        else:
            assert choose(study, None)[0].cost == pytest.approx(cheapest.cost)


def test_lists_beside_it() -> None:
    """What is owned costs its keeping only; rules are as the planner wrote them, also beyond a limit."""
    study = study_of(STAND)
    average = average_list(study, None)
    found = {entry.name: entry for entry in others(study, average)}
    assert list(found) == [OWNED, *([AVERAGE] if average is not None else []), "two and two", "too heavy"]
    owned = found[OWNED]
    assert owned.packed == {("box", "gate"): {"yoke regulator 0-15 L/min": 1}}
    assert owned.cost == pytest.approx(2 * (10 + 3))
    assert found["too heavy"].packed["box", "gate"] == {
        "US D aluminium": 3,
        "yoke regulator 0-15 L/min": 3,
        "simple mask": 1,
    }
    kept = {name: keeps_limits(study, entry) for name, entry in found.items()}
    assert kept == {name: name != "too heavy" for name in found}


def test_list_without_what_is_owned_keeps_no_limit() -> None:
    """Owned packs are never left out."""
    study = study_of(POST)
    nothing = owned_list(study) * 0
    assert not keeps_limits(study, study.enter("nothing", nothing))
    assert keeps_limits(study, study.enter("owned", owned_list(study)))


@pytest.mark.parametrize("budget", [None, 260.0])
def test_list_for_the_average_incident(budget: float | None) -> None:
    """Is the best for the incident as written, and not looked for in others."""
    text = POST.replace("90 %", "80 %")
    average = average_list(study_of(text), budget)
    alone = tried(text, ((3, 3),))
    assert average is not None
    entry = alone.study.enter(AVERAGE, average)
    if budget is None:
        cheapest = alone.cheapest()
        assert cheapest is not None
        assert entry.cost == pytest.approx(cheapest.cost)
    else:
        assert entry.cost <= budget
        assert alone.study.weighted(entry) == pytest.approx(alone.most(budget), abs=SAME)
    assert average_list(study_of(POST.replace("90 %", "100 %")), None) is None


def test_an_empty_box_stands_nowhere() -> None:
    """A cache with a choice of places pays for one where something is in it; one without a choice always."""
    study = study_of(TWO, ((3,),))
    owned = study.enter(OWNED, owned_list(study))
    assert owned.cost == pytest.approx(2 * (10 + 3))
    assert owned.packed == {("box", "gate"): {"yoke regulator 0-15 L/min": 1}, ("crate", "hall"): {}}
    standing = owned_list(study)
    standing[-1] = 1.0  # a place is chosen, and nothing is in it
    assert study.enter("empty", standing).cost == pytest.approx(owned.cost)
    first, second = others(study, None), others(study, None)
    rules = {entry.name: entry.cost for entry in first}
    assert rules["one more"] == pytest.approx(owned.cost + 120 + 2 * 20)
    assert rules["one each"] == pytest.approx(owned.cost + 2 * (120 + 2 * 20) + 2 * 30)
    assert rules == {entry.name: entry.cost for entry in second}


def test_goals_out_of_reach_say_how_near_one_can_come() -> None:
    """The most that any list reaches of each goal where it alone counts."""
    text = STAND.replace("80 %", "99 %").replace("50 min, worst", "1 min, worst")
    heavy = ((5, 9), (4, 9))
    every = tried(text, heavy)
    with pytest.raises(NoPlanError) as caught:
        choose(study_of(text, heavy), None)
    told = " ".join(str(caught.value).split())
    study = every.study
    covered = max(1 - study.asked.chances @ e.harms[:, study.targets.missed("immediate")] for e in every.entries)
    without = min(study.asked.chances @ e.harms[:, study.targets.without("minimal")] for e in every.entries)
    assert f"coverage of immediate: 99 % is asked for, {100 * covered:.1f} % can be reached where it alone" in told
    assert "minimal without oxygen: 1 patient-min in the worst 40 % of incidents are asked for; the mean of" in told
    assert f"is {without:.0f} at best" in told
    assert 0 < covered < 0.99
    assert without > 1


@pytest.mark.parametrize(("budget", "written"), [(25.0, ""), (None, "\n  budget: 25")])
def test_budget_below_what_is_owned_says_so(budget: float | None, written: str) -> None:
    """It costs money to keep it, whatever the goals."""
    with pytest.raises(NoPlanError) as caught:
        choose(study_of(STAND.replace("years: 2", f"years: 2{written}"), PATIENTS[:1]), budget)
    told = " ".join(str(caught.value).split())
    assert "keeping what is owned already costs 26.00 $ over 2 years, which is more than the budget of 25.00 $" in told
    assert "goals" not in told


def test_no_time_for_the_list_is_told_and_none_for_others_is_counted() -> None:
    """The choice needs its time; later questions are left out where time is short, also in studies made of it."""
    study = dataclasses.replace(study_of(POST, PATIENTS[:2]), time_limit=0.0)
    with pytest.raises(SolverLimitError):
        choose(study, None)
    assert study.late == []
    assert study.find(study.targets.most(study.layout, math.inf)) is None
    assert average_list(study, None) is None
    assert len(study.late) == 2
