"""Laws of planned trips, for every small network: last safe times, losses, and what trips are worth to care."""

from __future__ import annotations

import dataclasses

import pytest
from common import repeatable
from hypothesis import assume, given
from hypothesis import strategies as st
from random_networks import countries, tours

from mci.demand.groups import count_demand
from mci.lp.allocate import allocate
from mci.plan.deliver import deliver, hand_over
from mci.plan.trips import Trip, loading_stop
from mci.replay.trips import judge_trips
from mci.resupply.care import NOTHING, Care, Worth
from mci.resupply.disrupt import parts_of
from mci.resupply.latest import find_latest
from mci.resupply.losses import used_parts
from mci.resupply.planner import Planner
from mci.resupply.retime import Timetable
from mci.resupply.schedule import Goal, Schedule
from mci.resupply.steps import find_grants, make_haulage, without_lent
from mci.scenario.model import Scenario
from mci.settings import Settings

GOALS = st.sampled_from([None, None, 0.5, 1.0])
NOISE = 1e-3  # weighted credit-minutes


def _planner(incident: Scenario, share: float | None) -> Planner:
    goals = [] if share is None else [Goal("immediate", share), Goal("delayed", share)]
    return Planner(incident, Settings(), goals)


def _planned(incident: Scenario, share: float | None, *, losses: bool = False) -> tuple[Planner, Schedule]:
    asked = _planner(incident, share)
    return asked, asked.schedule(asked.trips(), losses=losses)


def _can_be(incident: Scenario, trips: tuple[Trip, ...]) -> bool:
    over = all(trip.stops[-1].depart <= incident.horizon + 1e-6 for trip in trips)
    return over and not any(finding.judged for finding in judge_trips(incident, trips))


@repeatable(20)
@given(countries(), GOALS)
def test_last_safe_times_are_the_last_safe_times(incident: Scenario, share: float | None) -> None:
    """Trips at their latest can be carried out and lose nothing, to care; any a step later cannot, or loses."""
    asked = _planner(incident, share)
    net, trips = asked.network, asked.trips()
    departures = find_latest(incident, asked.care, trips, asked.fine)
    latest, hold = tuple(each.trip for each in departures), asked.care.worth(net, trips)
    assert _can_be(incident, trips)
    assert _can_be(incident, latest)
    assert asked.care.worth(net, latest).as_good_as(hold, NOTHING)
    for departure in departures:
        assert departure.margin >= 0
        moved = Timetable(net).leave(latest, departure.trip.key, departure.leave_by + asked.fine)
        later = moved is not None and _can_be(incident, moved)
        assert not (later and asked.care.worth(net, moved).as_good_as(hold, NOTHING))


@repeatable(10)
@given(countries(), GOALS)
def test_planned_trips_reach_no_more_than_is_told_and_that_is_within_the_bound(
    incident: Scenario, share: float | None
) -> None:
    """Divisible patients on what trips bring, then what is told, then the bound; goals and the fewest alike."""
    found = _planned(incident, share)[1]
    made = deliver(incident, found.planned)
    assert allocate(made, count_demand(made), Settings()).outcome.bound <= found.reached + NOISE
    assert found.reached <= found.bound + NOISE
    if share is None:
        assert found.without_trips <= found.reached + NOISE
    short = sum(met.needed - met.reached for met in found.met)
    assert short >= found.missing - NOISE
    if short <= NOTHING:
        assert found.fewest_cylinders <= found.cylinders
        assert found.fewest_trips <= len(found.departures)


@repeatable(8)
@given(countries(), GOALS)
def test_losses_are_told_for_every_part_and_never_below_nothing(incident: Scenario, share: float | None) -> None:
    """Each part once, the largest first; what no trip uses costs exactly nothing."""
    asked, found = _planned(incident, share, losses=True)
    assert sorted((loss.key, loss.kind) for loss in found.losses) == sorted(parts_of(asked.network).items())
    used = used_parts(found.planned)
    for loss in found.losses:
        assert loss.weighted >= 0
        if loss.key not in used:
            assert loss.weighted == 0.0
            assert set(loss.lost.values()) <= {0.0}
    sizes = [sum(loss.lost.values()) for loss in found.losses]
    assert sizes == sorted(sizes, reverse=True)


def _care(incident: Scenario, step: float = 10.0) -> Care:
    assert incident.network is not None
    haulage = make_haulage(incident.network, incident.horizon, step)
    own = without_lent(incident, incident.network)
    return Care(own, find_grants(haulage), haulage.starts, {}, Settings())


