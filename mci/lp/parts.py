"""Areas that share nothing are planned apart: the same optimum from smaller programmes.

No row of the programme reaches across two areas: lots, regulators, devices, staff, power and
reserve all belong to one.  So the optimum of the whole is the sum of the optima of the areas, under
the weighted rule and under the strict one, and each can be solved, and asked what one more is
worth, on its own.  All keep the time grid of the whole, so that their tables fit together.
Patients who move may bring single-use devices along; how many at most is counted beforehand
(:mod:`mci.demand.brought`), so what one more device would do at the next area is not in its worth.
"""

from __future__ import annotations

from dataclasses import replace

from mci.demand.groups import Demand
from mci.scenario.model import Scenario

__all__ = ["restrict", "split"]


def restrict(scenario: Scenario, area: str) -> Scenario:
    """Return what is at one area."""
    return replace(
        scenario,
        areas=tuple(each for each in scenario.areas if each.key == area),
        lots=tuple(each for each in scenario.lots if each.area == area),
        regulators=tuple(each for each in scenario.regulators if each.area == area),
        devices=tuple(each for each in scenario.devices if each.area == area),
        staff=tuple(each for each in scenario.staff if each.area == area),
        power=tuple(each for each in scenario.power if each.area == area),
        reserve={key: litres for key, litres in scenario.reserve.items() if key == area},
    )


def split(scenario: Scenario, demand: Demand) -> tuple[tuple[Scenario, Demand], ...]:
    """Return the incident area by area, each with its patients on the common grid; areas without patients left out."""
    parts = []
    for area in scenario.areas:
        kept = [number for number, group in enumerate(demand.groups) if group.area == area.key]
        if kept:
            parts.append((restrict(scenario, area.key), demand.select(kept)))
    return tuple(parts)
