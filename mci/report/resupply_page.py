"""What the page of a resupply plan says, as words in frozen records: the one source of HTML page and terminal."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from mci.report.cautions import Caution
    from mci.report.page import KeyFigure
    from mci.report.request import RequestForm
    from mci.report.trip_sheets import TripSheet

__all__ = ["CoveredRow", "DepartureRow", "GoalRow", "LossRow", "ResupplyPage"]


@dataclass(frozen=True, slots=True)
class DepartureRow:
    """One trip: what, from where, on what, the last safe times, what a delay costs; ``tight`` where little is left."""

    trip: str
    vehicle: str
    brings: str
    origin: str
    to: str
    leave: str
    leave_at: str
    leave_by: str
    leave_clock: str
    arrive_by: str
    arrive_clock: str
    margin: str
    lost: str
    request_by: str
    tight: bool


@dataclass(frozen=True, slots=True)
class GoalRow:
    """One goal at one area: what trips can meet of it at best, what the orders reach; in the unit of the page."""

    goal: str
    category: str
    word: str
    area: str
    needed: str
    best: str
    best_share: str
    orders: str
    orders_share: str
    met: str


@dataclass(frozen=True, slots=True)
class CoveredRow:
    """Coverage of one category, or of all: at best with the trips, and in the plan that can be carried out."""

    category: str
    word: str
    patients: str
    need: str
    best: str
    plan: str


@dataclass(frozen=True, slots=True)
class LossRow:
    """What losing one road, place or vehicle costs; ``relative`` is its share of the largest loss."""

    kind: str
    what: str
    lost: str
    weighted: str
    relative: float


@dataclass(frozen=True, slots=True)
class ResupplyPage:
    """The whole page in words; ``sheets`` and ``forms`` are empty where replay finds the trips impossible."""

    name: str
    summary: str
    headline: tuple[str, ...]
    standing: str
    disruption: str
    findings: tuple[str, ...]
    key_figures: tuple[KeyFigure, ...]
    departures: tuple[DepartureRow, ...]
    asks_supplier: bool
    unit: str
    goals: tuple[GoalRow, ...]
    goal_sentence: str
    goal_note: str
    obstacles: tuple[str, ...]
    coverage: tuple[CoveredRow, ...]
    losses: tuple[LossRow, ...]
    notes: tuple[str, ...]
    sheets: tuple[TripSheet, ...]
    forms: tuple[RequestForm, ...]
    blocks_source: str
    assumptions: tuple[tuple[str, str, str, str], ...]
    statement: str
    cautions: tuple[Caution, ...]
    provenance: tuple[tuple[str, str], ...]
    provenance_line: str
