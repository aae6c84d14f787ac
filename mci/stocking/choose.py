"""The list that is chosen, and those that it is compared with."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from mci.errors import NoPlanError
from mci.lp.decompose import Found
from mci.stocking.result import AVERAGE, CHOSEN, OWNED
from mci.stocking.spread import Sampled

if TYPE_CHECKING:
    from collections.abc import Iterator

    from mci.lp.two_stage import Aim
    from mci.scenario.stocking import Stocking
    from mci.stocking.layout import Packed
    from mci.stocking.study import Entry, Study

__all__ = ["aim_of", "average_list", "choose", "keeps_limits", "others", "owned_list"]

Floats = npt.NDArray[np.float64]


def aim_of(study: Study, budget: float | None) -> Aim:
    """Return what is asked: the least cost that meets the goals, or the most coverage for a budget."""
    return study.targets.cheapest(study.layout) if budget is None else study.targets.most(study.layout, budget)


def choose(study: Study, budget: float | None) -> tuple[Entry, Found]:
    """Choose a list.

    Raises
    ------
    NoPlanError
        If none meets the goals, with what the best that fits reaches of each.
    SolverLimitError
        If the time was over before there was one.
    """
    found = study.find_in_time(aim_of(study, budget))
    if found is None:
        raise NoPlanError(_short(study, budget))
    return study.enter(CHOSEN, found.plan), found


def _short(study: Study, budget: float | None) -> list[str]:
    """Say how far the goals are out of reach: what the fullest caches reach of each by itself."""
    layout, targets = study.layout, study.targets
    stocking, kept = layout.stocking, _keeping(layout.stocking)
    most = stocking.budget if budget is None else budget
    if kept > most:
        keeping = f"keeping what is owned already costs {kept:,.2f} {stocking.money} over {stocking.years:g} years"
        return [f"{keeping}, which is more than the budget of {most:,.2f} {stocking.money}"]
    told = ["no packing list within the limits of the caches and the budget meets all goals at once"]
    for number, goal in enumerate(targets.goals):
        best = study.find(targets.nearest(layout, number))
        if best is None:
            continue
        missed = float(study.asked.chances @ best.harms[:, targets.tails[number].harm])
        if goal.coverage is not None:
            asked, reached = f"{100 * goal.coverage:g} %", f"{100 * (1 - missed):.1f} %"
            told.append(
                f"coverage of {goal.category}: {asked} is asked for, {reached} can be reached where it alone counts"
            )
        else:
            asked = f"{goal.without_min:g} patient-min in the worst {100 * goal.worst:g} % of incidents"
            told.append(
                f"{goal.category} without oxygen: {asked} are asked for; the mean of all is {missed:.0f} at best"
            )
    return told


def _keeping(stocking: Stocking) -> float:
    """Return what it costs at least to keep what is owned already [money]."""
    candidates = {candidate.key: candidate for candidate in stocking.candidates}
    things = sum(candidates[key].yearly * count for cache in stocking.caches for key, count in cache.owned.items())
    places = sum(
        min(station.yearly for station in cache.stations)
        for cache in stocking.caches
        if len(cache.stations) == 1 or any(cache.owned.values())
    )
    return stocking.years * (things + places)


def average_list(study: Study, budget: float | None) -> Floats | None:
    """Return the best list for the incident as written; ``None`` where none meets the goals in it."""
    alone = study.other(Sampled(study.sampled.draft, ({},)))
    found = alone.find(aim_of(study, budget))
    return None if found is None else found.plan


def others(study: Study, average: Floats | None) -> Iterator[Entry]:
    """Yield the lists that the chosen one is compared with."""
    stocking = study.layout.stocking
    yield study.enter(OWNED, owned_list(study))
    if average is not None:
        yield study.enter(AVERAGE, average)
    for rule in stocking.rules:
        packed = {
            (cache.key, cache.stations[0].place): dict(rule.packs.get(cache.key, {})) for cache in stocking.caches
        }
        yield study.enter(rule.key, study.layout.decisions(packed))


def owned_list(study: Study) -> Floats:
    """Return what is owned, at the first station of each cache that holds anything."""
    stocking = study.layout.stocking
    packed: Packed = {
        (cache.key, cache.stations[0].place): dict(cache.owned)
        for cache in stocking.caches
        if any(cache.owned.values())
    }
    return study.layout.decisions(packed)


def keeps_limits(study: Study, entry: Entry) -> bool:
    """Tell whether a list fits into the caches and keeps what is owned; money apart."""
    plan = study.layout.plan
    rows = plan.matrix[:-1] @ entry.plan <= study.layout.limits[:-1] + 1e-6
    return bool(np.all(rows) and np.all(entry.plan >= plan.lower - 1e-6) and np.all(entry.plan <= plan.upper + 1e-6))
