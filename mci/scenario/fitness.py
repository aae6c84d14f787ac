"""What keeps a cylinder out of service: its gauge and its hydrostatic test, one rule each.

Scenarios and inspections of a cache ask the same rules.
"""

from __future__ import annotations

import calendar
import datetime
from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple

from mci.units import format_pressure

if TYPE_CHECKING:
    from mci.catalogue.model import Cylinder

__all__ = [
    "Reason",
    "Unfit",
    "due_date",
    "gauge_reasons",
    "hydrostatic_reason",
    "is_above_full",
    "is_too_low",
    "pressures",
]


class Unfit(StrEnum):
    """Kinds of reasons."""

    LOW = "gauge too low"
    ABOVE_FULL = "gauge above full"
    NO_TEST = "no test date"
    TEST_AHEAD = "test date in the future"
    TEST_OVERDUE = "hydrostatic test overdue"


class Reason(NamedTuple):
    """Why a cylinder is not fit for service: the kind, and a sentence with numbers."""

    kind: Unfit
    why: str


def is_too_low(gauge: float, minimum: float, residual: float, *, metric: bool) -> str:
    """Return why a gauge is too low to start a patient on, or an empty text.

    Parameters
    ----------
    gauge, minimum, residual
        Reading, in-service minimum and residual pressure [psi].
    metric
        Whether pressures are written in bar.
    """
    if gauge < minimum:
        return "{} is below the in-service minimum of {}".format(*pressures(gauge, minimum, metric=metric))
    if gauge <= residual:
        both = format_pressure(gauge, metric=metric), format_pressure(residual, metric=metric)
        return "{} is not above the residual pressure of {}".format(*both)
    return ""


def is_above_full(cylinder: Cylinder, gauge: float, most_above_full: float) -> bool:
    """Return whether a gauge [psi] is above full by more than a share, too far to be this kind of cylinder."""
    return gauge > cylinder.full_psi * (1 + most_above_full)


def gauge_reasons(
    cylinder: Cylinder, gauge: float, minimum: float, residual: float, most_above_full: float, *, metric: bool
) -> list[Reason]:
    """Return why the gauge [psi] of a cylinder keeps it out of service; limits as in the functions above."""
    low = is_too_low(gauge, minimum, residual, metric=metric)
    reasons = [Reason(Unfit.LOW, low)] if low else []
    if is_above_full(cylinder, gauge, most_above_full):
        read, full = format_pressure(gauge, metric=metric), format_pressure(cylinder.full_psi, metric=metric)
        reasons.append(Reason(Unfit.ABOVE_FULL, f"{read} is above full ({full}): check the gauge"))
    return reasons


def hydrostatic_reason(tested: datetime.date | None, years: int, today: datetime.date) -> Reason | None:
    """Return why the hydrostatic test of a cylinder keeps it out of service, if it does.

    Parameters
    ----------
    tested
        Date of the last test; ``None`` where none is known.
    years
        Years for which a test counts.
    """
    if tested is None:
        return Reason(Unfit.NO_TEST, "no date of a hydrostatic test")
    if tested > _end_of_month(today):
        return Reason(Unfit.TEST_AHEAD, f"hydrostatic test date {tested} lies in the future")
    due = due_date(tested, years)
    return Reason(Unfit.TEST_OVERDUE, f"hydrostatic test was due on {due}") if due < today else None


def due_date(tested: datetime.date, years: int) -> datetime.date:
    """Return the last day on which a test counts: the same day some years later (28 February for a leap day)."""
    year = tested.year + years
    last_day = calendar.monthrange(year, tested.month)[1]
    return datetime.date(year, tested.month, min(tested.day, last_day))


def _end_of_month(day: datetime.date) -> datetime.date:
    """Return the last day of a month, since a test may be stamped with its month only."""
    return day.replace(day=calendar.monthrange(day.year, day.month)[1])


def pressures(*psi: float, metric: bool) -> list[str]:
    """Write pressures [psi] that differ so that they look different, as precisely as that takes."""
    texts = [[format_pressure(p, metric=metric, digits=digits) for p in psi] for digits in range(4)]
    return next((written for written in texts if len(set(written)) == len(psi)), texts[-1])
