"""A list carried out in fresh incidents: the best possible, orders judged by replay, usual practice."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

from mci.demand.groups import count_demand
from mci.dispatch.plan import judge_usual
from mci.dispatch.usual import USUAL
from mci.lp.allocate import weighted_need
from mci.lp.two_stage import tail_mean
from mci.pipeline import run
from mci.scenario.model import CATEGORIES
from mci.settings import Settings
from mci.stocking.fill import divide, fill
from mci.stocking.goals import reaches
from mci.stocking.plannable import that_can_be_planned
from mci.stocking.result import Validity
from mci.stocking.spread import Sampled
from mci.surge.cases import PLANNED, Case
from mci.surge.engine import run_cases
from mci.surge.intervals import mean_of
from mci.surge.sampling import draw

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from mci.replay.judged import Judged
    from mci.scenario.draft import Draft
    from mci.scenario.model import Scenario
    from mci.scenario.stocking import Goal
    from mci.scenario.uncertain import Uncertainty
    from mci.stocking.layout import Packed
    from mci.stocking.study import Entry, Study
    from mci.surge.cases import Row
    from mci.surge.means import Means

__all__ = ["FilledStudy", "judge_case", "validate", "with_list"]

Floats = npt.NDArray[np.float64]

#: A tail of fewer incidents, or so few in all, say nothing of how sure their mean is.
FEWEST = 5

_COLUMNS = [
    *("list", "policy", "category", "measure", "worst", "target", "in_sample"),
    *("mean", "low", "high", "met", "sure"),
]


@dataclass(frozen=True)
class FilledStudy:
    """A list that is carried out in many incidents; plain data, so that it can be sent to other processes."""

    draft: Draft
    packed: Packed
    settings: Settings


def with_list(draft: Draft, values: Mapping[str, str], packed: Packed) -> Scenario:
    """Return an incident with a list in it, divided among its areas."""
    sampled = Sampled(draft, (dict(values),))
    scenario, layout = draft.scenario(values), sampled.layout
    return fill(scenario, layout.stocking, divide(scenario, layout, packed, sampled.targets.harms))


def judge_case(study: FilledStudy, case: Case) -> Row:
    """Make orders for an incident, have them and usual practice judged, and return what each reaches.

    With goals orders are made twice, by weights and with the categories of the goals first, and those are taken that
    miss less of the goals: a strict order starves the last category in bad incidents, weights take from the first.
    Columns are ``POLICY_weighted``, ``POLICY_CATEGORY`` (coverage, 0 to 1) and ``POLICY_without_CATEGORY_min``.
    """
    scenario = with_list(study.draft, case.values, study.packed)
    demand = count_demand(scenario)
    need = weighted_need(scenario, demand)
    found: dict[str, float | str] = {"status": PLANNED}
    planned = _best_for_goals(scenario, study)
    usual = judge_usual(scenario, demand, USUAL[:1])[0]
    for policy, judged in (("orders", planned), ("usual", usual)):
        if judged is not None and judged.verdict.validity:
            found |= _columns(policy, judged, need)
    return found


def _best_for_goals(scenario: Scenario, study: FilledStudy) -> Judged | None:
    """Return the orders, by one of the priority rules, that miss least of what the goals ask about."""
    stocking = scenario.stocking
    goals = stocking.goals if stocking is not None else ()
    first = tuple(category for category in CATEGORIES if any(goal.category == category for goal in goals))
    rules = [study.settings, *([replace(study.settings, priority="strict", first=first)] if goals else [])]
    made = [run(scenario, rule, further=False).executable for rule in rules]
    valid = [judged for judged in made if judged is not None and judged.verdict.validity]
    return min(valid, key=lambda judged: _missed(judged, goals), default=None)


def _missed(judged: Judged, goals: Sequence[Goal]) -> float:
    """Return the shares of the need that are missed of each goal's kind of harm, added up."""
    coverage = judged.verdict.coverage.set_index("category")
    there = [goal for goal in goals if goal.category in coverage.index]
    return sum(
        1.0 - float(coverage["coverage"][goal.category])
        if goal.coverage is not None
        else float((coverage["without_patient_min"] / coverage["needed_patient_min"])[goal.category])
        for goal in there
    )


def _columns(policy: str, judged: Judged, need: float) -> dict[str, float | str]:
    coverage = judged.verdict.coverage
    found: dict[str, float | str] = {f"{policy}_weighted": judged.verdict.weighted / need}
    for category, covered, without in zip(
        coverage["category"], coverage["coverage"], coverage["without_patient_min"], strict=True
    ):
        found[f"{policy}_{category}"] = covered
        found[f"{policy}_without_{category}_min"] = without
    return found


