"""What one more of each resource is worth, measured by solving again with one more.

Duals of a degenerate programme mislead as to how much is gained; a hot re-solve does not.  They do
bound the gain from above, so that what is worth nothing need not be solved for.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from mci.lp.allocate import Allocation, Part, weighted_need
from mci.lp.objective import coverage
from mci.lp.programme import Resource, join
from mci.scenario.model import CATEGORIES, Lot, LotKind, Scenario
from mci.units import format_pressure

__all__ = ["worth_of_one_more"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

#: Gains below this share of the best coverage are the solver's rounding.
SMALLEST_SHARE = 1e-7
#: Changes of one category below this are, too [credit-min].
ROUNDING = 1e-3


@dataclass(frozen=True, slots=True)
class _Gain:
    """What one more of each of some resources gains: weighted, and in credit-minutes per category."""

    resources: tuple[Resource, ...]
    weighted: float
    by_category: dict[str, float]


def _promising(part: Part, changes: dict[Resource, tuple[Ints, Floats]], smallest: float) -> set[Resource]:
    """Return the resources of which one more might gain something.

    The best coverage is a concave function of the right-hand sides, so any optimal duals bound
    the gain from above; where that bound is nothing, the gain is nothing.
    """
    duals = part.solver.duals()
    return {resource for resource, (rows, change) in changes.items() if float(duals[rows] @ change) > smallest}


def _trials(scenario: Scenario, binding: set[Resource], known: set[Resource]) -> Iterator[tuple[Resource, ...]]:
    """Yield each binding resource alone, then each cylinder lot together with a regulator that fits."""
    yield from ((resource,) for resource in sorted(binding))
    kinds = {(stock.area, stock.outlets.key): stock.outlets for stock in scenario.regulators}
    for lot in scenario.lots:
        if lot.built_in is not None or lot.kind is not LotKind.CYLINDER:
            continue
        for (area, key), outlets in kinds.items():
            pair = (Resource("lot", lot.area, lot.key), Resource("regulator", area, key))
            if area == lot.area and lot.valve in outlets.fits and known.issuperset(pair) and binding & set(pair):
                yield pair


def _lot_words(lot: Lot, *, metric: bool) -> str:
    if lot.kind is LotKind.PIPED:
        return f"outlet of {lot.label}"
    if lot.cylinder is not None:
        gauge = lot.gauge_psi  # None where cylinders of unlike pressure are one lot
        pressure = ", as full as the fullest there" if gauge is None else f" at {format_pressure(gauge, metric=metric)}"
        delivery = f" in the delivery ‘{lot.delivery}’" if lot.delivery else ""
        return f"{lot.cylinder.key} cylinder{pressure}{delivery}"
    return f"{lot.kind.value} ({lot.label})"


def _words(scenario: Scenario, resource: Resource) -> str:
    if resource.kind == "lot":
        lot = next(lot for lot in scenario.lots if lot.key == resource.key)
        return _lot_words(lot, metric=scenario.pressures_in_bar)
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


def _combined(changes: dict[Resource, tuple[Ints, Floats]], resources: tuple[Resource, ...]) -> tuple[Ints, Floats]:
    """Return the rows that change, each once, with the sum of its changes."""
    rows = np.concatenate([changes[resource][0] for resource in resources])
    delta = np.concatenate([changes[resource][1] for resource in resources])
    unique, place = np.unique(rows, return_inverse=True)
    return unique.astype(np.intp), np.bincount(place, weights=delta).astype(np.float64)


def _clean(minutes: float) -> float:
    """Return 0 for the solver's rounding [credit-min]."""
    return minutes if abs(minutes) > ROUNDING else 0.0


def _gains(part: Part) -> Iterator[_Gain]:
    """Yield what each trial gains, where it gains more than its resources do one by one."""
    size = len(part.built.columns.names)
    earned = {category: coverage(part.index, part.variables, size, category) for category in CATEGORIES}
    base = part.solver.minimise(-part.earns)
    best = float(part.earns @ base.values)
    smallest = SMALLEST_SHARE * max(1.0, best)
    changes = join(part.built.families)
    alone: dict[Resource, float] = {}
    for resources in _trials(part.scenario, _promising(part, changes, smallest), set(changes)):
        more = part.solver.with_limits(*_combined(changes, resources))
        weighted = float(part.earns @ more.values) - best
        if len(resources) == 1:
            alone[resources[0]] = weighted
            enough = 0.0
        else:
            enough = sum(alone.get(resource, 0.0) for resource in resources)
        if weighted > enough + smallest:
            yield _Gain(
                resources,
                weighted,
                {name: _clean(float(earns @ (more.values - base.values))) for name, earns in earned.items()},
            )


#: Of the table of worths.
COLUMNS = ["resource", "area", "one_more", "weighted_gain_min", "gain_share", *(f"{c}_min" for c in CATEGORIES)]


def worth_of_one_more(allocation: Allocation) -> pd.DataFrame:
    """Measure the worth of one more of every resource that binds.

    Parameters
    ----------
    allocation
        The solved programmes.  With the strict rule every category stays at
        least at its optimum.

    Returns
    -------
    pandas.DataFrame
        See ``worth`` in :class:`mci.pipeline.Run`, the largest gain first.  A pair of cylinder
        and regulator is listed where it is worth more than both alone.
    """
    needed = sum(weighted_need(part.scenario, part.index.demand) for part in allocation.parts)
    rows = [
        {
            "resource": " and ".join(dict.fromkeys(_KINDS[resource.kind] for resource in gain.resources)),
            "area": gain.resources[0].area,
            "one_more": " plus one ".join(_words(part.scenario, resource) for resource in gain.resources),
            "weighted_gain_min": gain.weighted,
            "gain_share": gain.weighted / needed,
            **{f"{category}_min": minutes for category, minutes in gain.by_category.items()},
        }
        for part in allocation.parts
        for gain in _gains(part)
    ]
    table = pd.DataFrame(rows, columns=COLUMNS)
    return table.sort_values("weighted_gain_min", ascending=False, kind="stable", ignore_index=True)
