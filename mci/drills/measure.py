"""What was reached of objectives, found in the replay of orders alone.

A share is met if it is at least what is asked, partly met from half of that on.  A limit is met if it is kept, partly
met up to twice the limit; so a limit of 0 is met or not.  Where there is nobody to whom an objective applies, it is
met, and says so.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from mci.demand.people import name_people
from mci.drills.debriefed import Reached, Status
from mci.drills.least_flow import devices_of, is_below_least
from mci.drills.trace import SAME, dry_spells, trace
from mci.scenario.exercise import Measure
from mci.scenario.model import CATEGORIES

if TYPE_CHECKING:
    from mci.demand.people import Person
    from mci.demand.stays import Stay
    from mci.drills.trace import Spell
    from mci.plan.orders import Order
    from mci.replay.verdict import Service, Verdict
    from mci.scenario.exercise import Objective
    from mci.scenario.model import Scenario

__all__ = ["is_worse", "reached", "worsenings"]

_NOISE = 1e-6
_PARTLY = 0.5  # of a share that is asked
_TWICE = 2.0  # a limit


def reached(
    scenario: Scenario, verdict: Verdict, orders: Sequence[Order], objectives: Sequence[Objective]
) -> tuple[Reached, ...]:
    """Return what was reached of each objective.

    Parameters
    ----------
    scenario, verdict, orders
        The incident as it happened, what was done, and what the judge says of it.
    objectives
        In any order; the answers have the same.
    """
    found = _Found(scenario, verdict, orders)
    return tuple(_reached(found, objective) for objective in objectives)


def is_worse(scenario: Scenario, before: Stay, after: Stay) -> bool:
    """Tell whether a patient got worse: to a more urgent category, or to more oxygen in no less urgent a one.

    Nobody is stepped up to Expectant.
    """
    ranks = CATEGORIES.index(before.category), CATEGORIES.index(after.category)
    if after.category == "expectant" or ranks[1] > ranks[0]:
        return False
    flows = [scenario.ladders[stay.ladder].rungs[0].flow_lpm for stay in (before, after)]
    return ranks[1] < ranks[0] or flows[1] > flows[0] + _NOISE


def worsenings(scenario: Scenario, person: Person) -> Iterator[Stay]:
    """Yield the stays of a patient that begin with getting worse."""
    for before, after in pairwise(person.stays):
        if is_worse(scenario, before, after):
            yield after


class _Found:
    """What is looked up once for all objectives."""

    def __init__(self, scenario: Scenario, verdict: Verdict, orders: Sequence[Order]) -> None:
        self.scenario = scenario
        self.services = verdict.services
        self.people = name_people(scenario)
        self.of: dict[str, list[Service]] = {person.key: [] for person in self.people}
        for service in self.services:
            self.of[service.patient].append(service)
        self._orders = orders
        self._spells: tuple[Spell, ...] | None = None

    @property
    def spells(self) -> tuple[Spell, ...]:
        """Who was connected to something that gave nothing."""
        if self._spells is None:
            self._spells = dry_spells(trace(self.scenario, self._orders))
        return self._spells

    def title(self, area: str) -> str:
        """Return the title of an area."""
        return next((each.title for each in self.scenario.areas if each.key == area), area)


@dataclass(frozen=True, slots=True)
class _Value:
    """A number found, NaN where there is nobody to whom it applies, and in words."""

    value: float
    words: str


def _reached(found: _Found, objective: Objective) -> Reached:
    got = _MEASURES[objective.measure](found, objective)
    return Reached(objective, _status(objective, got.value), 0.0 if math.isnan(got.value) else got.value, got.words)


def _status(objective: Objective, value: float) -> Status:
    if math.isnan(value):
        return Status.MET
    if objective.measure in _SHARES:
        return _rated(value >= objective.share - _NOISE, value >= _PARTLY * objective.share - _NOISE)
    return _rated(value <= objective.minutes + _NOISE, value <= _TWICE * objective.minutes + _NOISE)


def _rated(met: bool, partly: bool) -> Status:
    return Status.MET if met else Status.PARTLY if partly else Status.NOT


def _is_meant(objective: Objective, thing: Stay | Service) -> bool:
    return objective.category in ("", thing.category) and objective.area in ("", thing.area)


def _who(found: _Found, objective: Objective, number: int = 2) -> str:
    kind = f"{objective.category.capitalize()} " if objective.category else ""
    where = f" at {found.title(objective.area)}" if objective.area else ""
    return f"{kind}{'patient' if number == 1 else 'patients'}{where}"


def _of_them(found: _Found, objective: Objective, reached_it: Sequence[bool], did: str, none: str) -> _Value:
    """Put a share of patients into words."""
    number, of = sum(reached_it), len(reached_it)
    if not of:
        return _Value(math.nan, f"no {_who(found, objective)} {none}")
    share = number / of
    return _Value(share, f"{number} of {of} {_who(found, objective, of)} {did} ({_percent(share)})")


def _percent(share: float) -> str:
    """Write a share, rounded down so that 100 % means all."""
    return f"{math.floor(1000 * share + _NOISE) / 10:.1f} %"


def _on_oxygen(found: _Found, objective: Objective) -> _Value:
    """Who gets any oxygen within so many minutes of arrival, of those for whom the incident lasts so long."""
    limit = objective.minutes
    asked = [
        person
        for person in found.people
        if _is_meant(objective, person.stays[0]) and person.arrive + limit <= found.scenario.horizon + SAME
    ]
    got = [
        any(service.flow_lpm > 0 and service.start <= person.arrive + limit + SAME for service in found.of[person.key])
        for person in asked
    ]
    return _of_them(found, objective, got, f"on oxygen within {limit:g} min of arrival", "came early enough to tell")


def _stepped_up(found: _Found, objective: Objective) -> _Value:
    """Who is at target within so many minutes of getting worse, of those for whom the incident lasts so long."""
    limit = objective.minutes
    asked = [
        (person, stay)
        for person in found.people
        for stay in worsenings(found.scenario, person)
        if _is_meant(objective, stay) and stay.start + limit <= found.scenario.horizon + SAME
    ]
    got = [any(_raises(each, stay, limit) for each in found.of[person.key]) for person, stay in asked]
    return _of_them(found, objective, got, f"at target within {limit:g} min of getting worse", "got worse")


def _raises(service: Service, stay: Stay, limit: float) -> bool:
    inside = stay.start - SAME <= service.start <= stay.start + limit + SAME
    return inside and service.at_target and (service.ladder, service.category) == (stay.ladder, stay.category)


def _minutes(found: _Found, objective: Objective) -> tuple[float, float, float]:
    """Return patient-minutes needed, credit-minutes, and patient-minutes on oxygen."""
    stays = [stay for person in found.people for stay in person.stays if _is_meant(objective, stay)]
    served = [each for each in found.services if _is_meant(objective, each)]
    return (
        sum(stay.end - stay.start for stay in stays),
        sum(each.credit * (each.end - each.start) for each in served),
        sum(each.end - each.start for each in served),
    )


def _coverage(found: _Found, objective: Objective) -> _Value:
    needed, credit, _ = _minutes(found, objective)
    if needed <= 0:
        return _Value(math.nan, f"no {_who(found, objective)} needed oxygen")
    words = f"{_percent(credit / needed)} of the need of {_who(found, objective)}"
    return _Value(credit / needed, f"{words} ({credit:.1f} of {needed:.1f} credit-min)")


def _without(found: _Found, objective: Objective) -> _Value:
    needed, _, on_oxygen = _minutes(found, objective)
    without = max(0.0, needed - on_oxygen)
    return _Value(without, f"{without:.1f} patient-min without oxygen, {_who(found, objective)}")


def _empty(found: _Found, objective: Objective) -> _Value:
    """Return the longest time that anyone meant is connected to something that gives nothing."""
    spells = [each for each in found.spells if _is_meant(objective, each.stay)]
    longest = max(spells, key=lambda each: (each.end - each.start, -each.start), default=None)
    if longest is None:
        return _Value(0.0, f"0 min: no {_who(found, objective)} connected to something that gave nothing")
    value = longest.end - longest.start
    return _Value(value, f"{value:.1f} min at the longest: {longest.patient} from T+{longest.start:.1f} min")


def _least_flow(found: _Found, objective: Objective) -> _Value:
    devices = devices_of(found.scenario)
    low = [
        each
        for each in found.services
        if _is_meant(objective, each) and is_below_least(devices.get(each.device), each.flow_lpm)
    ]
    value = sum(each.end - each.start for each in low)
    of = f" ({', '.join(sorted({each.patient for each in low}))})" if low else ""
    return _Value(value, f"{value:.1f} patient-min below the least flow of a device{of}")


_SHARES = (Measure.ON_OXYGEN, Measure.STEPPED_UP, Measure.COVERAGE)
_MEASURES: dict[Measure, Callable[[_Found, Objective], _Value]] = {
    Measure.ON_OXYGEN: _on_oxygen,
    Measure.STEPPED_UP: _stepped_up,
    Measure.COVERAGE: _coverage,
    Measure.WITHOUT: _without,
    Measure.EMPTY: _empty,
    Measure.LEAST_FLOW: _least_flow,
}
