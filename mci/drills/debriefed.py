"""A debrief: what was possible, what was reached, and where the difference went."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

    from mci.drills.log import Log
    from mci.plan.orders import Order
    from mci.provenance import Provenance
    from mci.replay.judged import Judged
    from mci.scenario.exercise import Objective
    from mci.scenario.model import Scenario

__all__ = ["Cause", "Debrief", "Missed", "Reached", "Result", "Status"]


class Cause(StrEnum):
    """To what minutes were lost; every lost credit-minute has exactly one."""

    RECOGNITION = "late recognition"  # never on oxygen yet, though an outlet with oxygen behind it was free
    IDLE_OXYGEN = "oxygen idle while patients waited"  # off oxygen again, or too little, though an outlet was free
    IDLE_REGULATOR = "regulator idle"  # no outlet in service was free, but a regulator and a cylinder for it were
    EMPTY = "empty cylinder unnoticed"  # connected, and nothing came
    LEAST_FLOW = "mask below its minimum flow"
    HIGH_FLOW = "flow too high"  # more drawn than prescribed, or the top rung while others went without
    DELIVERY = "delivery late"
    SHORTAGE = "nothing left to give at that moment"  # what earlier choices, or fewer litres than needed, left
    OTHER = "not placed"


class Status(StrEnum):
    """Whether an objective was reached."""

    MET = "met"
    PARTLY = "partly"  # at least half of what it asks
    NOT = "not met"


@dataclass(frozen=True, slots=True)
class Reached:
    """An objective and what was reached: the number found, and in words."""

    objective: Objective
    status: Status
    value: float
    words: str


@dataclass(frozen=True, slots=True)
class Missed:
    """A decision that would have gained much: what was done in a stretch, and what would have been better.

    Parameters
    ----------
    start, end
        The stretch [min].
    did, better
        In words.
    did_rows
        Rows of the team's orders in the stretch, from 1 in the order of time.
    better_orders
        What the best orders from ``start`` on do in the stretch, everything before it as it happened.
    worth
        What could be reached at most at ``start`` less what could at ``end`` [weighted credit-minutes].
    by_orders
        The same by orders that were made from each moment on and judged by replay; can be less, or more.
    immediate_min
        Credit-minutes of Immediate patients in ``by_orders``.
    cause
        Main cause in the stretch.
    patients
        Who is concerned.
    """

    start: float
    end: float
    did: str
    better: str
    did_rows: tuple[int, ...]
    better_orders: tuple[Order, ...]
    worth: float
    by_orders: float
    immediate_min: float
    cause: Cause
    patients: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Result:
    """One line of the improvement plan: what was seen, what to do about it, and how to see that it worked.

    Who does it by when is left open, for the team.
    """

    seen: str
    action: str
    measure: str
    cause: Cause | None


@dataclass(frozen=True, slots=True)
class Debrief:
    """What a team did with an incident, beside what was possible.

    Parameters
    ----------
    scenario
        The incident as it happened.
    log
        The team's log as read.
    team, best, usual
        What the team did, the best orders with everything known, and usual practice in its two ways; all judged by
        replay.
    bound
        What no orders can beat [weighted credit-minutes].
    over_time
        As for :class:`mci.drills.result.Drill`, for team, best and usual practice.
    stretches
        One row per stretch of the log: ``start_min, end_min, possible_start, possible_end, lost`` (weighted
        credit-minutes that could still be reached at its start, at its end, and the difference).  Stretches follow one
        another from 0 to the horizon; the first starts with ``bound``, the last ends with what the team reached.
    losses
        One row per stretch and cause with a loss: ``start_min, end_min, cause, category, lost`` (weighted
        credit-minutes); they sum to ``bound`` less what the team reached.
    causes
        One row per cause: ``cause, lost, share, patient_min`` (what was lost, its share of the whole loss, and the
        patient-minutes in which it was seen).
    missed
        The decisions that would have gained most, the most first.
    objectives
        What was reached of each.
    improvements
        The improvement plan.
    notes
        What a reader should know, as whole sentences.
    """

    scenario: Scenario
    log: Log
    team: Judged
    best: Judged
    usual: tuple[Judged, ...]
    bound: float
    over_time: pd.DataFrame
    stretches: pd.DataFrame
    losses: pd.DataFrame
    causes: pd.DataFrame
    missed: tuple[Missed, ...]
    objectives: tuple[Reached, ...]
    improvements: tuple[Result, ...]
    notes: tuple[str, ...]
    provenance: Provenance
