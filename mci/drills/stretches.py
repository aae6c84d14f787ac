"""Stretches of a log, and what could still be reached at most at their ends.

What could be reached at most at a moment is the best possible of the whole incident with everything that was done up to
then as it was (:func:`mci.dispatch.resume.best_from`): before the first order the bound, at the horizon what the
team reached.  It is asked at moments of orders, injects, arrivals, and where something ran empty: first at a dozen of
them, then stretches with the largest loss are halved, until each large loss lies between neighbouring moments.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from mci.demand.people import name_people
from mci.dispatch.resume import best_from
from mci.drills.trace import SAME, dry_moments
from mci.replay.judge import stand_at

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from mci.plan.orders import Order
    from mci.replay.verdict import Verdict
    from mci.scenario.model import Scenario
    from mci.settings import Settings

__all__ = ["MOST_SOLVES", "Stretch", "decision_moments", "find_stretches", "join", "level"]

#: How often it is asked at most what could still be reached, and at how many moments at first.
MOST_SOLVES, FIRST = 40, 12
#: Share of the whole loss above which a loss is large.
LARGE = 0.02
#: Share of the bound by which what is possible may rise by rounding alone.
ROUNDING = 1e-6


@dataclass(frozen=True, slots=True)
class Stretch:
    """From ``start`` to ``end`` [min], with what could be reached at most at both [weighted credit-minutes]."""

    start: float
    end: float
    possible_start: float
    possible_end: float

    @property
    def lost(self) -> float:
        """What could still be reached at its start, and no longer at its end [weighted credit-minutes]."""
        return self.possible_start - self.possible_end


def decision_moments(scenario: Scenario, verdict: Verdict, orders: Iterable[Order]) -> tuple[float, ...]:
    """Return 0, the horizon, and when anything was done, happened, came or ran empty in between [min]."""
    found = {order.minute for order in orders} | {inject.at for inject in scenario.injects} | set(dry_moments(verdict))
    found |= {person.arrive for person in name_people(scenario)}
    kept = [0.0]
    for each in sorted(found):
        if kept[-1] + SAME < each < scenario.horizon - SAME:
            kept.append(each)
    return (*kept, scenario.horizon)


def find_stretches(
    scenario: Scenario,
    orders: Sequence[Order],
    verdict: Verdict,
    bound: float,
    settings: Settings,
    say: Callable[[str], None] | None = None,
) -> tuple[Stretch, ...]:
    """Return the stretches of what was done, from 0 to the horizon without a gap; none of them has a gain.

    Parameters
    ----------
    scenario, orders, verdict
        The incident, what was done, and what the judge says of it.
    bound
        What no orders can beat [weighted credit-minutes].
    """
    moments = decision_moments(scenario, verdict, orders)
    known = {0: bound, len(moments) - 1: verdict.weighted}

    def ask(number: int) -> None:
        if number not in known:
            if say is not None:
                say(f"What could still be reached at T+{moments[number]:.1f} min")
            known[number] = best_from(scenario, stand_at(scenario, orders, moments[number]), settings)

    for number in np.unique(np.linspace(0, len(moments) - 1, FIRST + 1).round().astype(int)).tolist():
        ask(number)
    large = LARGE * max(bound - verdict.weighted, 0.0)
    while len(known) < MOST_SOLVES + 2:
        middle = _halve(known, max(large, 1e-6))
        if middle is None:
            break
        ask(middle)
    numbers = sorted(known)
    values = level([known[number] for number in numbers], ROUNDING * max(bound, 1.0))
    times = [moments[number] for number in numbers]
    pairs = zip(pairwise(times), pairwise(values), strict=True)
    return join([Stretch(start, end, before, after) for (start, end), (before, after) in pairs])


def _pairs(known: dict[int, float]) -> list[tuple[int, int]]:
    numbers = sorted(known)
    return list(pairwise(numbers))


def _halve(known: dict[int, float], large: float) -> int | None:
    """Return the moment in the middle of the stretch with the largest loss that can be halved."""
    losses = [(known[a] - known[b], -a, (a + b) // 2) for a, b in _pairs(known) if b - a > 1]
    lost, _, middle = max(losses, default=(0.0, 0, 0))
    return middle if lost > large else None


def level(values: Sequence[float], rounding: float) -> list[float]:
    """Return values in which no rise is left that may be the rounding of the programme; the ends stay as they are."""
    made = list(values)
    for number in range(1, len(made) - 1):
        if 0 < made[number] - made[number - 1] <= rounding:
            made[number] = made[number - 1]
    for number in range(len(made) - 2, 0, -1):
        if 0 < made[number + 1] - made[number] <= rounding:
            made[number] = made[number + 1]
    return made


def join(stretches: Sequence[Stretch]) -> tuple[Stretch, ...]:
    """Join a stretch with a gain with the one before it, the first with the one after, until none has a gain.

    A gain comes from orders that no crew can carry out.  Nothing is cut off, so the losses still sum to the whole;
    where more was reached than was possible one stretch is left, with a gain.
    """
    kept: list[Stretch] = []
    for each in stretches:
        kept.append(each)
        while len(kept) > 1 and (kept[-1].lost < 0 or kept[-2].lost < 0):
            last, before = kept.pop(), kept.pop()
            kept.append(Stretch(before.start, last.end, before.possible_start, last.possible_end))
    return tuple(kept)
