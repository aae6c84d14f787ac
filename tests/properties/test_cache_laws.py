"""The care of an incident where a cache brings what is packed, against the whole programme with it as deliveries."""

from __future__ import annotations

import numpy as np
import pytest
from common import bound, repeatable
from hypothesis import given
from hypothesis import strategies as st
from random_incidents import incidents
from random_supplies import HARMS, MOST, care_of, delivered, supplies

from mci.demand.groups import count_demand
from mci.lp.allocate import weighted_need
from mci.lp.cache_care import Supply
from mci.scenario.model import Scenario

SAME = 1e-6

Case = tuple[Scenario, list[Supply]]


@st.composite
def cases(draw: st.DrawFn, *, areas: int = 0) -> Case:
    """Draw an incident, of so many areas where that is told, with what may come to it."""
    incident = draw(incidents(memory=draw(st.booleans())).filter(lambda made: areas in (0, len(made.areas))))
    return incident, draw(supplies(incident))


def stocks(size: int) -> st.SearchStrategy[np.ndarray]:
    """Draw whole units of each supply."""
    return st.lists(st.integers(0, MOST), min_size=size, max_size=size).map(lambda each: np.array(each, dtype=float))


def _missed(incident: Scenario) -> float:
    """Return the share of the weighted need that the best plan misses."""
    return 1.0 - bound(incident) / weighted_need(incident, count_demand(incident))


@given(cases(areas=1), st.data())
@repeatable(45)
def test_least_harm_is_that_of_the_incident_with_the_list_in_it(case: Case, data: st.DataObject) -> None:
    """One area: what is packed is a delivery, and the least weighted harm is what the whole programme leaves."""
    incident, coming = case
    care = care_of(incident, coming)
    for _ in range(2):  # an answer does not depend on what was asked before
        stock = data.draw(stocks(len(coming)))
        filled = delivered(incident, coming, {(n, "a"): int(units) for n, units in enumerate(stock)})
        assert care.least(stock)[0] == pytest.approx(_missed(filled), abs=SAME)


@given(cases(areas=2), st.data())
@repeatable(40)
def test_no_fixed_division_is_better(case: Case, data: st.DataObject) -> None:
    """Several areas: whoever divides what is packed beforehand does no better than the answer."""
    incident, coming = case
    stock = data.draw(stocks(len(coming)))
    given_to_a = [data.draw(st.integers(0, int(units))) for units in stock]
    division = {(n, "a"): units for n, units in enumerate(given_to_a)}
    division |= {(n, "b"): int(units) - given_to_a[n] for n, units in enumerate(stock)}
    assert care_of(incident, coming).least(stock)[0] <= _missed(delivered(incident, coming, division)) + SAME


@given(cases(areas=2), st.data())
@repeatable(20)
def test_division_is_whole_and_of_what_there_is(case: Case, data: st.DataObject) -> None:
    """No more of a supply than is packed, to areas that it reaches; no worse than halves, no better than the best."""
    incident, coming = case
    stock = data.draw(stocks(len(coming)))
    care = care_of(incident, coming)
    best = care.least(stock)
    division = care.divide(stock)
    for number, units in enumerate(stock):
        assert sum(count for (supply, _), count in division.items() if supply == number) <= units
    for (number, area), count in division.items():
        assert count == int(count) > 0
        assert coming[number].arrives[area] < incident.horizon
    reached = _missed(delivered(incident, coming, division))
    assert reached >= best[0] - SAME
    halves = {(n, area): int(units) // 2 for n, units in enumerate(stock) for area in "ab"}
    assert reached <= _missed(delivered(incident, coming, halves)) * 1.01 + SAME
    assert care.least(stock) == pytest.approx(best, abs=SAME)  # and is asked on as before


@given(cases(), st.data())
@repeatable(40)
def test_answers_are_planes_under_a_convex_excess(case: Case, data: st.DataObject) -> None:
    """Duals are subgradients, at whole points or not; half-way between two points the excess is at most their mean."""
    incident, coming = case
    care = care_of(incident, coming)
    points = []
    for _ in range(2):
        stock = data.draw(stocks(len(coming))) + data.draw(st.sampled_from([0.0, 0.25]))
        share = data.draw(st.sampled_from([0.0, 0.1, 0.5]))
        points.append((stock, share * np.array([1.0, 1.0, 60.0, 1.0, 60.0, 60.0])))
    answers = [care.ask(*point) for point in points]
    for (excess, _, by_stock, by_harm), (stock, allowed) in zip(answers, points, strict=True):
        assert np.all(by_stock <= 0)
        assert np.all(by_harm >= 0)
        for (other, _, _, _), (elsewhere, allowed_there) in zip(answers, points, strict=True):
            plane = excess + by_stock @ (elsewhere - stock) - by_harm @ (allowed_there - allowed)
            assert other >= plane - SAME
    middle = care.ask(*(np.mean(each, axis=0) for each in zip(*points, strict=True)))[0]
    assert middle <= (answers[0][0] + answers[1][0]) / 2 + SAME


@given(cases(), st.data())
@repeatable(30)
def test_harms_attained_can_be_kept_to(case: Case, data: st.DataObject) -> None:
    """All at once: there is no excess where they are allowed; none is less than the least by itself, none negative."""
    incident, coming = case
    care = care_of(incident, coming)
    stock = data.draw(stocks(len(coming)))
    excess, attained, _, _ = care.ask(stock, np.full(len(HARMS), 0.05))
    assert care.ask(stock, attained)[0] <= SAME
    least = care.least(stock)
    scale = np.maximum(1.0, attained)
    assert np.all(attained >= least - SAME * scale)
    assert np.all(least >= 0)
    assert excess <= SAME or np.any(attained > 0.05 - SAME)
    assert care.ask(stock, np.where(np.arange(len(HARMS)) == 2, least, np.inf))[0] <= SAME


@given(cases(), st.data())
@repeatable(30)
def test_more_never_does_harm(case: Case, data: st.DataObject) -> None:
    """One more unit of anything leaves no more harm of any kind; less allowed is no less excess."""
    incident, coming = case
    care = care_of(incident, coming)
    stock = data.draw(stocks(len(coming)))
    one = np.eye(len(coming))[data.draw(st.integers(0, len(coming) - 1))]
    before, after = care.least(stock), care.least(stock + one)
    assert np.all(after <= before + SAME * np.maximum(1.0, before))
    allowed = np.full(len(HARMS), 0.2)
    assert care.ask(stock, allowed / 2)[0] >= care.ask(stock, allowed)[0] - SAME
