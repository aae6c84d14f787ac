"""Tiny incidents: every plan on the grid is tried, and the judge says what each is worth."""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Iterator

from hypothesis import given
from hypothesis import strategies as st
from incidents import cylinders, ladder, outlet_set, patients, regulator, scenario
from planned import plan_all
from properties.common import repeatable

from mci.demand.people import Person, name_people
from mci.plan.orders import Action, Order
from mci.plan.things import find_regulators, find_supplies
from mci.replay.judge import replay
from mci.scenario.model import Scenario

STEP = 10.0
#: Sums over the same minutes differ by rounding only.
SAME = 1e-6
#: What one patient has in one period: a rung and a cylinder, or nothing.
Way = tuple[int, str] | None


@st.composite
def tiny(draw: st.DrawFn) -> Scenario:
    """Draw up to six patient-periods on one or two cylinders; litres last for whole half periods at either flow."""
    people, periods = draw(st.sampled_from([(1, 3), (2, 2), (2, 3), (3, 2)]))
    horizon = periods * STEP
    batches = [
        dataclasses.replace(
            patients(
                1,
                "l",
                category=draw(st.sampled_from(["immediate", "delayed", "minimal"])),
                arrive=draw(st.sampled_from([0.0, 0.0, STEP])),
                stay=draw(st.sampled_from([horizon, horizon, STEP])),
            ),
            label=f"p{number}",
        )
        for number in range(people)
    ]
    lots = [
        cylinders(1, draw(st.sampled_from([50, 100, 150, 200, 300])), key=key)
        for key in ("one", "two")[: draw(st.integers(1, 2))]
    ]
    manifold = outlet_set("manifold", outlets=2, each=15, total=draw(st.sampled_from([15, 30])))
    return scenario(
        horizon=horizon,
        ladders=[ladder("l", ("mask", 10, 1.0), ("mask", 5, draw(st.sampled_from([0.55, 0.7]))))],
        patients=batches,
        lots=lots,
        regulators=draw(st.sampled_from([[regulator(1)], [regulator(2)], [regulator(1, outlets=manifold)]])),
        weights={"immediate": 1.0, "delayed": 0.6, "minimal": 0.3, "expectant": 0.1},
    )


def _orders(incident: Scenario, chosen: dict[tuple[str, int], Way], periods: int) -> list[Order] | None:
    """Write a plan down: everybody off and on again in every period; ``None`` where regulators do not suffice."""
    tools = {each.key: "" for each in find_regulators(incident)}
    rungs = incident.ladders["l"].rungs
    orders, before = [], []
    for period in range(periods):
        minute = period * STEP
        orders += [Order(minute, "a", Action.DISCONNECT, who, reason="tried") for who in before]
        now = {who: way for (who, when), way in chosen.items() if when == period and way is not None}
        used = sorted({supply for _, supply in now.values()})
        for supply in used:
            if supply not in tools.values():
                free = next((tool for tool, on in tools.items() if on not in used), None)
                if free is None:
                    return None
                tools[free] = supply
                orders.append(Order(minute, "a", Action.CHANGE, supply=supply, regulator=free))
        on = {supply: tool for tool, supply in tools.items()}
        for who, (rung, supply) in now.items():
            kind = rungs[rung]
            orders.append(Order(minute, "a", Action.CONNECT, who, kind.device.key, kind.flow_lpm, supply, on[supply]))
        before = list(now)
    return orders


def _places(people: tuple[Person, ...], periods: int) -> list[tuple[str, int]]:
    return [(person.key, period) for person in people for period in range(periods) if person.stay_at(period * STEP)]


def _best_first(incident: Scenario) -> Iterator[tuple[float, list[Order]]]:
    """Yield every plan on the grid with what it would be worth, the best first."""
    periods = round(incident.horizon / STEP)
    people = name_people(incident)
    weight = {person.key: incident.weights[person.stays[0].category] * STEP for person in people}
    places = _places(people, periods)
    rungs = incident.ladders["l"].rungs
    ways: list[Way] = [None, *itertools.product(range(len(rungs)), [each.key for each in find_supplies(incident)])]
    worth = {(place, way): weight[place[0]] * rungs[way[0]].credit if way else 0.0 for place in places for way in ways}
    plans = list(itertools.product(ways, repeat=len(places)))
    values = [sum(worth[pair] for pair in zip(places, plan, strict=True)) for plan in plans]
    for number in sorted(range(len(plans)), key=lambda number: -values[number]):
        orders = _orders(incident, dict(zip(places, plans[number], strict=True)), periods)
        if orders is not None:
            yield values[number], orders


def _best(incident: Scenario) -> float:
    """Return what the best plan on the grid is worth."""
    return next(value for value, orders in _best_first(incident) if replay(incident, orders).validity)


@repeatable(40)
@given(tiny())
def test_close_to_the_best_of_all_plans(incident: Scenario) -> None:
    """At least 90 % of the best that can be done at the same moments, and never more than it at those moments."""
    best, planned = _best(incident), plan_all(incident)
    assert best <= planned.bound * (1 + SAME)
    verdict = planned.this.verdict
    assert verdict.validity
    assert verdict.weighted >= 0.9 * best - SAME
    if all(abs(order.minute / STEP - round(order.minute / STEP)) < SAME for order in planned.this.plan.orders):
        assert verdict.weighted <= best * (1 + SAME)


def test_what_is_tried_is_judged() -> None:
    """By hand: 100 L for two patients are most worth at half the flow, to both in turn or to one throughout."""
    incident = scenario(
        horizon=2 * STEP,
        ladders=[ladder("l", ("mask", 10, 1.0), ("mask", 5, 0.7))],
        patients=[dataclasses.replace(patients(1, "l"), label=label) for label in ("p", "q")],
        lots=[cylinders(1, 100, key="one")],
        regulators=[regulator(1, outlets=outlet_set("manifold", outlets=2))],
    )
    assert _best(incident) == 2 * STEP * 0.7
