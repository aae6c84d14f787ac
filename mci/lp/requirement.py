"""How many more cylinders must be where by when so that nobody of a goal falls below target.

The same rows about gas as in the allocation, with everybody of the goal fixed on the top rung.
Extra cylinders of the planner's size, each with its outlets, come as deliveries (:mod:`mci.lp.slots`).
Patients outside the goal take what is left and are not part of it.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from mci.demand.groups import Demand
from mci.lp.extract import draw_table
from mci.lp.slots import WHOLE, Slots
from mci.scenario.model import LotKind, Scenario
from mci.settings import Settings

__all__ = ["Delivery", "Requirement", "require"]

Floats = npt.NDArray[np.float64]

#: Patient-minutes too few to count.
NOTHING = 1e-3
#: Deliveries that there is room for at first; three times as many whenever that is too few.
SLOTS = 2
#: Most deliveries: with the last one comes all that is left.  Nobody drives, or reads, more of them.
MOST = 12


@dataclass(frozen=True, slots=True)
class Delivery:
    """Whole extra cylinders that must be there by a moment [min].

    ``litres`` are drawn from all extra cylinders until the next delivery.
    """

    by: float
    quantity: int
    litres: float


@dataclass(frozen=True, slots=True)
class Requirement:
    """The least that must come to one area to meet a goal.

    Parameters
    ----------
    deliveries
        In the order of time.
    people
        People who change cylinders that must be there besides, from the start.
    idle
        Litres left at the end in cylinders of the area that need a regulator.
    unmet
        Per draw level that extra cylinders cannot serve: flow [L/min], most patients.
    proven
        False where a limit of the solver left more, or earlier, than may be needed.
    """

    deliveries: tuple[Delivery, ...]
    people: int
    idle: float
    unmet: tuple[tuple[float, float], ...]
    proven: bool


def _latest(slots: Slots, slot: int, first: int, total: int, unserved: float) -> int:
    """Return the last period with whose start all cylinders that are not decided yet are not too late.

    Not too late means that ``total`` cylinders do and no more than ``unserved`` [patient-min] is.
    The first delivery may be anywhere; later ones tend to follow soon, so the stride starts small.
    """
    end = slots.index.grid.periods
    stride = 1 if slot > 0 else end
    while end - first > 1:
        middle = min(first + stride, (first + end) // 2)
        slots.open(slot, middle)
        fewest, left = slots.fewest(slots.most)
        if fewest <= total and left <= unserved + NOTHING:
            first, stride = middle, 2 * stride
        else:
            end = middle
    return first


def _fewest_now(slots: Slots, slot: int, period: int, total: int, left: int) -> int:
    """Return how few of the cylinders that are left must come with a period if the others come with the next one."""
    if period + 1 == slots.index.grid.periods:
        return left
    slots.open(slot, period)
    slots.open(slot + 1, period + 1)
    slots.limit(slots.most, total)
    fewest, _ = slots.fewest(int(slots.number[slot]))
    slots.open(slot + 1, slots.index.grid.periods)
    slots.limit(slots.most, math.inf)
    return min(max(fewest, 1), left)


def _ask(slots: Slots, goal: Collection[str]) -> tuple[Slots, list[tuple[int, int]]]:
    """Return the period and size of each delivery: the fewest in all, each as late as it can be, then as small.

    The slots returned have them all decided, and more room where there was too little.
    """
    slots.want(goal)
    slots.open(0, 0)
    total, unserved = slots.fewest(slots.most)
    decided: list[tuple[int, int]] = []
    period, left = 0, total
    while left > 0:
        if len(decided) + 2 > len(slots.number):
            slots = slots.roomier()
            slots.want(goal)
            for number, delivery in enumerate(decided):
                slots.decide(number, *delivery)
        slot = len(decided)
        period = _latest(slots, slot, period, total, unserved)
        quantity = left if slot + 1 == MOST else _fewest_now(slots, slot, period, total, left)
        slots.decide(slot, period, quantity)
        decided.append((period, quantity))
        period, left = period + 1, left - quantity
    for slot in range(len(decided), len(slots.number)):
        slots.decide(slot, slots.index.grid.periods, 0)
    return slots, decided


def require(
    scenario: Scenario, demand: Demand, goals: Mapping[str, Collection[str]], settings: Settings
) -> dict[str, Requirement]:
    """Find the fewest extra cylinders that keep every patient of a goal at target, each as late as possible.

    Parameters
    ----------
    scenario, demand
        One area of the incident and its patients, counted.
    goals
        Per goal the categories that must not fall below target.
    settings
        Limits of the solver.

    Returns
    -------
    dict
        The requirement of each goal.

    Notes
    -----
    The fewest are those that would do if all came at the start, rounded up.  Then the first moment
    is sought until which none of them need be there (bisection: what is early enough stays so
    when it comes earlier), then how few must be there at that moment if the rest come a period
    later; that many are a delivery, a lot of its own, and the next one is sought with it in place.
    So no delivery can come later, or be smaller, without another one being earlier or larger.  If there
    were very many, all that is left comes with the last of them.
    Last come the fewest people who can change all those cylinders, again rounded up.

    Raises
    ------
    SolverLimitError
        If the solver reached its limit without an answer.
    """
    slots = Slots(scenario, demand, SLOTS, settings)
    found = {}
    for goal, categories in goals.items():
        slots, decided = _ask(slots, categories)
        people, _ = slots.fewest(slots.people)
        slots.limit(slots.people, people)
        values = slots.sparing()
        found[goal] = Requirement(
            deliveries=tuple(_with_litres(slots, decided, values)),
            people=people,
            idle=_idle(slots, values),
            unmet=tuple((flow, most) for flow, most in slots.unserved(values) if most > WHOLE),
            proven=slots.proven,
        )
    return found


def _with_litres(slots: Slots, decided: Sequence[tuple[int, int]], values: Floats) -> Iterator[Delivery]:
    drawn = slots.litres(values)
    ends = [*(period for period, _ in decided), len(drawn)][1:]
    for (period, quantity), end in zip(decided, ends, strict=False):
        yield Delivery(float(slots.index.grid.starts[period]), quantity, float(drawn[:end].sum()))


def _idle(slots: Slots, values: Floats) -> float:
    drawn = draw_table(slots.index, slots.variables, values).groupby("lot")["litres"].sum()
    stored = [lot for lot in slots.index.lots if lot.kind is LotKind.CYLINDER and lot.built_in is None]
    return float(sum(lot.litres - drawn.get(lot.key, 0.0) for lot in stored))
