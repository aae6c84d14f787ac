"""Laws of injects on random incidents: names stay, what takes away never gives, and crews can go on."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from planned import plan_all
from properties.common import bound, repeatable
from random_injects import WORSE_ONLY, injects, named_incidents

from mci.demand.people import name_people
from mci.dispatch.rolling import rolling
from mci.drills.happen import as_told, happened
from mci.plan.marks import find_marks
from mci.plan.things import find_handlers, find_regulators, find_supplies
from mci.scenario.exercise import Inject, InjectKind
from mci.scenario.model import Scenario
from mci.settings import Settings

#: Sums over the same minutes differ by rounding only.
SAME = 1e-6
Case = tuple[Scenario, tuple[Inject, ...]]
CASES = named_incidents().flatmap(lambda made: st.tuples(st.just(made), injects(made)))
WORSE = named_incidents().flatmap(lambda made: st.tuples(st.just(made), injects(made, WORSE_ONLY)))


@repeatable(200)
@given(CASES)
def test_every_name_stays(case: Case) -> None:
    """Supplies, regulators, people and patients, in their order, and their marks; a second wave adds patients."""
    told, what = case
    actual = happened(told, what)
    assert [each.key for each in find_supplies(actual)] == [each.key for each in find_supplies(told)]
    assert [each.key for each in find_regulators(actual)] == [each.key for each in find_regulators(told)]
    people = [dict.fromkeys(each.key for each in find_handlers(each)) for each in (told, actual)]
    assert list(people[0]) == list(people[1])
    assert find_marks(actual).by_name == find_marks(told).by_name
    before, after = ([each.key for each in name_people(each)] for each in (told, actual))
    waves = any(each.kind is InjectKind.SECOND_WAVE for each in what)
    assert after == [*before, *(["wave 1", "wave 2"] if waves else [])]


@repeatable(100)
@given(CASES, st.randoms(use_true_random=False))
def test_the_order_of_injects_does_not_matter(case: Case, chance: object) -> None:
    """Any order gives the same incident."""
    told, what = case
    mixed = list(what)
    chance.shuffle(mixed)
    assert happened(told, mixed) == happened(told, what)


@repeatable(80)
@given(WORSE)
def test_what_takes_away_never_raises_the_bound(case: Case) -> None:
    """All kinds but a second wave and a patient who worsens, whose need counts for more."""
    told, what = case
    assert bound(happened(told, what)) <= bound(told) * (1 + SAME) + SAME


@repeatable(60)
@given(CASES)
def test_crews_can_work_on_what_happens(case: Case) -> None:
    """Our orders and usual practice are VALID and within the bound."""
    planned = plan_all(happened(*case))
    for judged in planned.all:
        assert judged.verdict.validity, (judged.name, judged.verdict.findings[:1])
        assert judged.verdict.weighted <= planned.bound * (1 + SAME) + SAME


@repeatable(30)
@given(CASES)
def test_a_crew_that_plans_again_can_be_surprised(case: Case) -> None:
    """It knows the incident as told, counted one by one, and meets what happens."""
    told, what = case
    actual = happened(told, what)
    judged = rolling(actual, as_told(told, what), 20.0, Settings())
    assert judged.verdict.validity, judged.verdict.findings[:1]
    assert judged.verdict.weighted <= bound(actual) * (1 + SAME) + SAME
