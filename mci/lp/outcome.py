"""What comes out of the programme: a typed status, and tidy tables of who gets what.

A limit is never called optimal, and values are never read from a solve that has none.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Outcome", "SolverReport", "Status", "Whole"]


class Status(StrEnum):
    """How the solver stopped."""

    OPTIMAL = "optimal"
    LIMIT = "stopped at a limit with a plan"
    ROUNDED = "rounded down at a limit"
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


@dataclass(frozen=True, slots=True)
class Whole:
    """A plan with whole patients.

    Parameters
    ----------
    status
        ``OPTIMAL``: the gap target is reached, or it is proven that no plan with whole patients is better by
        more than that.  ``LIMIT``: the time limit stopped the search before.
        ``ROUNDED``: it did so before there was anything but the divisible plan rounded down.
    achieved
        Weighted coverage of the tables below [weighted credit-minutes].
    gap
        What is missing of the bound of :class:`Outcome`, as a share of it.  With the strict rule, what is
        missing category by category, weighted; more in one category does not make up for less in another.
    method
        How it was found, in words; also whether the time limit stopped a search, so that another run may
        find another plan.
    service
        Like that of :class:`Outcome`, with whole patients.
    draw
        Like that of :class:`Outcome`.
    seconds
        Time it took [s].
    """

    status: Status
    achieved: float
    gap: float
    method: str
    service: pd.DataFrame
    draw: pd.DataFrame
    seconds: float
