"""What makes a scenario an exercise, as the planner writes it: casualties in a few lines, injects, objectives."""

from __future__ import annotations

import re
from typing import Annotated, Any, Self

from pydantic import Discriminator, Field, PlainValidator, Tag, WithJsonSchema, model_validator

from mci.scenario.exercise import InjectKind, Measure
from mci.scenario.fields import (
    AreaName,
    Category,
    Count,
    Delay,
    Duration,
    LadderName,
    MechanismName,
    Moment,
    Pressure,
    Share,
    Text,
    one_of,
)
from mci.scenario.known import Wrong
from mci.scenario.schema_patients import Leaving, Patient, Spread, how_they_arrive
from mci.scenario.written import Written, is_one_of

__all__ = ["CasualtiesLine", "ExercisePart", "InjectLine", "ObjectiveLine"]


class CasualtiesLine(Leaving):
    """A number of people hurt by one mechanism, whose mix says how badly."""

    group: Annotated[Text, Field(description="Name of the group, used once.")]
    mechanism: Annotated[MechanismName, Field(description="How they were hurt; its mix says how badly.")]
    hurt: Annotated[Count, Field(description="Number hurt, also those who need no oxygen.")]
    children: Annotated[Share, Field(description="Share of them who are children, such as 80 %; without it none.")] = (
        0.0
    )
    area: Annotated[AreaName, Field(description="Key of the area where they arrive.")]
    arrive: Annotated[
        Annotated[Moment, Tag("<moment>")] | Annotated[Spread, Tag("<spread>")],
        Discriminator(how_they_arrive),
        Field(description="Moment at which all arrive, or {from, over, pattern, step} for arrivals over a time."),
    ]


def _kind(kind: str, meaning: str) -> tuple[Any, Any, Any]:
    """Return what makes a text the one word that says of which kind a line is, in whatever capitals."""
    return PlainValidator(one_of((kind,))), WithJsonSchema({"const": kind}), Field(description=meaning)


class _Inject(Written):
    at: Annotated[Moment, Field(description="Moment at which players are told, such as T+25.")]


class RegulatorLeaks(_Inject):
    """A regulator is of no use any more."""

    inject: Annotated[str, *_kind("regulator leaks", "From that moment on it is of no use.")]
    regulator: Annotated[Text, Field(description="Name of the regulator as in orders, such as field yoke 3.")]


class CylinderLow(_Inject):
    """A cylinder holds less than its label says."""

    inject: Annotated[str, *_kind("cylinder low", "It holds less than its label says, from the start.")]
    supply: Annotated[Text, Field(description="Name of the cylinder as in orders, or its number.")]
    pressure: Annotated[Pressure, Field(description="What its gauge really shows, such as 300 psi.")]


class WrongWasher(_Inject):
    """A regulator seals only some minutes later."""

    inject: Annotated[str, *_kind("wrong washer", "It seals when the right washer is found.")]
    regulator: Annotated[Text, Field(description="Name of the regulator as in orders, such as field yoke 1.")]
    found_after: Annotated[Duration, Field(description="Time until the right washer is found, such as 10 min.")]


class DeliveryLate(_Inject):
    """A delivery comes later than announced."""

    inject: Annotated[str, *_kind("delivery late", "It comes later than announced.")]
    delivery: Annotated[Text, Field(description="Name of the delivery.")]
    late_by: Annotated[Duration, Field(description="By how much it is late, such as 25 min.")]


class SecondWave(_Inject):
    """More patients come."""

    inject: Annotated[str, *_kind("second wave", "More patients come.")]
    patients: Annotated[list[Patient], Field(description="Who comes, each a single patient.", min_length=1)]


class PowerFails(_Inject):
    """An area is without power."""

    inject: Annotated[str, *_kind("power fails", "No machine runs there.")]
    area: Annotated[AreaName, Field(description="Key of the area.")]
    for_: Annotated[Duration | None, Field(description="How long, such as 30 min; without it to the end.")] = None


class PatientWorsens(_Inject):
    """A patient needs more."""

    inject: Annotated[str, *_kind("patient worsens", "Another category or ladder from then on.")]
    patient: Annotated[Text, Field(description="Name of a single patient.")]
    category: Annotated[Category | None, Field(description="Triage category from then on.")] = None
    ladder: Annotated[LadderName | None, Field(description="Ladder of therapy options from then on.")] = None

    @model_validator(mode="after")
    def _changes(self) -> Self:
        if self.category is None and self.ladder is None:
            raise Wrong("does not say what changes", "Give a new category, ladder or both.")
        return self