def _worth(care: Care, incident: Scenario, trips: list[Trip]) -> Worth:
    assert incident.network is not None
    return care.worth(incident.network, trips)


@repeatable(40)
@given(countries(), st.data())
def test_worth_is_the_bound_on_what_trips_bring(incident: Scenario, data: st.DataObject) -> None:
    """Where steps divide all times: the optimum of the incident with what trips bring as deliveries.

    What comes at different moments is one pool here, so that gas of later cylinders may leave through outlets of
    earlier ones: then it may be worth more, never less.
    """
    trips = [_on_the_step(trip) for trip in data.draw(tours(incident))]
    made = deliver(incident, trips)
    bound = allocate(made, count_demand(made), Settings()).outcome.bound
    worth = _worth(_care(incident), incident, trips).weighted
    assert worth >= bound - 1e-5
    if not _comes_twice(incident, trips):
        assert worth == pytest.approx(bound, abs=1e-5)


def _comes_twice(incident: Scenario, trips: list[Trip]) -> bool:
    """Tell whether an area gets the same thing at two moments."""
    assert incident.network is not None
    batches = {(b.area, b.item, b.at) for b in hand_over(incident.network, trips) if b.left}
    return len({(area, item) for area, item, _ in batches}) < len(batches)


def _on_the_step(trip: Trip) -> Trip:
    """Return a trip with every stop at the next whole ten minutes."""

    def up(moment: float) -> float:
        return -(-moment // 10) * 10

    return dataclasses.replace(
        trip, stops=tuple(dataclasses.replace(s, arrive=up(s.arrive), depart=up(s.depart)) for s in trip.stops)
    )


@repeatable(30)
@given(countries(whole=False), st.data())
def test_more_or_earlier_is_never_worth_less(incident: Scenario, data: st.DataObject) -> None:
    """Of trips that only bring: one more, or all of them some time earlier; asked twice, the same."""
    trips = [trip for trip in data.draw(tours(incident)) if _only_brings(trip)]
    assume(trips)
    care = _care(incident)
    whole = _worth(care, incident, trips)
    fewer = data.draw(st.sampled_from([trips[:-1], trips[1:]]))
    early = data.draw(st.sampled_from([1.0, 7.5, 30.0]))
    sooner = [
        dataclasses.replace(trip, stops=tuple(dataclasses.replace(s, arrive=s.arrive - early) for s in trip.stops))
        for trip in trips
    ]
    assert _worth(care, incident, fewer).weighted <= whole.weighted + 1e-6
    assert _worth(care, incident, sooner).weighted >= whole.weighted - 1e-6
    assert _worth(care, incident, trips) == whole
    assert _worth(_care(incident), incident, trips).weighted == pytest.approx(whole.weighted, abs=1e-6)


def _only_brings(trip: Trip) -> bool:
    return not any(stop.load for stop in trip.stops if stop.place in ("a", "b"))


@repeatable(15)
@given(countries(), GOALS, st.sampled_from([0.0, 1.0, 7.0, 20.0, 60.0]), st.data())
def test_a_trip_that_is_put_off_pushes_only_what_it_must(
    incident: Scenario, share: float | None, delay: float, data: st.DataObject
) -> None:
    """Nothing moves at the planned time; else no stop is earlier, other vehicles and trips after a pause stay.

    All that a timetable may break are laws that it cannot see: when vehicles and people are there, and the end.
    """
    asked = _planner(incident, share)
    trips = asked.trips()
    assume(trips)
    trip = data.draw(st.sampled_from(trips))
    table, depart = Timetable(asked.network), trip.stops[loading_stop(trip)].depart
    assert table.leave(trips, trip.key, depart) == trips
    moved = table.leave(trips, trip.key, depart + delay)
    if moved is None:
        return
    assert [each.key for each in moved] == [each.key for each in trips]
    free = {each.vehicle: -1.0 for each in trips}
    for old, new in sorted(zip(trips, moved, strict=True), key=lambda pair: pair[0].stops[0].arrive):
        if old.key != trip.key and (old.vehicle != trip.vehicle or old.stops[0].arrive >= free[old.vehicle]):
            assert new == old
        assert [(s.place, s.load, s.unload) for s in new.stops] == [(s.place, s.load, s.unload) for s in old.stops]
        assert all(n.arrive >= o.arrive and n.depart >= o.depart for n, o in zip(new.stops, old.stops, strict=True))
        free[old.vehicle] = new.stops[-1].depart
    broken = {finding.law for finding in judge_trips(incident, moved) if finding.judged}
    assert broken <= {"crews", "hours", "empties", "filling", "stock"}
