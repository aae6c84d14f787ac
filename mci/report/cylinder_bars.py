"""The cylinders of each area over time: when each is on a regulator, and whom it serves then."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, TypeVar

from mci.plan.marks import find_marks
from mci.plan.things import find_supplies

if TYPE_CHECKING:
    from collections.abc import Iterable

    from mci.plan.things import Supply
    from mci.replay.judged import Judged
    from mci.replay.verdict import Holding, Service
    from mci.scenario.model import Scenario

    T = TypeVar("T", Holding, Service)

__all__ = ["CylinderBar", "CylinderSheet", "Use", "cylinder_sheets"]

#: A cylinder with less than this above residual pressure is called empty [L].
EMPTY_L = 1.0
_MOMENT = 1e-6  # min


@dataclass(frozen=True, slots=True)
class Use:
    """A stretch of time [min] in which a cylinder serves the same patients; none while it only waits on a regulator."""

    start: float
    end: float
    patients: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CylinderBar:
    """One cylinder.

    Parameters
    ----------
    uses
        In the order of time, from going on a regulator to coming off it.
    changes
        When it goes on a regulator, and the mark of that regulator [min].
    empty
        When it is empty [min]; ``None`` if it never is.
    left
        What is left in it at the end of the plan [L].
    """

    mark: str
    uses: tuple[Use, ...]
    changes: tuple[tuple[float, str], ...]
    empty: float | None
    left: float


@dataclass(frozen=True, slots=True)
class CylinderSheet:
    """The cylinders of one area in the order in which they are put on, and those that are not used."""

    area: str
    bars: tuple[CylinderBar, ...]
    unused: tuple[str, ...]


def cylinder_sheets(scenario: Scenario, judged: Judged) -> tuple[CylinderSheet, ...]:
    """Follow every cylinder through a plan; areas without cylinders are left out."""
    marks = find_marks(scenario)
    holdings, services = _by_supply(judged.verdict.holdings), _by_supply(judged.verdict.services)
    supplies = [supply for supply in find_supplies(scenario) if supply.must_be_opened]
    sheets = []
    for area in scenario.areas:
        mine = [supply for supply in supplies if supply.lot.area == area.key]
        used = [supply for supply in mine if holdings[supply.key]]
        bars = [
            _bar(supply, marks.by_name, holdings[supply.key], services[supply.key])
            for supply in sorted(used, key=lambda supply: min(holding.start for holding in holdings[supply.key]))
        ]
        unused = tuple(marks.of(supply.key) for supply in mine if not holdings[supply.key])
        if mine:
            sheets.append(CylinderSheet(area.title, tuple(bars), unused))
    return tuple(sheets)


def _by_supply(rows: Iterable[T]) -> defaultdict[str, list[T]]:
    found: defaultdict[str, list[T]] = defaultdict(list)
    for row in rows:
        found[row.supply].append(row)
    return found


def _bar(supply: Supply, marks: dict[str, str], holdings: list[Holding], services: list[Service]) -> CylinderBar:
    held = sorted(holdings, key=lambda holding: holding.start)
    last = held[-1]
    fed = [service.end for service in services]
    empty = max(fed, default=last.end) if last.litres_after < EMPTY_L else None
    return CylinderBar(
        mark=marks.get(supply.key, supply.key),
        uses=tuple(use for holding in held for use in _uses(holding, services)),
        changes=tuple((holding.start, marks.get(holding.regulator, holding.regulator)) for holding in held),
        empty=empty,
        left=last.litres_after,
    )


def _uses(holding: Holding, services: list[Service]) -> list[Use]:
    """Split the time on a regulator where the patients served change."""
    here = [service for service in services if service.start < holding.end and service.end > holding.start]
    inside = {moment for service in here for moment in (service.start, service.end)}
    moments = {holding.start, holding.end} | {m for m in inside if holding.start < m < holding.end}
    uses: list[Use] = []
    for start, end in pairwise(sorted(moments)):
        if end - start <= _MOMENT:
            continue
        patients = tuple(
            sorted(
                {service.patient for service in here if service.start < end - _MOMENT and service.end > start + _MOMENT}
            )
        )
        if uses and uses[-1].patients == patients:
            uses[-1] = Use(uses[-1].start, end, patients)
        else:
            uses.append(Use(start, end, patients))
    return uses
