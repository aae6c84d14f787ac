"""Patients as the planner writes them: one by one, in batches, or in a roster file."""

from __future__ import annotations

from typing import Annotated, Any, Self

from pydantic import Discriminator, Field, Tag, model_validator

from mci.scenario.fields import (
    AreaName,
    Category,
    Count,
    Duration,
    FileName,
    LadderName,
    MechanismName,
    Moment,
    PatternName,
    Text,
)
from mci.scenario.known import Wrong
from mci.scenario.written import Written, begins_with

__all__ = ["Batch", "Change", "ChangeRow", "Leaving", "Patient", "PatientsLine", "Roster", "RosterLine", "RosterRow"]
__all__ += ["Spread", "changes_in_order", "how_they_arrive"]


class Change(Written):
    """A later change of a patient's need or place."""

    after: Annotated[Duration | None, Field(description="Time since the patient's own arrival, such as 30 min.")] = None
    at: Annotated[Moment | None, Field(description="Moment of the change, such as T+60; instead of 'after'.")] = None
    category: Annotated[Category | None, Field(description="Triage category from then on.")] = None
    area: Annotated[AreaName | None, Field(description="Key of the area from then on.")] = None
    ladder: Annotated[LadderName | None, Field(description="Ladder of therapy options from then on.")] = None

    @model_validator(mode="after")
    def _whole(self) -> Self:
        if (self.after is None) == (self.at is None):
            raise Wrong("a change has either 'after' or 'at'", "Write after: 30 min, or at: T+60.")
        if self.category is None and self.area is None and self.ladder is None:
            raise Wrong("a change must change something", "Give a new category, area or ladder.")
        return self


class Leaving(Written):
    """Whoever arrives and leaves again."""

    leave: Annotated[Moment | None, Field(description="Moment of leaving, such as T+120 or 16:40.")] = None
    stay: Annotated[
        Duration | None,
        Field(description="Time from arrival to leaving, such as 50 min; instead of 'leave'. Neither: to the end."),
    ] = None

    def first_arrival(self) -> float:
        """Return the first moment at which anyone of these arrives [min]."""
        arrive: Any = getattr(self, "arrive", 0.0)
        return arrive.from_ if isinstance(arrive, Spread) else arrive

    @model_validator(mode="after")
    def _leaves_once(self) -> Self:
        if self.leave is not None and self.stay is not None:
            raise Wrong("gives both 'leave' and 'stay'", "Keep one of them.")
        if self.leave is not None and self.leave <= self.first_arrival():
            raise Wrong("leaves before or at arrival", "Let 'leave' be later than 'arrive'.")
        return self


class _Course(Leaving):
    """What single patients, batches and roster rows have in common."""

    category: Annotated[Category, Field(description="Triage category: immediate, delayed, minimal or expectant.")]
    area: Annotated[AreaName, Field(description="Key of the area where they arrive.")]
    ladder: Annotated[LadderName, Field(description="Ladder of therapy options that meets the need.")]
    mechanism: Annotated[
        MechanismName | None, Field(description="How they were hurt, for the casualty cards of an exercise.")
    ] = None


class Patient(_Course):
    """One patient."""

    patient: Annotated[Text, Field(description="Name or number of the patient in this plan, used once.")]
    arrive: Annotated[Moment, Field(description="Moment of arrival, such as T+10 or 14:45.")]
    then: Annotated[
        list[Change], Field(default_factory=list, description="Later changes of category, area or ladder, in order.")
    ]


class Spread(Written):
    """Arrivals of a batch over a time."""

    from_: Annotated[Moment, Field(description="Moment of the first arrival.")]
    over: Annotated[Duration, Field(description="Time over which all arrive.")]
    pattern: Annotated[
        PatternName,
        Field(description="'evenly', 'early' (thinning out) or 'waves' (first third and last third of the time)."),
    ]
    step: Annotated[Duration | None, Field(description="Arrivals are counted in steps of this length.")] = None

    @model_validator(mode="after")
    def _steps_fit(self) -> Self:
        if self.step is not None and self.step > self.over:
            raise Wrong("the step is longer than the time over which they arrive", "Make 'step' shorter.")
        if self.step is not None and self.over / self.step > 2000:
            raise Wrong("has more than 2000 steps of arrival", "Make 'step' longer.")
        return self


def how_they_arrive(value: Any) -> str:
    """Tell a moment of arrival from arrivals over a time."""
    return "<spread>" if isinstance(value, dict) else "<moment>"


class Batch(_Course):
    """Patients alike."""

    batch: Annotated[Text, Field(description="Name of the batch in this plan, used once.")]
    count: Annotated[Count, Field(description="Number of patients.")]
    arrive: Annotated[
        Annotated[Moment, Tag("<moment>")] | Annotated[Spread, Tag("<spread>")],
        Discriminator(how_they_arrive),
        Field(description="Moment at which all arrive, or {from, over, pattern, step} for arrivals over a time."),
    ]
    then: Annotated[
        list[Change], Field(default_factory=list, description="Later changes of category, area or ladder, in order.")
    ]

    @model_validator(mode="after")
    def _changes_apply(self) -> Self:
        if isinstance(self.arrive, Spread) and any(change.at is not None for change in self.then):
            raise Wrong("'at' cannot be used for patients who arrive over a time", "Write after: 30 min instead.")
        return self


class Roster(Written):
    """A file with one patient a row."""

    roster: Annotated[FileName, Field(description="CSV or XLSX file beside the scenario, one patient a row.")]
    sheet: Annotated[Text | None, Field(description="Sheet of the XLSX file; without it the first.")] = None


class RosterRow(_Course):
    """One row of a roster; the columns are the words of a single patient."""

    patient: Annotated[Text, Field(description="Name or number of the patient in this plan, used once.")]
    arrive: Annotated[Moment, Field(description="Moment of arrival, such as T+10 or 14:45.")]
    note: Annotated[Text | None, Field(description="Anything; not used.")] = None


class ChangeRow(Written):
    """A later row of a roster: what holds for a patient of a row above from a moment on."""

    patient: Annotated[Text, Field(description="Name or number of a patient who arrives in a row above.")]
    change: Annotated[Moment, Field(description="Moment from which this row holds, such as T+60.")]
    category: Annotated[Category, Field(description="Triage category from then on.")]
    area: Annotated[AreaName, Field(description="Key of the area from then on.")]
    ladder: Annotated[LadderName, Field(description="Ladder of therapy options from then on.")]
    note: Annotated[Text | None, Field(description="Anything; not used.")] = None


def _which_row(value: Any) -> str:
    return "<change>" if isinstance(value, dict) and "change" in value else "<arrival>"


RosterLine = Annotated[
    Annotated[RosterRow, Tag("<arrival>")] | Annotated[ChangeRow, Tag("<change>")], Discriminator(_which_row)
]

PatientsLine = Annotated[
    Annotated[Patient, Tag("<patient>")] | Annotated[Batch, Tag("<batch>")] | Annotated[Roster, Tag("<roster>")],
    begins_with("patient", "batch", "roster"),
]


def changes_in_order(line: Patient | Batch) -> list[tuple[float, Change]]:
    """Return the changes with their time after arrival [min].

    Raises
    ------
    Wrong
        When one is not later than the one before, or not after arrival.
    """
    timed = [(c.after if c.after is not None else (c.at or 0.0) - line.first_arrival(), c) for c in line.then]
    last = 0.0
    for after, _ in timed:
        if after <= last + 1e-9:
            raise Wrong("the changes must come after arrival, each later than the one before")
        last = after
    return timed