class AreaMoves(_Inject):
    """A treatment area moves; what is built in stays behind."""

    inject: Annotated[str, *_kind("area moves", "What is built in stays behind, and hands carry.")]
    area: Annotated[AreaName, Field(description="Key of the area.")]
    for_: Annotated[Duration, Field(description="How long it takes, such as 10 min.")]


InjectLine = Annotated[
    Annotated[RegulatorLeaks, Tag("<regulator leaks>")]
    | Annotated[CylinderLow, Tag("<cylinder low>")]
    | Annotated[WrongWasher, Tag("<wrong washer>")]
    | Annotated[DeliveryLate, Tag("<delivery late>")]
    | Annotated[SecondWave, Tag("<second wave>")]
    | Annotated[PowerFails, Tag("<power fails>")]
    | Annotated[PatientWorsens, Tag("<patient worsens>")]
    | Annotated[AreaMoves, Tag("<area moves>")],
    is_one_of("inject", tuple(InjectKind)),
]

_MINUTES = "How long at most, such as 5 min."
_PATIENT_MINUTES = "Patient-minutes at most in all, such as 60 min; 0 min for none."
_SHARE = "Share that is asked at least, such as 90 %."


class _Objective(Written):
    category: Annotated[Category | None, Field(description="Whose; without it everybody's.")] = None
    area: Annotated[AreaName | None, Field(description="Where; without it everywhere.")] = None


class OnOxygen(_Objective):
    """Patients get any oxygen soon after arrival."""

    objective: Annotated[str, *_kind("on oxygen within", "Any oxygen so soon after arrival.")]
    minutes: Annotated[Duration, Field(description=_MINUTES)]
    share: Annotated[Share, Field(description=_SHARE)]


class SteppedUp(_Objective):
    """Patients who worsen get what is then prescribed soon."""

    objective: Annotated[str, *_kind("stepped up within", "Who worsens is at target so soon.")]
    minutes: Annotated[Duration, Field(description=_MINUTES)]
    share: Annotated[Share, Field(description=_SHARE)]


class Coverage(_Objective):
    """A share of the need is met."""

    objective: Annotated[str, *_kind("coverage at least", "Share of the need that is met.")]
    share: Annotated[Share, Field(description=_SHARE)]


class Without(_Objective):
    """Few patient-minutes without oxygen."""

    objective: Annotated[str, *_kind("without oxygen at most", "Patient-minutes without oxygen.")]
    minutes: Annotated[Delay, Field(description=_PATIENT_MINUTES)]


class OnEmpty(_Objective):
    """Nobody is long connected to something that gives nothing."""

    objective: Annotated[str, *_kind("on empty at most", "Longest time on something that is empty.")]
    minutes: Annotated[Delay, Field(description=_MINUTES)]


class BelowLeastFlow(_Objective):
    """Few patient-minutes on a device below its least flow."""

    objective: Annotated[str, *_kind("below least flow at most", "On a device below its least flow.")]
    minutes: Annotated[Delay, Field(description=_PATIENT_MINUTES)]


ObjectiveLine = Annotated[
    Annotated[OnOxygen, Tag("<on oxygen within>")]
    | Annotated[SteppedUp, Tag("<stepped up within>")]
    | Annotated[Coverage, Tag("<coverage at least>")]
    | Annotated[Without, Tag("<without oxygen at most>")]
    | Annotated[OnEmpty, Tag("<on empty at most>")]
    | Annotated[BelowLeastFlow, Tag("<below least flow at most>")],
    is_one_of("objective", tuple(Measure)),
]


def _seed(value: Any) -> int:
    if not isinstance(value, str) or re.fullmatch(r"\d{1,18}", value.strip()) is None:
        raise Wrong("must be a whole number of at most 18 digits")
    return int(value)


_Seed = Annotated[int, PlainValidator(_seed), WithJsonSchema({"type": "integer", "minimum": 0})]


class ExercisePart(Written):
    """What makes a scenario an exercise."""

    casualties: Annotated[
        list[CasualtiesLine],
        Field(
            default_factory=list, description="Who is hurt, in a few lines; a drill draws single patients from them."
        ),
    ]
    injects: Annotated[
        list[InjectLine], Field(default_factory=list, description="What happens that players are not told beforehand.")
    ]
    objectives: Annotated[
        list[ObjectiveLine], Field(default_factory=list, description="What is to be shown; without it what fits.")
    ]
    seed: Annotated[_Seed | None, Field(description="With which it was drawn, in an exercise that was.")] = None
    difficulty: Annotated[
        Share | None, Field(description="Share of the best possible that usual practice loses, as it was measured.")
    ] = None
