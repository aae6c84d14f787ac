"""What a litre of oxygen buys: weight x credit per litre, which decides who is served while oxygen is short.

A plan with the weighted rule maximises the sum of weight x credit x time.  While litres are what is
short, a litre has a price, and a patient is worth serving as long as some rung of the ladder earns
more than it costs; so whoever's best rung earns most per litre is served first, whatever the category.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.scenario.model import CATEGORIES

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from mci.catalogue.model import Ladder, Rung
    from mci.scenario.model import Scenario
    from mci.scenario.presence import StayLike

__all__ = ["Value", "values"]


@dataclass(frozen=True, slots=True)
class Value:
    """The best rung of a category on a ladder, and its weight x credit per litre.

    ``rung`` counts from 1; ``top_lpm`` is what the top rung draws [L/min].
    """

    category: str
    ladder: str
    rung: int
    draw_lpm: float
    per_litre: float
    top_lpm: float


def _earns(weight: float, rung: Rung) -> float:
    earned = weight * rung.credit
    if earned == 0:
        return 0.0
    return earned / rung.flow_lpm if rung.flow_lpm > 0 else math.inf


def _value(weights: Mapping[str, float], ladders: Mapping[str, Ladder], category: str, key: str) -> Value:
    rungs = ladders[key].rungs
    earned = [_earns(weights[category], rung) for rung in rungs]
    best = earned.index(max(earned))
    return Value(category, key, best + 1, rungs[best].flow_lpm, earned[best], rungs[0].flow_lpm)


def values(scenario: Scenario, stays: Iterable[StayLike]) -> list[Value]:
    """Return what a litre buys for each category and ladder that occur, the most first."""
    pairs = {(stay.category, stay.ladder) for stay in stays}
    found = (_value(scenario.weights, scenario.ladders, *pair) for pair in pairs)
    return sorted(found, key=lambda v: (-v.per_litre, CATEGORIES.index(v.category), v.ladder))
