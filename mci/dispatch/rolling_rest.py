"""The rest of an incident, as it is expected at a moment: a scenario that begins then.

What is there is taken as it is: patients, what they wear, litres in every cylinder.  What is to come is taken as it
was expected; what was expected by now and has not come is expected at the next planning moment.  Patients are the
exception: whoever of a batch should have come and has not is not waited for, and arrivals of a batch after now stay as
expected, however many have come before.  A single patient who has come is not expected again.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import TypeVar

from mci.demand.arrivals import cohorts
from mci.dispatch.policy import Here
from mci.dispatch.rolling_crew import LearningCrew
from mci.lp.index import litres_stored_to
from mci.scenario.model import (
    Arrival,
    DeviceStock,
    Lot,
    Patients,
    PowerSupply,
    RegulatorStock,
    Scenario,
    Spell,
    StaffShift,
)

__all__ = ["find_rest"]

_Window = TypeVar("_Window", Lot, RegulatorStock, StaffShift, PowerSupply)

#: Less than this is nothing [L].
_LITRES = 0.1


def find_rest(crew: LearningCrew) -> Scenario:
    """Return what is left of an incident as a scenario of its own, with times counted from now.

    Its lots have the keys of the incident, each with what is left in it.
    """
    now = crew.floor.time
    things = crew.known.things(now)
    lots = (*_lots_here(crew), *_to_come(crew, things.lots, crew.known.expected.lots))
    return replace(
        things,
        horizon=crew.known.horizon - now,
        patients=(*_patients_here(crew.here.values(), now), *_patients_to_come(crew)),
        lots=lots,
        regulators=(
            *_still_here(things.regulators, now),
            *_to_come(crew, things.regulators, crew.known.expected.regulators),
        ),
        devices=(
            *_devices_here(crew, things.devices),
            *_devices_to_come(crew, things.devices, crew.known.expected.devices),
        ),
        staff=(*_still_here(things.staff, now), *_to_come(crew, things.staff, crew.known.expected.staff)),
        power=(*_still_here(things.power, now), *_to_come(crew, things.power, crew.known.expected.power)),
        reserve=_reserve(crew, lots, crew.known.horizon - now),
    )


def _patients_here(here: Iterable[Here], now: float) -> Iterator[Patients]:
    """Yield those who are there, alike ones together, with the stays that are expected."""
    alike = Counter(
        (
            each.stay.label,
            tuple(
                Spell(max(stay.start - now, 0.0), stay.area, stay.category, stay.ladder)
                for stay in each.person.stays
                if stay.end > now + 1e-9
            ),
            each.person.leave - now,
        )
        for each in here
    )
    for (label, course, leave), count in alike.items():
        yield Patients(label, count, Arrival.together(0.0), math.inf, leave, course)


def _patients_to_come(crew: LearningCrew) -> Iterator[Patients]:
    """Yield those who are expected after now."""
    now = crew.floor.time
    for batch in crew.known.expected.patients:
        if batch.count == 1 and crew.known.has_met(batch.label, now):
            continue
        for moment, count in zip(*cohorts(batch.arrival, batch.count), strict=True):
            if moment > now + 1e-9:
                arrival = Arrival.together(float(moment) - now)
                yield replace(batch, count=int(count), arrival=arrival, leave=batch.leave - now)


def _lots_here(crew: LearningCrew) -> Iterator[Lot]:
    """Yield every lot that is there with what can still be drawn from it, without what is kept as a reserve."""
    now = crew.floor.time
    for sources in crew.floor.lots.values():
        lot = sources[0].supply.lot
        usable = [each for each in sources if each.left > _LITRES and (each.fit or each.people)]
        if usable and lot.available_until > now + 1e-9:
            litres = sum(each.left for each in usable)
            yield replace(_still(lot, now), quantity=len(usable), litres=litres, units=())


def _still(thing: _Window, now: float) -> _Window:
    return replace(thing, available_from=0.0, available_until=thing.available_until - now)


def _still_here(things: Iterable[_Window], now: float) -> Iterator[_Window]:
    return (_still(each, now) for each in things if each.available_until > now + 1e-9)


def _begin(thing: DeviceStock | _Window, crew: LearningCrew) -> float:
    """Return in how many minutes something that has not come is expected."""
    now = crew.floor.time
    return (thing.available_from if thing.available_from > now + 1e-9 else crew.known.next_plan(now)) - now


def _to_come(crew: LearningCrew, here: Iterable[_Window], expected: Iterable[_Window]) -> Iterator[_Window]:
    keys = {each.key for each in here}
    for each in expected:
        begin, end = _begin(each, crew), each.available_until - crew.floor.time
        if each.key not in keys and begin < end:
            yield replace(each, available_from=begin, available_until=end)


def _devices_to_come(
    crew: LearningCrew, here: Iterable[DeviceStock], expected: Iterable[DeviceStock]
) -> Iterator[DeviceStock]:
    keys = {each.key for each in here}
    return (replace(each, available_from=_begin(each, crew)) for each in expected if each.key not in keys)


def _devices_here(crew: LearningCrew, stocks: Iterable[DeviceStock]) -> Iterator[DeviceStock]:
    """Yield what is in stock and what patients wear, one stock per area and kind."""
    kinds = {(stock.area, stock.device): stock for stock in stocks}
    for (area, device), stock in kinds.items():
        yield replace(stock, quantity=crew.for_those_here(area, device), available_from=0.0)


def _reserve(crew: LearningCrew, lots: Iterable[Lot], horizon: float) -> dict[str, float]:
    """Return what must be left of a reserve beyond what is kept in what is there, as far as it can be."""
    wanted = dict(crew.known.things(crew.floor.time).reserve)
    for area, litres in wanted.items():
        kept = sum(source.kept for source in crew.floor.sources[area])
        wanted[area] = max(0.0, min(litres - kept, litres_stored_to(lots, area, horizon)))
    return wanted
