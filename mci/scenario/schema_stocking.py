"""What a cache may be filled with, and what for, as the planner writes it."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import Field, Tag, model_validator

from mci.scenario.fields import (
    AreaName,
    Category,
    Content,
    Count,
    CylinderName,
    Delay,
    DeviceName,
    Duration,
    GasModelName,
    MachineName,
    Mass,
    Moment,
    Number,
    Packs,
    Pressure,
    PressureOrFull,
    Rate,
    RegulatorName,
    Share,
    Temperature,
    Text,
    Volume,
)
from mci.scenario.known import Wrong
from mci.scenario.written import Written, begins_with

__all__ = [
    "CacheLine",
    "CandidateConcentrators",
    "CandidateCylinders",
    "CandidateDevices",
    "CandidateLine",
    "CandidatePeople",
    "CandidateRegulators",
    "GoalLine",
    "RuleLine",
    "StationLine",
    "StockingPart",
]


class StationLine(Written):
    """A place where a cache may stand."""

    at: Annotated[Text, Field(description="Place of the network; without a network a name of your own.")]
    sets_off: Annotated[Moment, Field(description="When it is on the road, such as T+5 or 5 min.")]
    reaches: Annotated[
        dict[AreaName, Delay] | None,
        Field(
            description="Areas that it can go to, each with the time on the road; without it the roads of the network.",
            min_length=1,
        ),
    ] = None
    yearly: Annotated[Number, Field(description="What it costs a year to keep a cache there; without it nothing.")] = (
        0.0
    )


class CacheLine(Written):
    """A trailer, cupboard or vehicle that is kept filled."""

    cache: Annotated[Text, Field(description="Name of the cache, used once.")]
    payload: Annotated[Mass | None, Field(description="The most it carries, such as 400 kg; without it no limit.")] = (
        None
    )
    volume: Annotated[Content | None, Field(description="What fits in, such as 2.5 m3; without it no limit.")] = None
    gas_limit: Annotated[
        Content | None,
        Field(description="Most oxygen that may be kept in it, as free gas, such as 3000 ft3; without it no limit."),
    ] = None
    slots: Annotated[
        dict[Text, Number] | None,
        Field(description="Slots of each kind, such as {rack: 24}; without it no limit.", min_length=1),
    ] = None
    owned: Annotated[
        dict[Text, Packs],
        Field(default_factory=dict, description="Packs that it holds already and keeps, by candidate."),
    ]
    stations: Annotated[
        list[StationLine], Field(description="Where it may stand; one of them is chosen.", min_length=1)
    ]


class _Candidate(Written):
    name: Annotated[Text | None, Field(description="Name of your own, where the same thing is offered twice.")] = None
    buy: Annotated[Number | None, Field(description="What a pack costs at once.")] = None
    yearly: Annotated[
        Number | None, Field(description="What a pack costs a year: rental, tests, refills, replacement.")
    ] = None
    weight: Annotated[Mass | None, Field(description="What a pack weighs, such as 8 lb.")] = None
    volume: Annotated[Volume | None, Field(description="Room that a pack takes, such as 7 L.")] = None
    slot: Annotated[Text | None, Field(description="Kind of slot that a pack needs; without it none.")] = None
    slots: Annotated[Rate | None, Field(description="How many of these slots; without it one.")] = None
    bag: Annotated[Text | None, Field(description="Bag or shelf where it is packed.")] = None
    at_most: Annotated[Packs | None, Field(description="Most packs in one cache; without it 99.")] = None

    @model_validator(mode="after")
    def _says_what_it_takes(self) -> Self:
        if self.buy is None and self.yearly is None:
            raise Wrong("does not say what it costs", "Give 'buy', 'yearly' or both; 0 where it costs nothing.")
        if self.slots is not None and self.slot is None:
            raise Wrong("has 'slots' and does not say of which kind", "Add a line such as slot: rack.")
        return self


class _Thing(_Candidate):
    units: Annotated[Count, Field(description="How many are in a pack; without it one.")] = 1


class CandidateCylinders(_Thing):
    """Cylinders of one kind and pressure that may be packed."""

    cylinder: Annotated[CylinderName, Field(description="Kind of cylinder: region, letter, variant.")]
    pressure: Annotated[PressureOrFull, Field(description="Gauge pressure at which it is kept, 2000 psi or full.")]
    residual: Annotated[
        Pressure | None, Field(description="Pressure at which they are taken out of use, such as 200 psi.")
    ] = None
    temperature: Annotated[
        Temperature | None, Field(description="Temperature when the gauge is read; without it the reference.")
    ] = None
    gas_model: Annotated[
        GasModelName | None,
        Field(description="How litres follow from the gauge: 'published factor', 'rated content' or 'real gas'."),
    ] = None
    change: Annotated[
        Duration | None, Field(description="Time of one person to bring one into service or change it, such as 2 min.")
    ] = None


class CandidateRegulators(_Thing):
    """Regulators or manifolds that may be packed."""

    regulator: Annotated[RegulatorName, Field(description="Kind of regulator or manifold.")]


class CandidateDevices(_Thing):
    """Delivery devices that may be packed."""

    device: Annotated[DeviceName, Field(description="Kind of delivery device.")]


class CandidateConcentrators(_Thing):
    """Concentrators that may be packed; they need power where they are used."""

    concentrator: Annotated[MachineName, Field(description="Kind of concentrator.")]
    change: Annotated[Duration | None, Field(description="Time of one person to connect it, such as 2 min.")] = None


class CandidatePeople(_Candidate):
    """People who come with a cache, and connect and change cylinders."""

    people: Annotated[Count, Field(description="How many people one of these is.")]


CandidateLine = Annotated[
    Annotated[CandidateCylinders, Tag("<cylinder>")]
    | Annotated[CandidateRegulators, Tag("<regulator>")]
    | Annotated[CandidateDevices, Tag("<device>")]
    | Annotated[CandidateConcentrators, Tag("<concentrator>")]
    | Annotated[CandidatePeople, Tag("<people>")],
    begins_with("cylinder", "regulator", "device", "concentrator", "people"),
]


class GoalLine(Written):
    """What the caches should achieve for one category."""

    category: Annotated[Category, Field(description="Triage category.")]
    coverage: Annotated[Share | None, Field(description="Least mean coverage of all incidents, such as 99 %.")] = None
    without_oxygen: Annotated[
        Delay | None, Field(description="Most patient-minutes without oxygen in an incident, such as 60 min.")
    ] = None
    worst: Annotated[
        Share | None,
        Field(description="Share of incidents in whose mean these minutes hold, such as 5 %: the worst; else all."),
    ] = None

    @model_validator(mode="after")
    def _one_of_both(self) -> Self:
        if (self.coverage is None) == (self.without_oxygen is None):
            raise Wrong("needs either 'coverage' or 'without oxygen'", "Write two goals where both are wanted.")
        if self.coverage is not None and self.worst is not None:
            raise Wrong("'worst' is about minutes without oxygen", "Remove it, or write 'without oxygen'.")
        if self.worst == 0:
            raise Wrong("the worst 0 % are no incidents", "Write a share above 0, such as 5 %, or leave 'worst' out.")
        return self


class RuleLine(Written):
    """A packing list that is compared."""

    rule: Annotated[Text, Field(description="Name of the packing list, used once.")]
    packs: Annotated[
        dict[Text, dict[Text, Packs]],
        Field(description="Per cache, packs of candidates: all that is in it.", min_length=1),
    ]


class StockingPart(Written):
    """Caches, what they may be filled with, and what for."""

    money: Annotated[Text, Field(description="Sign or word of the currency, shown behind figures.")] = "units of money"
    years: Annotated[Rate | None, Field(description="Over how many years what is kept is paid for; else 1.")] = None
    budget: Annotated[Number | None, Field(description="Most that may be spent in these years; else no limit.")] = None
    caches: Annotated[list[CacheLine], Field(description="Trailers, cupboards or vehicles kept filled.", min_length=1)]
    candidates: Annotated[
        list[CandidateLine], Field(description="What may be packed, what it costs and takes.", min_length=1)
    ]
    goals: Annotated[list[GoalLine], Field(default_factory=list, description="What the caches should achieve.")]
    rules_of_thumb: Annotated[
        list[RuleLine], Field(default_factory=list, description="Packing lists that are compared.")
    ]
