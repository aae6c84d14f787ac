"""The chosen list with more or fewer patients, and what the cheapest list for so many would cost."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pandas as pd

from mci.stocking.choose import aim_of
from mci.stocking.fill import scaled
from mci.stocking.frontier import COST_GAP
from mci.stocking.spread import Sampled

if TYPE_CHECKING:
    from mci.stocking.study import Entry, Study

__all__ = ["patients_table"]

#: Times as many patients in every incident.
FACTORS = (0.5, 0.75, 1.0, 1.25, 1.5)


def patients_table(study: Study, chosen: Entry) -> pd.DataFrame:
    """Return what the chosen list reaches with more or fewer patients (:attr:`mci.stocking.result.Stock.patients`)."""
    rows, draft = [], study.sampled.draft
    values = study.sampled.values
    for factor in FACTORS:
        study.say(f"{factor:g} times as many patients")
        there = study if factor == 1 else study.other(Sampled(draft, values, factor))
        entry = chosen if factor == 1 else there.enter(chosen.name, chosen.plan)
        counts = [sum(p.count for p in scaled(draft.scenario(each), factor).patients) for each in values]
        row = {
            "factor": factor,
            "patients": sum(counts) / len(counts),
            "weighted": there.weighted(entry),
            "goals_met": sum(there.met(entry)),
            "together": there.together(entry),
        }
        row |= {f"goal_{n}": value for n, value in enumerate(there.reached(entry), start=1)}
        cost = math.nan
        if there.targets.goals:
            found = there.find(aim_of(there, None), COST_GAP)
            cost = math.nan if found is None else found.upper
        rows.append({**row, "cost": cost})
    return pd.DataFrame(rows)
