"""What the services of a replay are worth: coverage per category, and in all by the planner's weights."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from mci.scenario.model import CATEGORIES

if TYPE_CHECKING:
    import pandas as pd

    from mci.demand.people import Person
    from mci.replay.verdict import Service

__all__ = ["coverage_table", "weighted_coverage"]

_SUMS = ("needed_patient_min", "credit_min", "at_target_patient_min", "below_target_patient_min")


def weighted_coverage(services: Iterable[Service], weights: Mapping[str, float]) -> float:
    """Return the sum of weight times credit times minutes [weighted credit-minutes]."""
    return sum(weights[each.category] * each.credit * (each.end - each.start) for each in services)


def coverage_table(people: Sequence[Person], services: Iterable[Service]) -> pd.DataFrame:
    """Return coverage per category that occurs, then of all, with the columns of ``Verdict.coverage``.

    Who changes category counts under both.  On oxygen that reaches no rung is below target, not without.
    """
    import pandas as pd

    sums: dict[str, dict[str, float]] = {}
    heads: dict[str, int] = {}
    for person in people:
        before = ""
        for stay in person.stays:
            if stay.category != before:
                heads[stay.category] = heads.get(stay.category, 0) + 1
            before = stay.category
            mine = sums.setdefault(stay.category, dict.fromkeys(_SUMS, 0.0))
            mine["needed_patient_min"] += stay.end - stay.start
    for each in services:
        minutes, mine = each.end - each.start, sums[each.category]
        mine["credit_min"] += each.credit * minutes
        mine["at_target_patient_min" if each.at_target else "below_target_patient_min"] += minutes
    order = [category for category in CATEGORIES if category in sums]
    sums["all"] = {name: sum(sums[category][name] for category in order) for name in _SUMS}
    heads["all"] = len(people)
    return pd.DataFrame([_row(category, heads[category], sums[category]) for category in (*order, "all")])


def _row(category: str, patients: int, sums: dict[str, float]) -> dict[str, object]:
    needed, served = sums["needed_patient_min"], sums["at_target_patient_min"] + sums["below_target_patient_min"]
    return {
        "category": category,
        "patients": patients,
        "needed_patient_min": needed,
        "credit_min": sums["credit_min"],
        "coverage": sums["credit_min"] / needed if needed else 1.0,
        "at_target_patient_min": sums["at_target_patient_min"],
        "below_target_patient_min": sums["below_target_patient_min"],
        "without_patient_min": max(0.0, needed - served),
    }
