"""What one more of each resource is worth, measured by solving again with one more.

Duals of a degenerate programme mislead; a hot re-solve does not.  A resource none of whose rows
is at its limit is worth nothing: the optimum at hand stays optimal when a slack row is widened.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from mci.lp.allocate import Allocation
from mci.lp.objective import coverage
from mci.lp.programme import Resource, join
from mci.scenario.model import CATEGORIES, Lot, LotKind, Scenario
from mci.units import format_pressure

__all__ = ["worth_of_one_more"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

#: Gains below this share of the best coverage are the solver's rounding.
SMALLEST_SHARE = 1e-7


@dataclass(frozen=True, slots=True)
class _Trial:
    """One question: these resources, one more of each."""

    resources: tuple[Resource, ...]


def _binding(allocation: Allocation, changes: dict[Resource, tuple[Ints, Floats]]) -> set[Resource]:
    rhs = np.concatenate([rows.rhs for rows in allocation.built.families])
    activity = allocation.solver.activity(np.arange(len(rhs)))
    tight = activity >= rhs - 1e-7 * np.maximum(1.0, np.abs(rhs))
    return {resource for resource, (rows, _) in changes.items() if bool(tight[rows].any())}


def _trials(scenario: Scenario, binding: set[Resource], known: set[Resource]) -> Iterator[_Trial]:
    """Yield each binding resource alone, then each cylinder lot together with a regulator that fits."""
    yield from (_Trial((resource,)) for resource in sorted(binding))
    for lot in scenario.lots:
        if lot.built_in is not None or lot.kind is not LotKind.CYLINDER:
            continue
        for stock in scenario.regulators:
            pair = (Resource("lot", lot.area, lot.key), Resource("regulator", stock.area, stock.outlets.key))
            if (
                stock.area == lot.area
                and lot.valve in stock.outlets.fits
                and known.issuperset(pair)
                and binding & set(pair)
            ):
                yield _Trial(pair)


def _lot_words(lot: Lot) -> str:
    if lot.kind is LotKind.PIPED:
        return f"outlet of {lot.label}"
    if lot.cylinder is not None and lot.gauge_psi is not None:
        delivery = f" with {lot.delivery}" if lot.delivery else ""
        return f"cylinder {lot.cylinder.key} at {format_pressure(lot.gauge_psi)}{delivery}"
    return f"{lot.kind.value} ({lot.label})"


def _words(scenario: Scenario, resource: Resource) -> str:
    if resource.kind == "lot":
        return _lot_words(next(lot for lot in scenario.lots if lot.key == resource.key))
    if resource.kind == "staff":
        return "person who changes cylinders, the whole time"
    if resource.kind == "power":
        return f"{resource.key} of electrical power"
    return resource.key


_KINDS = {
    "lot": "gas supply",
    "regulator": "regulators",
    "device": "delivery devices",
    "staff": "people who change cylinders",
    "power": "electrical power",
}


def _combined(changes: dict[Resource, tuple[Ints, Floats]], trial: _Trial) -> tuple[Ints, Floats]:
    """Return the rows that change, each once, with the sum of its changes."""
    rows = np.concatenate([changes[resource][0] for resource in trial.resources])
    delta = np.concatenate([changes[resource][1] for resource in trial.resources])
    unique, place = np.unique(rows, return_inverse=True)
    return unique.astype(np.intp), np.bincount(place, weights=delta)


def worth_of_one_more(scenario: Scenario, allocation: Allocation) -> pd.DataFrame:
    """Measure the worth of one more of every resource that binds.

    Parameters
    ----------
    scenario, allocation
        The incident and its solved programme.  With the strict rule every category stays at
        least at its optimum.

    Returns
    -------
    pandas.DataFrame
        See ``worth`` in :class:`mci.pipeline.Run`, the largest gain first.  A pair of cylinder
        and regulator is listed where it is worth more than both alone.
    """
    index, variables, solver = allocation.index, allocation.variables, allocation.solver
    size = len(allocation.built.columns.names)
    earned = {category: coverage(index, variables, size, category) for category in CATEGORIES}
    base = solver.minimise(-allocation.earns)
    best = float(allocation.earns @ base.values)
    needed = sum(
        scenario.weights[group.category] * float(index.demand.present[number] @ index.grid.lengths)
        for number, group in enumerate(index.demand.groups)
    )
    changes = join(allocation.built.families)
    single: dict[Resource, float] = {}
    rows = []
    for trial in _trials(scenario, _binding(allocation, changes), set(changes)):
        more = solver.with_limits(*_combined(changes, trial))
        gain = float(allocation.earns @ more.values) - best
        if len(trial.resources) == 1:
            single[trial.resources[0]] = gain
        alone = 0.0 if len(trial.resources) == 1 else sum(single.get(resource, 0.0) for resource in trial.resources)
        if gain <= alone + SMALLEST_SHARE * max(1.0, best):
            continue
        words = [_words(scenario, resource) for resource in trial.resources]
        rows.append(
            {
                "resource": " and ".join(dict.fromkeys(_KINDS[resource.kind] for resource in trial.resources)),
                "area": trial.resources[0].area,
                "one_more": " with a ".join(words),
                "weighted_gain_min": gain,
                "gain_share": gain / needed,
                **{f"{name}_min": float(earns @ (more.values - base.values)) for name, earns in earned.items()},
            }
        )
    columns = ["resource", "area", "one_more", "weighted_gain_min", "gain_share", *(f"{c}_min" for c in CATEGORIES)]
    table = pd.DataFrame(rows, columns=columns)
    return table.sort_values("weighted_gain_min", ascending=False, kind="stable", ignore_index=True)
