"""A drill: everything that the packet says, as plain records and tidy tables."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

    from mci.provenance import Provenance
    from mci.replay.judged import Judged
    from mci.scenario.exercise import Inject, Objective
    from mci.scenario.model import Scenario

__all__ = ["Casualty", "Decision", "Difficulty", "Drill", "Event", "Level", "Signs", "Stage"]


class Level(StrEnum):
    """How hard a drill is: by the share of the best possible weighted coverage that usual practice loses.

    Bands of that share are in :mod:`mci.drills.difficulty`; the same in every scenario.
    """

    EASY = "easy"
    MODERATE = "moderate"
    HARD = "hard"


@dataclass(frozen=True, slots=True)
class Signs:
    """Vital signs at a moment, exercise data: oxygen saturation [%], breaths and pulse [per min], and how it looks."""

    spo2: int
    breaths: int
    pulse: int
    looks: str


@dataclass(frozen=True, slots=True)
class Stage:
    """What a controller reveals: ``when`` in words (``on arrival``, ``after 10 min without oxygen``)."""

    when: str
    signs: Signs


@dataclass(frozen=True, slots=True)
class Casualty:
    """One casualty card.

    Parameters
    ----------
    key
        Name in orders, such as ``P07``.
    age
        In words, such as ``34 years``.
    found
        What was found, one or two sentences.
    mechanism
        Title of the mechanism of injury; empty where the scenario has none.
    area, arrive, leave
        Where, and from when to when [min].
    needs
        What is prescribed and from when: moment [min], category, title of the ladder, and its top rung in words.
    stages
        What the controller reveals, on arrival first.
    unannounced
        Whether players do not know of the casualty beforehand (second wave).
    """

    key: str
    age: str
    found: str
    mechanism: str
    area: str
    arrive: float
    leave: float
    needs: tuple[tuple[float, str, str, str], ...]
    stages: tuple[Stage, ...]
    unannounced: bool


@dataclass(frozen=True, slots=True)
class Event:
    """One row of the master scenario events list.

    Parameters
    ----------
    number
        From 1, in the order of time.
    minute
        When [min].
    what
        What players see or are told, in words.
    sender, receiver, means
        From whom, to whom (roles, no names), and how: card, radio, in person.
    expected
        The action that is expected of the team, in words.
    objectives
        Keys of the objectives that it serves.
    inject
        What is behind it; ``None`` for arrivals and for what was announced.
    contingency
        Whether it is used only where the expected action does not come.
    """

    number: int
    minute: float
    what: str
    sender: str
    receiver: str
    means: str
    expected: str
    objectives: tuple[str, ...]
    inject: Inject | None = None
    contingency: bool = False


@dataclass(frozen=True, slots=True)
class Decision:
    """A decision of the answer key: orders that belong together, and what the same orders lose without them.

    Parameters
    ----------
    minute
        When [min].
    what, why
        In words.
    rows
        Rows of the key's orders that make it, from 1 in the order of time.
    worth
        Weighted credit-minutes that the replay of the key without these rows loses.
    immediate_min
        Credit-minutes of Immediate patients that it loses; may be negative.
    patients
        Who is concerned.
    """

    minute: float
    what: str
    why: str
    rows: tuple[int, ...]
    worth: float
    immediate_min: float
    patients: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Difficulty:
    """How hard the drill is, as measured.

    Parameters
    ----------
    asked
        The level asked for; ``None`` where the first draw was kept as it was.
    level
        The level reached; ``None`` below the easiest band.
    lost
        Share of the best orders' weighted coverage that usual practice loses (the better of its two ways).
    usual, best, bound
        Weighted credit-minutes of usual practice and of the best orders, and what no orders can beat.
    tried
        Draws of casualties and injects that were looked at.
    """

    asked: Level | None
    level: Level | None
    lost: float
    usual: float
    best: float
    bound: float
    tried: int


@dataclass(frozen=True, slots=True)
class Drill:
    """A drill and its answer key.

    Parameters
    ----------
    briefed
        What players are told beforehand: drawn casualties, without injects.
    actual
        What happens: with every inject.
    seed
        With which it was drawn.
    casualties, events, objectives
        Cards, master scenario events list, and what is to be shown.
    best
        The answer key's orders on ``actual``, VALID, made with everything known; no crew can know that much.
    again
        Orders of a crew that plans again every so many minutes and knows only what has happened; ``None`` where it
        was not asked for.
    usual
        Usual practice, in its two ways.
    over_time
        One row per plan and moment: ``plan, time_min, need, credit, at_target, below_target, without`` (patients;
        credit in patient equivalents), holding until the next row of the same plan.
    decisions
        Those that matter most, the one worth most first.
    exercise_text
        The exercise as a scenario file: ``mci plan`` opens it as briefed, ``mci debrief`` as it happens.
    notes
        What a designer should know, as whole sentences.
    exercise_tables
        Inventories that ``exercise_text`` names, by file name; they belong in the same folder.
    """

    briefed: Scenario
    actual: Scenario
    seed: int
    casualties: tuple[Casualty, ...]
    events: tuple[Event, ...]
    objectives: tuple[Objective, ...]
    best: Judged
    again: Judged | None
    usual: tuple[Judged, ...]
    over_time: pd.DataFrame
    decisions: tuple[Decision, ...]
    difficulty: Difficulty
    exercise_text: str
    notes: tuple[str, ...]
    provenance: Provenance
    exercise_tables: Mapping[str, str] = field(default_factory=dict)
