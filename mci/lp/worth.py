"""What one more of each resource is worth, measured by solving again with one more.

Duals of a degenerate programme mislead as to how much is gained; a hot re-solve does not.  They do
bound the gain from above, so that what is worth nothing need not be solved for.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from mci.lp.allocate import Allocation, Part, weighted_need
from mci.lp.objective import coverage
from mci.lp.programme import Resource, join
from mci.lp.solve import Solution
from mci.scenario.model import CATEGORIES, Lot, LotKind, Scenario
from mci.units import format_pressure

__all__ = ["best_of_one_more", "worth_of_one_more"]

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


def _bounds(part: Part, changes: dict[Resource, tuple[Ints, Floats]]) -> dict[Resource, float]:
    """Return the most that one more of each resource might gain.

    The best coverage is a concave function of the right-hand sides, so any optimal duals bound the gain from above.
    """
    duals = part.solver.duals()
    return {resource: float(duals[rows] @ change) for resource, (rows, change) in changes.items()}


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


def _from_corner(part: Part) -> Solution:
    """Return the best coverage again, which needs no search where its basis was kept and no other aim comes first."""
    if part.corner is not None and len(part.built.aims) == 1:
        return part.solver.minimise_from(part.corner, -part.earns)
    return part.solver.minimise(-part.earns)


class _Trials:
    """The programme of one area, solved again with one more of something; each is solved once."""

    def __init__(self, part: Part) -> None:
        self._part = part
        size = len(part.built.columns.names)
        self._earned = {category: coverage(part.index, part.variables, size, category) for category in CATEGORIES}
        self._base = _from_corner(part)
        self._best = float(part.earns @ self._base.values)
        #: Gains below this are the solver's rounding.
        self.smallest = SMALLEST_SHARE * max(1.0, self._best)
        self._changes = join(part.built.families)
        self._bounds = _bounds(part, self._changes)
        self._found: dict[tuple[Resource, ...], _Gain] = {}

    def worth_trying(self) -> list[tuple[Resource, ...]]:
        """Return what might gain something: each resource, then each pair of which at least one might."""
        binding = {resource for resource, most in self._bounds.items() if most > self.smallest}
        return list(_trials(self._part.scenario, binding, set(self._changes)))

    def at_most(self, resources: tuple[Resource, ...]) -> float:
        """Return the most that one more of each might gain."""
        return sum(max(self._bounds[resource], 0.0) for resource in resources)

    def may_gain_more(self, resources: tuple[Resource, ...], gain: float) -> bool:
        """Tell whether one more of each gains more than that, mostly without finding out what it gains."""
        at_most = -(self._best + gain)
        return self._part.solver.stays_within_with_limits(*_combined(self._changes, resources), at_most)

    def gain(self, resources: tuple[Resource, ...]) -> _Gain | None:
        """Return what one more of each gains; nothing where that is no more than they gain one by one."""
        gain = self._solve(resources)
        alone = 0.0
        if len(resources) > 1:
            alone = sum(self._solve((r,)).weighted for r in resources if self._bounds[r] > self.smallest)
        return gain if gain.weighted > alone + self.smallest else None

    def _solve(self, resources: tuple[Resource, ...]) -> _Gain:
        if resources not in self._found:
            part = self._part
            more = part.solver.with_limits(*_combined(self._changes, resources)).values
            change = {name: _clean(float(earns @ (more - self._base.values))) for name, earns in self._earned.items()}
            self._found[resources] = _Gain(resources, float(part.earns @ more) - self._best, change)
        return self._found[resources]


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
    gains = [
        (part, gain)
        for part in allocation.parts
        for trials in (_Trials(part),)
        for resources in trials.worth_trying()
        if (gain := trials.gain(resources)) is not None
    ]
    return _table(allocation, gains)


def best_of_one_more(allocation: Allocation) -> pd.DataFrame:
    """Return the row of the single thing of which one more gains most, without solving for what cannot be the best.

    Where no single thing gains anything, that of the best pair of cylinder and regulator; no row where nothing does.

    Parameters
    ----------
    allocation
        The solved programmes.

    Returns
    -------
    pandas.DataFrame
        One row, or none, of :func:`worth_of_one_more`.
    """
    parts = [(part, trials) for part in allocation.parts for trials in (_Trials(part),)]
    waiting = [
        (-trials.at_most(resources), place, resources)
        for place, (_, trials) in enumerate(parts)
        for resources in trials.worth_trying()
    ]
    best: list[tuple[Part, _Gain]] = []
    for pairs in (False, True):
        for most, place, resources in sorted(each for each in waiting if (len(each[2]) > 1) is pairs):
            part, trials = parts[place]
            if best and -most <= best[0][1].weighted:
                break
            if best and not trials.may_gain_more(resources, best[0][1].weighted):
                continue
            gain = trials.gain(resources)
            if gain is not None and (not best or gain.weighted > best[0][1].weighted):
                best = [(part, gain)]
        if best:
            break
    return _table(allocation, best)


def _table(allocation: Allocation, gains: Sequence[tuple[Part, _Gain]]) -> pd.DataFrame:
    """Return gains in words, the largest first."""
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
        for part, gain in gains
    ]
    table = pd.DataFrame(rows, columns=COLUMNS)
    return table.sort_values("weighted_gain_min", ascending=False, kind="stable", ignore_index=True)
