"""What the programme maximises or minimises, one cost vector per aim."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from mci.lp.index import Index
from mci.lp.programme import ABSENT
from mci.lp.variables import Variables

__all__ = ["LITRE_COST", "WAIT_COST", "coverage", "tidiness"]

Floats = npt.NDArray[np.float64]

#: When plans of equal coverage are compared, a credit-minute that is put off by an hour counts as much as
#: this many step-downs: so a shortage comes as late as it can, resupply has the most time, and nobody waits
#: long beside full cylinders; but nobody is stepped down to be served a little earlier.  A choice of ours.
WAIT_COST = 1.0
#: A litre counts as much as this many step-downs of weight 1: little enough to leave their order alone.
LITRE_COST = 1e-4


def _put(vector: Floats, columns: npt.NDArray[np.intp], values: npt.ArrayLike) -> None:
    here = columns != ABSENT
    vector[columns[here]] = np.broadcast_to(np.asarray(values, dtype=float), columns.shape)[here]


def coverage(index: Index, variables: Variables, size: int, category: str | None = None) -> Floats:
    """Return the coverage that each column earns: ``sum w_c credit_r tau_k x_grk`` [weighted credit-minutes].

    Parameters
    ----------
    size
        Number of columns.
    category
        Count this category only, with weight 1; all of them with their weights if not given.
    """
    earns = np.zeros(size)
    for number, option in enumerate(index.options):
        if category is None:
            weight = option.weight
        else:
            weight = 1.0 if index.demand.groups[option.group].category == category else 0.0
        _put(earns, variables.serve[number], weight * option.credit * index.grid.lengths)
    return earns


def tidiness(index: Index, variables: Variables, size: int) -> Floats:
    """Return what each column costs among plans of equal coverage: step-downs, serving late, litres.

    ``sum w_c worse_grk + WAIT_COST sum w_c credit_r tau_k (t_k / 60) x_grk + LITRE_COST sum tau_k f u_sfk``,
    with ``t_k`` the middle of the period [min].
    """
    costs = np.zeros(size)
    grid = index.grid
    wait = WAIT_COST * grid.lengths * (grid.starts + grid.ends) / 2 / 60.0
    for number, option in enumerate(index.options):
        _put(costs, variables.worse[number], option.weight)
        _put(costs, variables.serve[number], option.weight * option.credit * wait)
    for number, link in enumerate(variables.links):
        _put(costs, variables.connect[number], LITRE_COST * index.levels[link.level].flow * grid.lengths)
    return costs
