"""What the sheets of a drill say, as words in frozen records; each sheet has a body of its own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, TypeVar

if TYPE_CHECKING:
    from mci.plan.marks import Legend
    from mci.report.cautions import Caution

__all__ = ["AreaKit", "CardSheet", "CardStage", "CategoryRow", "CheckRow", "ControllerArea", "ControllersBody"]
__all__ += ["CoverageFigures", "CriterionRow", "DecisionRow", "Delivered", "DeviceRow", "DrillPage", "EventRow"]
__all__ += ["KeyBody", "KeyLine", "KeySheet", "ObjectiveRow", "PlayersBody", "Safety", "Slip", "Supply"]

Body = TypeVar("Body")


@dataclass(frozen=True, slots=True)
class DrillPage(Generic[Body]):
    """One sheet: its kind, for whom, the incident, a few facts with labels, and what only this sheet has."""

    kind: str
    reader: str
    name: str
    summary: str
    statement: str
    aid: str
    facts: tuple[tuple[str, str], ...]
    body: Body
    provenance_line: str


@dataclass(frozen=True, slots=True)
class Safety:
    """Rules of the exercise, and cautions where oxygen is handled."""

    rules: tuple[Caution, ...]
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True)
class Delivered:
    """A delivery that is known to come: when, where to, and what it brings."""

    name: str
    when: str
    area: str
    brings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Supply:
    """One thing whose gauge is read: mark, what it is, from when it is there (empty: from the start)."""

    mark: str
    what: str
    since: str


@dataclass(frozen=True, slots=True)
class AreaKit:
    """What one area has: marks with what they stand for, people and power, devices, gauges in the order of reading."""

    title: str
    legends: tuple[Legend, ...]
    people: tuple[str, ...]
    devices: tuple[tuple[str, str], ...]
    gauges: tuple[Supply, ...]


@dataclass(frozen=True, slots=True)
class PlayersBody:
    """What players may see; ``rows`` are the lines of a page of the log, ``actions`` its words."""

    areas: tuple[AreaKit, ...]
    deliveries: tuple[Delivered, ...]
    limits: tuple[str, ...]
    actions: tuple[tuple[str, str, str], ...]
    log_headers: tuple[str, ...]
    example: tuple[tuple[str, ...], ...]
    log_pages: int
    rows: int
    rounds: tuple[tuple[str, str], ...]
    safety: Safety


@dataclass(frozen=True, slots=True)
class CardStage:
    """What is told at a stage: when, and the signs with their units in the header."""

    when: str
    spo2: str
    breaths: str
    pulse: str
    looks: str


@dataclass(frozen=True, slots=True)
class CardSheet:
    """One casualty card; ``needs`` are moment, category as key and as word, need, and what is prescribed."""

    key: str
    age: str
    found: str
    mechanism: str
    area: str
    arrive: str
    leave: str
    needs: tuple[tuple[str, str, str, str, str], ...]
    first: CardStage
    stages: tuple[CardStage, ...]
    unannounced: bool


@dataclass(frozen=True, slots=True)
class EventRow:
    """One row of the master scenario events list; ``kind`` is ``inject``, ``contingency`` or empty."""

    number: str
    when: str
    clock: str
    what: str
    sender: str
    receiver: str
    means: str
    expected: str
    objectives: str
    kind: str


@dataclass(frozen=True, slots=True)
class Slip:
    """An inject to be cut out and handed over."""

    number: str
    when: str
    receiver: str
    means: str
    what: str


@dataclass(frozen=True, slots=True)
class CheckRow:
    """One thing that a controller brings or says at a moment; ``spare`` where only if need be."""

    when: str
    clock: str
    what: str
    spare: bool


@dataclass(frozen=True, slots=True)
class ControllerArea:
    """What the controller of one area does."""

    title: str
    rows: tuple[CheckRow, ...]


@dataclass(frozen=True, slots=True)
class ObjectiveRow:
    """An objective, how it is measured, and which events serve it."""

    key: str
    text: str
    measured: str
    events: str


@dataclass(frozen=True, slots=True)
class CriterionRow:
    """One thing that an evaluator can see; ``gas`` where it shows only if real oxygen flows."""

    what: str
    seen: str
    source: str
    gas: bool


@dataclass(frozen=True, slots=True)
class DeviceRow:
    """A device of the exercise and the flows that it takes."""

    title: str
    flow: str
    risk: str
    source: str


@dataclass(frozen=True, slots=True)
class ControllersBody:
    """What controllers and evaluators need."""

    events: tuple[EventRow, ...]
    at_any_time: tuple[tuple[str, str], ...]
    slips: tuple[Slip, ...]
    areas: tuple[ControllerArea, ...]
    objectives: tuple[ObjectiveRow, ...]
    criteria: tuple[tuple[str, tuple[CriterionRow, ...]], ...]
    devices: tuple[DeviceRow, ...]
    limits: tuple[str, ...]
    unannounced: str
    safety: Safety


@dataclass(frozen=True, slots=True)
class CategoryRow:
    """Coverage of one category, by plan: the share that is met, and patient-minutes without oxygen."""

    category: str
    word: str
    need: str
    cells: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class DecisionRow:
    """A decision of the key, with its letter and what it is worth."""

    letter: str
    when: str
    what: str
    why: str
    worth: str
    share: str
    immediate: str
    rows: str


@dataclass(frozen=True, slots=True)
class KeyLine:
    """One order of the key; ``letters`` are the decisions to which it belongs."""

    number: str
    when: str
    clock: str
    action: str
    patient: str
    gives: str
    source: str
    gauge: str
    reason: str
    letters: str


@dataclass(frozen=True, slots=True)
class KeySheet:
    """The key's orders for one area."""

    title: str
    legends: tuple[Legend, ...]
    lines: tuple[KeyLine, ...]


@dataclass(frozen=True, slots=True)
class CoverageFigures:
    """Names of the plans as columns of a table, and their rows by category."""

    plans: tuple[str, ...]
    rows: tuple[CategoryRow, ...]


@dataclass(frozen=True, slots=True)
class KeyBody:
    """The answer key."""

    headline: tuple[str, ...]
    standing: str
    legend: tuple[tuple[str, str], ...]
    coverage: CoverageFigures
    decisions: tuple[DecisionRow, ...]
    sheets: tuple[KeySheet, ...]
    notes: tuple[str, ...]
    cautions: tuple[Caution, ...]
    provenance: tuple[tuple[str, str], ...]
