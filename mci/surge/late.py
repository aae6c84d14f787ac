"""How late a delivery may come before anybody is worse off for it, at best."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import chain
from typing import TypeVar

from mci.lp.allocate import Part
from mci.scenario.model import DeviceStock, Lot, RegulatorStock, Scenario
from mci.timegrid import RESOLUTION

__all__ = ["last_safe_arrival", "postpone"]

_Thing = TypeVar("_Thing", Lot, RegulatorStock, DeviceStock)


def last_safe_arrival(
    scenario: Scenario, parts: Sequence[Part], as_good: Callable[[Scenario, Sequence[Part]], bool]
) -> tuple[float, str]:
    """Return the latest moment at which a delivery may arrive without loss [min], and which delivery that is.

    Each delivery is postponed by itself, all of it together, from breakpoint to breakpoint.  The one that can wait
    least from when it is due is told.

    Parameters
    ----------
    scenario
        With its deliveries.
    parts
        Its areas, solved with the weighted rule.
    as_good
        Tells whether the best possible of another variant is no less at the areas of some parts.

    Returns
    -------
    tuple
        NaN and no name where nothing is delivered, or all of it may as well never come.

    Notes
    -----
    The best possible never rises as supplies come later, so the last safe moment is found by halving.
    """
    best, which, wait = math.nan, "", math.inf
    moments = parts[0].index.grid.points.tolist()
    for delivery, due in _deliveries(scenario).items():
        areas = {thing.area for thing in _things(scenario) if thing.delivery == delivery}
        there = [part for part in parts if part.scenario.areas[0].key in areas]

        def safe(moment: float, delivery: str = delivery, due: float = due, there: Sequence[Part] = there) -> bool:
            return as_good(postpone(scenario, delivery, moment - due), there)

        later = [moment for moment in moments if moment > due + RESOLUTION]
        later = later[: bisect_left(later, due + wait) + 1]  # who can wait longer than another one is not told
        if not later or not there:
            continue
        if not safe(later[0]):  # where oxygen is short it mostly is needed at once: do not look further
            best, which = due, delivery
        elif not safe(later[-1]):
            best, which = _last(later, safe), delivery
        else:
            continue
        wait = best - due
    return best, which


def _last(moments: Sequence[float], safe: Callable[[float], bool]) -> float:
    """Return the last safe one of some moments of which the first is safe and the last is not."""
    low, high = 0, len(moments) - 1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if safe(moments[middle]) else (low, middle)
    return moments[low]


def postpone(scenario: Scenario, delivery: str, minutes: float) -> Scenario:
    """Return the scenario with everything of one delivery there later [min]."""

    def later(things: Sequence[_Thing]) -> tuple[_Thing, ...]:
        return tuple(
            replace(each, available_from=each.available_from + minutes) if each.delivery == delivery else each
            for each in things
        )

    return replace(
        scenario,
        lots=later(scenario.lots),
        regulators=later(scenario.regulators),
        devices=later(scenario.devices),
    )


def _things(scenario: Scenario) -> Iterator[Lot | RegulatorStock | DeviceStock]:
    return chain(scenario.lots, scenario.regulators, scenario.devices)


def _deliveries(scenario: Scenario) -> dict[str, float]:
    """Return when each delivery that comes before the horizon is due [min]."""
    due: dict[str, float] = {}
    for thing in _things(scenario):
        if thing.delivery and thing.available_from < scenario.horizon:
            due[thing.delivery] = min(thing.available_from, due.get(thing.delivery, math.inf))
    return due
