"""What looking at many incidents is worth, and knowing the incident, held to every list that there is."""

from __future__ import annotations

import dataclasses
import math

import pytest
from small_stocking import POST
from small_studies import PATIENTS, STAND, TWO, study_of, tried

from mci.stocking.choose import average_list, choose
from mci.stocking.frontier import COVERAGE_GAP
from mci.stocking.result import AVERAGE, Worth
from mci.stocking.study import Study
from mci.stocking.worth import KNOWN, measure_worth

SAME = 1e-6
EASY = POST.replace("90 %", "80 %")


def _measured(study: Study, budget: float | None) -> Worth:
    chosen, average = choose(study, budget)[0], average_list(study, budget)
    return measure_worth(study, chosen, None if average is None else study.enter(AVERAGE, average), budget)


@pytest.mark.parametrize("budget", [26.0, 200.0, 300.0, 600.0])
def test_for_a_budget_knowing_covers_most_and_the_average_least(budget: float) -> None:
    """Known beforehand, each incident gets its best list; one for all is a compromise; that for one is no better."""
    worth = _measured(study_of(STAND), budget)
    single = [tried(STAND, (each,)).most(budget) for each in PATIENTS]
    assert worth.known_coverage == pytest.approx(sum(single) / len(single), abs=SAME)
    assert worth.known_coverage >= worth.chosen_coverage - SAME
    assert worth.chosen_coverage >= worth.average_coverage - SAME
    assert max(worth.chosen_cost, worth.average_cost) <= budget + SAME
    assert worth.known_incidents == len(PATIENTS)
    assert worth.known_unmet == 0
    assert math.isnan(worth.known_cost)


@pytest.mark.parametrize("text", [EASY, TWO])
def test_with_goals_the_same_money_covers_no_less_than_the_average_list(text: str) -> None:
    """Up to the gap of that search; the list for the average incident need not meet the goals."""
    patients = PATIENTS if text is EASY else ((1,), (3,), (5,))
    worth = _measured(study_of(text, patients), None)
    assert worth.same_money_coverage >= worth.average_coverage - COVERAGE_GAP
    assert worth.chosen_goals == worth.goals == 1
    assert 0 <= worth.average_goals <= 1
    assert math.isnan(worth.known_coverage)
    if worth.average_goals == 1:
        assert worth.average_cost >= worth.chosen_cost - SAME


def test_known_cost_is_of_the_cheapest_lists() -> None:
    """The mean of incidents that can be met at all; the others are counted."""
    worth = _measured(study_of(STAND), None)
    single = [tried(STAND, (each,)).cheapest() for each in PATIENTS]
    costs = [each.cost for each in single if each is not None]
    assert worth.known_cost == pytest.approx(sum(costs) / len(costs))
    assert worth.known_unmet == len(PATIENTS) - len(costs) > 0


def test_a_goal_in_the_mean_may_cost_less_than_in_known_incidents() -> None:
    """No law holds between the two: a single incident has to meet alone what others make up for."""
    patients = ((1, 1), (4, 1))
    study = study_of(EASY, patients)
    worth = _measured(study, None)
    assert worth.known_unmet == 0
    assert worth.chosen_cost < max(each.cost for each in map(_cheapest, patients))


def _cheapest(patients: tuple[int, int]):
    found = tried(EASY, (patients,)).cheapest()
    assert found is not None
    return found


def test_without_a_list_for_the_average_there_is_nothing_to_compare() -> None:
    """NaN, and no goals met."""
    study = study_of(STAND)
    worth = measure_worth(study, choose(study, None)[0], None, None)
    for value in (worth.average_cost, worth.average_coverage, worth.same_money_coverage):
        assert math.isnan(value)
    assert worth.average_goals == 0


def test_only_the_first_incidents_are_looked_at_one_by_one() -> None:
    """So many; a longer study tells no more."""
    study = study_of(TWO, ((1,),) * (KNOWN + 3))
    worth = _measured(study, 300.0)
    assert worth.known_incidents == KNOWN
    assert worth.known_coverage == pytest.approx(tried(TWO.replace(", {at: barn", "#"), ((1,),)).study.weighted(
        choose(study_of(TWO, ((1,),)), 300.0)[0]), abs=SAME)  # fmt: skip
    assert dataclasses.asdict(worth)["goals"] == 1
