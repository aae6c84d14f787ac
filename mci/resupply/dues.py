"""From the divisible answer to what is due: one need per whole thing, and when empties are free."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from mci.resupply.needs import Need, Spent

if TYPE_CHECKING:
    from mci.lp.haul_plan import HaulPlan
    from mci.lp.haulage import Haulage

__all__ = ["LEAST_PART", "find_needs", "find_spent"]

#: A part of a thing smaller than this is not worth a whole one.
LEAST_PART = 0.02


def find_needs(plan: HaulPlan, haulage: Haulage) -> list[Need]:
    """Return when each whole thing is due: when the programme begins to give it, beyond what an area has itself.

    Parameters
    ----------
    plan, haulage
        The answer, and the network in the same steps.
    """
    own: dict[tuple[str, str], int] = {}
    for stock in haulage.network.stock:
        own[stock.place, stock.item] = own.get((stock.place, stock.item), 0) + stock.quantity
    needs = []
    for grant, given in zip(plan.grants, plan.given, strict=True):
        first = own.get((grant.area, grant.item.key), 0)
        for number in range(first, math.ceil(given[-1] - LEAST_PART)):
            step = int(np.argmax(given > number + LEAST_PART))
            needs.append(Need(grant.area, grant.item.key, float(haulage.starts[step])))
    return needs


def find_spent(plan: HaulPlan, haulage: Haulage) -> list[Spent]:
    """Return when each empty is free: at the end of the step in which it is surely used up."""
    found = []
    for (area, item), spent in plan.spent.items():
        moments = [
            float(haulage.ends[int(np.argmax(spent >= number - 1e-6))])
            for number in range(1, int(spent[-1] + 1e-6) + 1)
        ]
        if moments:
            found.append(Spent(area, item, tuple(moments)))
    return found
