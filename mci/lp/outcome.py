"""What comes out of the programme: a typed status, and tidy tables of who gets what.

A limit is never called optimal, and values are never read from a solve that has none.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Outcome", "SolverReport", "Status"]


class Status(StrEnum):
    """How the solver stopped."""

    OPTIMAL = "optimal"
    LIMIT = "stopped at a limit with a plan"
    INFEASIBLE = "infeasible"


@dataclass(frozen=True, slots=True)
class SolverReport:
    """Size of the programme and cost of solving it."""

    solver: str
    columns: int
    rows: int
    nonzeros: int
    build_seconds: float
    solve_seconds: float


@dataclass(frozen=True, slots=True)
class Outcome:
    """The fluid optimum of one incident.

    Parameters
    ----------
    status
        How the solver stopped.
    bound
        Best possible weighted coverage [weighted credit-minutes]; no plan can beat it.  With the strict
        rule, what the best plan by that rule earns.
    achieved
        Weighted coverage of the tables below [weighted credit-minutes].  At most ``bound``;
        they differ only by the tolerance with which the bound was held while step-downs
        and litres were reduced.
    service
        Patients per rung: ``area, category, ladder, rung`` (0 is the top), ``device, setting,
        flow_lpm, credit, start_min, end_min, patients``.
    need
        Patients present: ``area, category, ladder, start_min, end_min, patients``.
    draw
        Litres drawn: ``lot, area, start_min, end_min, litres``.
    report
        Size and time.
    """

    status: Status
    bound: float
    achieved: float
    service: pd.DataFrame
    need: pd.DataFrame
    draw: pd.DataFrame
    report: SolverReport