def validate(
    study: Study,
    uncertainty: Uncertainty,
    chosen: Entry,
    others: list[Entry],
    fresh: int,
    judged: int,
    seed: int,
    settings: Settings,
    means: Means,
) -> Validity:
    """Ask lists in fresh incidents, random ones of another seed, and carry the chosen one out in the first of them."""
    draft = study.sampled.draft
    cases = that_can_be_planned(draft, draw(uncertainty, draft.numbers, fresh, seed + 1, "plain").cases)
    study.say(f"{len(cases)} fresh incidents")
    if not cases:
        return Validity(0, 0, pd.DataFrame(columns=_COLUMNS))
    anew = study.other(Sampled(draft, tuple(dict(case.values) for case in cases)))
    rows = []
    for entry in (chosen, *others):
        harms = anew.asked.harms(entry.plan)
        rows += _rows(study, entry, "best", harms)
    study.say(f"orders judged in {judged} of them")
    found = run_cases(
        judge_case,
        FilledStudy(draft, {key: dict(held) for key, held in chosen.packed.items()}, settings),
        cases[:judged],
        workers=means.workers,
        cluster=means.cluster,
    )
    for policy in ("orders", "usual"):
        harms = _harms(study, policy, found)
        if len(harms):
            rows += _rows(study, chosen, policy, harms)
    return Validity(len(cases), sum("orders_weighted" in row for row in found), pd.DataFrame(rows, columns=_COLUMNS))


def _harms(study: Study, policy: str, rows: list[Row]) -> Floats:
    """Return what judged rows say as harms, shape ``(incidents, harms)``; a category that does not occur has none."""
    found = []
    for row in rows:
        if f"{policy}_weighted" not in row:
            continue
        line = [1.0 - float(row[f"{policy}_weighted"])]
        for category in study.targets.categories:
            line.append(1.0 - float(row.get(f"{policy}_{category}", 1.0)))
            line.append(float(row.get(f"{policy}_without_{category}_min", 0.0)))
        found.append(line)
    return np.array(found)


def _rows(study: Study, entry: Entry, policy: str, harms: Floats) -> list[dict[str, object]]:
    """Return one row for the weighted coverage and one for each goal."""
    targets, chances = study.targets, study.asked.chances
    in_sample = policy == "best"
    value = study.weighted(entry) if in_sample else math.nan
    estimate = _share_interval(1.0 - harms[:, 0])
    rows = [_row(entry, policy, ("weighted", "coverage", 1.0, math.nan), value, estimate)]
    reached = targets.reached(entry.harms, chances)
    for goal, tail, before in zip(targets.goals, targets.tails, reached, strict=True):
        values = harms[:, tail.harm]
        if goal.coverage is not None:
            told = (goal.category, "coverage", 1.0, goal.coverage)
            estimate = _share_interval(1.0 - values)
        else:
            told = (goal.category, "without_min", goal.worst, float(goal.without_min or 0.0))
            estimate = _tail_interval(values, goal.worst)
        rows.append(_row(entry, policy, told, before if in_sample else math.nan, estimate))
    return rows


def _row(
    entry: Entry,
    policy: str,
    told: tuple[str, str, float, float],
    in_sample: float,
    estimate: tuple[float, float, float],
) -> dict[str, object]:
    category, measure, worst, target = told
    mean, low, high = estimate
    covers = measure == "coverage"
    return {
        "list": entry.name,
        "policy": policy,
        "category": category,
        "measure": measure,
        "worst": worst,
        "target": target,
        "in_sample": in_sample,
        "mean": mean,
        "low": low,
        "high": high,
        "met": None if math.isnan(target) else reaches(mean, target, coverage=covers),
        "sure": None if math.isnan(target) else reaches(low if covers else high, target, coverage=covers),
    }


def _share_interval(values: Floats) -> tuple[float, float, float]:
    found = mean_of(values, np.arange(len(values)))
    if len(values) < FEWEST:
        return found.value, math.nan, math.nan
    return found.value, float(np.clip(found.low, 0.0, 1.0)), float(np.clip(found.high, 0.0, 1.0))


def _tail_interval(values: Floats, worst: float) -> tuple[float, float, float]:
    """Estimate the mean of the worst share, with the interval of ``eta + max(0, h - eta) / w`` for the estimated eta.

    To first order the estimate of eta does not matter, since the tail mean is a minimum over eta.
    """
    chances = np.full(len(values), 1.0 / len(values))
    value = tail_mean(values, chances, worst)
    if worst * len(values) < FEWEST:
        return value, math.nan, math.nan
    edge = float(np.sort(values)[::-1][min(len(values) - 1, math.floor(worst * len(values) + 1e-9))])
    found = mean_of(edge + np.maximum(values - edge, 0.0) / worst, np.arange(len(values)))
    return value, float(np.maximum(found.low, 0.0)), found.high
