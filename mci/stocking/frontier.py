"""The best list for each amount of money, and the cheapest one for each target."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

import pandas as pd

from mci.lp.two_stage import tail_mean
from mci.stocking.choose import owned_list
from mci.stocking.goals import WORST

if TYPE_CHECKING:
    from mci.scenario.stocking import Goal
    from mci.stocking.layout import Packed
    from mci.stocking.study import Entry, Study

__all__ = ["budget_frontier", "round_step", "target_table"]

#: Points of the frontier at most, and how far beyond the chosen list it goes.
POINTS, BEYOND = 9, 1.5
#: A target is varied to so many times what it lets be missed.
LOOSER = (2.0, 1.0, 0.5)
#: Gap of the lists beside the chosen one: of cost, and of coverage.
COST_GAP, COVERAGE_GAP = 0.01, 0.002
#: Coverage that is hardly worth a row.
LITTLE = 0.0005


def round_step(cost: float) -> float:
    """Return a round step of the frontier for lists of about so much money: 1, 2 or 5 times a power of 10."""
    raw = max(cost, 1.0) * BEYOND / (POINTS - 1)
    power = 10.0 ** math.floor(math.log10(raw))
    return next(power * digit for digit in (1, 2, 5, 10) if power * digit >= raw * (1 - 1e-9))


def budget_frontier(study: Study, chosen: Entry, step: float) -> pd.DataFrame:
    """Return the best list for each of some amounts of money (:attr:`mci.stocking.result.Stock.frontier`).

    Each is found to a gap only, so where more money seems to buy less the list for less money is kept.  Beyond the
    chosen list it ends where a step hardly gains anything; before it a step may be too small to buy anything.
    """
    rows: list[dict[str, object]] = []
    best: Entry | None = None
    for budget in _budgets(study, chosen, step):
        study.say(f"the best list for {budget:,.0f}")
        found = study.find(study.targets.most(study.layout, budget), COVERAGE_GAP)
        if found is None:
            continue
        entry = study.enter("", found.plan)
        gained = study.weighted(entry) - (0.0 if best is None else study.weighted(best))
        if best is not None and gained < LITTLE:
            if budget >= chosen.cost and -found.lower - study.weighted(best) < COVERAGE_GAP + LITTLE:
                break
            entry = best
        row = {"cost": entry.cost, "budget": budget, "weighted": study.weighted(entry)}
        row |= {"lower": study.weighted(entry), "upper": max(-found.lower, study.weighted(entry))}
        row |= {"gap": row["upper"] - row["lower"]} | category_columns(study, entry)
        rows.append({**row, "added": "" if best is None else changed(best.packed, entry.packed)})
        best = entry
    each = [n for c in study.targets.categories for n in (f"coverage_{c}", f"without_{c}_min", f"tail_{c}_min")]
    names = ["cost", "budget", "weighted", "lower", "upper", "gap", *each, "added"]
    return pd.DataFrame(rows, columns=names)  # named also where no list was found in time


def _budgets(study: Study, chosen: Entry, step: float) -> list[float]:
    """Return what is owned, the first step, and steps around the cost of the chosen list."""
    least = max(0.0, study.layout.cost(owned_list(study)))
    first = step * math.ceil(least / step + 1e-9)
    middle = max(first, step * (round(chosen.cost / step) - POINTS + 4))
    return [least, first, *(middle + step * n for n in range(POINTS) if middle + step * n > first)]


def category_columns(study: Study, entry: Entry) -> dict[str, float]:
    """Return coverage, patient-minutes without oxygen and those of the worst incidents, per category of the goals."""
    targets, chances = study.targets, study.asked.chances
    found = {}
    for category in targets.categories:
        without = entry.harms[:, targets.without(category)]
        found[f"coverage_{category}"] = 1.0 - float(chances @ entry.harms[:, targets.missed(category)])
        found[f"without_{category}_min"] = float(chances @ without)
        found[f"tail_{category}_min"] = tail_mean(without, chances, WORST)
    return found


def changed(before: Packed, after: Packed) -> str:
    """Say what comes in and what goes out between two lists."""
    more: Counter[str] = Counter()
    for held in after.values():
        more.update(held)
    for held in before.values():
        more.subtract(held)
    parts = [f"{count:+d} {name}" for name, count in sorted(more.items(), key=lambda e: (-e[1], e[0])) if count]
    moved = {place for place, held in after.items() if held} ^ {place for place, held in before.items() if held}
    if moved and any(held for held in before.values()):
        parts += [f"{cache} at {place}" for cache, place in sorted(moved) if after.get((cache, place))]
    return "; ".join(parts)


def _varied(goal: Goal, factor: float) -> Goal:
    if goal.coverage is not None:
        return replace(goal, coverage=max(0.0, 1.0 - factor * (1.0 - goal.coverage)))
    return replace(goal, without_min=factor * (goal.without_min or 0.0))


def target_table(study: Study) -> pd.DataFrame:
    """Return the cheapest list for looser and tighter goals (:attr:`mci.stocking.result.Stock.targets`)."""
    rows = []
    names = [candidate.key for candidate in study.layout.stocking.candidates]
    for number, goal in enumerate(study.targets.goals):
        for factor in LOOSER:
            other = _varied(goal, factor)
            goals = [*study.targets.goals[:number], other, *study.targets.goals[number + 1 :]]
            target = other.coverage if other.coverage is not None else other.without_min
            study.say(f"the cheapest list for {goal.category} {target:g}")
            found = study.find(study.targets.cheapest(study.layout, goals), COST_GAP)
            row: dict[str, float | int | bool] = {"goal": number + 1, "target": float(target or 0.0)}
            if found is None:
                rows.append({**row, "cost": math.nan, "lower": math.nan, "gap": math.nan, "proven": False})
                continue
            row |= {"cost": found.upper, "lower": found.lower, "gap": found.gap, "proven": found.proven}
            packed = study.layout.packed(found.plan)
            row |= {f"packs: {n}": sum(held.get(n, 0) for held in packed.values()) for n in names}
            rows.append(row)
    columns = ["goal", "target", "cost", "lower", "gap", "proven", *(f"packs: {n}" for n in names)]
    return pd.DataFrame(rows, columns=columns).astype({"proven": bool}) if rows else pd.DataFrame(columns=columns)
