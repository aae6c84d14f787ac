"""Goals as rows: a share of the credit-minutes of a category at each area, and what is missing of it."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from mci.lp.index import Index
from mci.lp.names import make_name
from mci.lp.programme import Columns, Rows, RowWriter
from mci.lp.variables import Variables
from mci.scenario.model import CATEGORIES

__all__ = ["GoalRows", "goal_weights", "write_goals"]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class GoalRows:
    """One row per goal: ``- sum credit tau x - missing <= - share x need``.

    Parameters
    ----------
    pairs
        Area and category of each.
    needed
        Credit-minutes that each asks for.
    missing
        Column of what is missing of each.
    """

    pairs: tuple[tuple[str, str], ...]
    needed: Floats
    missing: npt.NDArray[np.intp]
    rows: Rows

    @property
    def weights(self) -> Floats:
        """What a missing credit-minute of each counts, so that categories come one after the other."""
        weights = goal_weights({category for _, category in self.pairs})
        return np.array([weights[category] for _, category in self.pairs])


#: A credit-minute that a goal misses counts as much as this many of the next category in the order of treatment.
GOAL_STEP = 30.0


def goal_weights(categories: Collection[str]) -> dict[str, float]:
    """Return what a missing credit-minute counts, per category of the goals: the last in the order of treatment 1."""
    ordered = [category for category in CATEGORIES if category in categories]
    return {category: GOAL_STEP ** (len(ordered) - 1 - rank) for rank, category in enumerate(ordered)}


def write_goals(index: Index, variables: Variables, goals: Mapping[str, float], columns: Columns) -> GoalRows:
    """Write a goal for every area where patients of its category are.

    Parameters
    ----------
    goals
        Per category, the share of its patient-minutes that is to be met, 0 to 1.
    """
    groups = index.demand.groups
    pairs = sorted({(g.area, g.category) for g in groups if g.category in goals})
    lengths = index.grid.lengths
    need = [
        sum(float(index.demand.present[n] @ lengths) for n, g in enumerate(groups) if (g.area, g.category) == pair)
        for pair in pairs
    ]
    needed = np.array([goals[category] for _, category in pairs]) * np.array(need)
    missing = columns.add("missing", np.ones(len(pairs), dtype=bool))
    writer = RowWriter()
    for row, pair in enumerate(pairs):
        writer.add(row, missing[row : row + 1], -1.0)
        for number, option in enumerate(index.options):
            if (groups[option.group].area, groups[option.group].category) == pair:
                writer.add(np.full(len(lengths), row), variables.serve[number], -option.credit * lengths)
    rows = writer.finish([make_name("goal", row) for row in range(len(pairs))], -needed)
    return GoalRows(tuple(pairs), needed, missing, rows)
