"""What the page of a debrief says, as words in frozen records: the one source of HTML page and terminal."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from mci.plan.marks import Legend

__all__ = ["ActLine", "CauseRow", "CauseSplit", "CoverageLine", "DebriefBody", "DecisionCard", "EventLine", "Facing"]
__all__ += ["FaultGroup", "FindingLine", "ImprovementRow", "NoteLine", "ObjectiveRow", "StretchRow"]


@dataclass(frozen=True, slots=True)
class CauseRow:
    """A cause: what counts as it, what was lost to it, how long it was seen; ``relative`` to the largest, for bars."""

    name: str
    counts: str
    lost: str
    share: str
    relative: float
    patient_min: str
    relative_minutes: float


@dataclass(frozen=True, slots=True)
class CauseSplit:
    """A cause, what counts as it, and what patients of each category lost to it."""

    name: str
    counts: str
    cells: tuple[str, ...]
    total: str


@dataclass(frozen=True, slots=True)
class DecisionCard:
    """One of the decisions that would have gained most."""

    number: str
    when: str
    did: str
    better: str
    at_best: str
    by_orders: str
    immediate: str
    cause: str
    patients: str


@dataclass(frozen=True, slots=True)
class ObjectiveRow:
    """An objective and what was reached; ``status`` is ``met``, ``partly`` or ``not met``."""

    key: str
    text: str
    status: str
    found: str


@dataclass(frozen=True, slots=True)
class ImprovementRow:
    """One line of the improvement plan; who does it by when is left open."""

    seen: str
    action: str
    measure: str


@dataclass(frozen=True, slots=True)
class CoverageLine:
    """One category under every plan: coverage, patient time without oxygen, and on a lower rung."""

    category: str
    word: str
    patients: str
    need: str
    coverage: tuple[str, ...]
    without: tuple[str, ...]
    lower: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StretchRow:
    """One stretch of the log: what could still be reached at its start, what was lost in it, and to what."""

    when: str
    possible: str
    lost: str
    to: str
    decision: str


@dataclass(frozen=True, slots=True)
class NoteLine:
    """One remark on the log."""

    line: str
    when: str
    kind: str
    column: str
    written: str
    read: str
    why: str


@dataclass(frozen=True, slots=True)
class FindingLine:
    """One thing that the judge found."""

    line: str
    when: str
    law: str
    reason: str


@dataclass(frozen=True, slots=True)
class FaultGroup:
    """What the judge found that means the same: what went wrong, what cannot have been so, what is left open."""

    title: str
    meaning: str
    lines: tuple[FindingLine, ...]


@dataclass(frozen=True, slots=True)
class ActLine:
    """One order in a few words; ``line`` of the log, empty where the order is not the team's."""

    when: str
    what: str
    line: str


@dataclass(frozen=True, slots=True)
class Facing:
    """What the team did in a stretch beside better orders."""

    number: str
    when: str
    team: tuple[ActLine, ...]
    better: tuple[ActLine, ...]


@dataclass(frozen=True, slots=True)
class EventLine:
    """Something that happened; ``letter`` marks what was not announced."""

    letter: str
    when: str
    what: str


@dataclass(frozen=True, slots=True)
class DebriefBody:
    """What only the page of a debrief has.

    Parameters
    ----------
    plans
        Whose coverage is shown: the team, usual practice in its ways, the best orders.
    usual
        The better of the two ways of usual practice, which the figures show.
    unit
        Unit of patient time.
    rule
        How losses are reckoned.
    unit_words
        What a weighted credit-minute is.
    others, first_causes
        On paper only the first causes stand by themselves, the others in one row.
    total
        What was lost in all.
    weighted
        Weighted coverage of each plan.
    exercise
        That the incident is invented; empty where it is no exercise.
    """

    plans: tuple[str, ...]
    usual: str
    unit: str
    rule: str
    unit_words: str
    total: str
    exercise: str
    causes: tuple[CauseRow, ...]
    others: CauseRow | None
    first_causes: int
    decisions: tuple[DecisionCard, ...]
    decisions_note: str
    objectives: tuple[ObjectiveRow, ...]
    improvements: tuple[ImprovementRow, ...]
    coverage: tuple[CoverageLine, ...]
    weighted: tuple[str, ...]
    categories: tuple[tuple[str, str], ...]
    split: tuple[CauseSplit, ...]
    split_sum: tuple[str, ...]
    stretches: tuple[StretchRow, ...]
    log_sum: str
    log: tuple[NoteLine, ...]
    faults: tuple[FaultGroup, ...]
    facing: tuple[Facing, ...]
    legends: tuple[tuple[str, tuple[Legend, ...]], ...]
    events: tuple[EventLine, ...]
