"""The scenario as the planner writes it: the top of the file and the planner's own kinds of thing."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import AfterValidator, ConfigDict, Field, Tag, ValidationInfo, model_validator
from pydantic_core import PydanticCustomError

from mci.scenario.fields import (
    AreaName,
    Category,
    ClockTime,
    Content,
    CountOrUnlimited,
    CylinderName,
    Date,
    DeviceName,
    Duration,
    Flow,
    FullPressure,
    GasModelName,
    Moment,
    Number,
    Power,
    PowerOrUnlimited,
    Pressure,
    PressureUnit,
    Prose,
    RegulatorName,
    Share,
    Temperature,
    Text,
    Volume,
)
from mci.scenario.known import Known, Wrong
from mci.scenario.schema_exercise import ExercisePart
from mci.scenario.schema_network import NetworkPart
from mci.scenario.schema_outlets import OutletNumbers
from mci.scenario.schema_patients import PatientsLine
from mci.scenario.schema_stocking import StockingPart
from mci.scenario.schema_supplies import Delivery, Devices, Regulators, SupplyLine
from mci.scenario.schema_uncertain import UncertainLine
from mci.scenario.written import Written, begins_with

__all__ = ["CylinderKind", "Incident", "LadderKind", "MachineKind", "RegulatorKind", "ResupplySize", "ScenarioFile"]


class Incident(Written):
    """What happened, when, and how far ahead to plan."""

    name: Annotated[Text, Field(description="Short name of the incident.")]
    summary: Annotated[Prose, Field(description="A sentence or two on what happened.")] = ""
    start: Annotated[ClockTime | None, Field(description="Clock time of T+0, such as 14:35.")] = None
    horizon: Annotated[Duration, Field(description="Length of the plan, such as 4 h.")]
    inspection_date: Annotated[
        Date | None, Field(description="Day on which hydrostatic test dates are judged, such as 2026-05-01.")
    ] = None
    pressures_in: Annotated[
        PressureUnit, Field(description="Unit in which pressures are written: psi or bar; without it psi.")
    ] = "psi"

    @model_validator(mode="after")
    def _bounded(self) -> Self:
        if self.horizon > 14 * 1440:
            raise Wrong("the horizon is longer than 14 days")
        return self


class _Rung(Written):
    device: Annotated[DeviceName, Field(description="Delivery device.")]
    credit: Annotated[Share, Field(description="Share of the need that it meets, 0 to 1: a planning assumption.")]


class FlowRung(_Rung):
    """A device on which the oxygen flow itself is set."""

    flow: Annotated[Flow, Field(description="Oxygen flow, such as 15 L/min.")]


class BlendedRung(_Rung):
    """A device that blends oxygen with air."""

    total_flow: Annotated[Flow, Field(description="Total flow of the blend, such as 40 L/min.")]
    fio2: Annotated[Share, Field(description="Inspired oxygen fraction, 0.21 to 1.")]


class VentilatorRung(_Rung):
    """A ventilator."""

    minute_volume: Annotated[Flow, Field(description="Minute volume, such as 8 L/min.")]
    fio2: Annotated[Share, Field(description="Inspired oxygen fraction, 0.21 to 1.")]


class LadderKind(Written):
    """The planner's own ladder: therapy options from the prescribed one down."""

    title: Annotated[Text, Field(description="What kind of need it meets.")]
    source: Annotated[Text, Field(description="Where it comes from, or who approved it.")] = "the planner's own ladder"
    rungs: Annotated[
        list[
            Annotated[
                Annotated[FlowRung, Tag("<flow>")]
                | Annotated[BlendedRung, Tag("<total flow>")]
                | Annotated[VentilatorRung, Tag("<minute volume>")],
                begins_with("flow", "total flow", "minute volume"),
            ]
        ],
        Field(description="Device, what is set on it, and credit; from the best down.", min_length=1),
    ]

    @model_validator(mode="after")
    def _falls(self) -> Self:
        credits_ = [rung.credit for rung in self.rungs]
        if credits_ != sorted(credits_, reverse=True):
            raise Wrong("credits must fall and never rise down the ladder", "Put the rungs in order.")
        if credits_[-1] == 0:
            raise Wrong("a credit of 0 is no therapy option", "Remove the rung; being without oxygen needs none.")
        return self


class RegulatorKind(OutletNumbers):
    """The planner's own regulator or manifold."""

    fits: Annotated[list[Text], Field(description="Valves that it fits, such as [pin index].", min_length=1)]
    source: Annotated[Text, Field(description="Where the numbers come from.")] = "the planner's own"


class MachineKind(OutletNumbers):
    """The planner's own concentrator or plant."""

    power: Annotated[Power, Field(description="Electrical power in use, such as 350 W.")]
    connect: Annotated[Duration | None, Field(description="Time of one person to connect it; without it none.")] = None
    source: Annotated[Text, Field(description="Where the numbers come from.")] = "the planner's own"


class CylinderKind(Written):
    """The planner's own kind of cylinder."""

    content: Annotated[Content, Field(description="Content when full, free gas, such as 680 L.")]
    full_pressure: Annotated[FullPressure, Field(description="Gauge pressure when full, such as 2015 psi.")]
    reference: Annotated[Temperature, Field(description="Temperature to which content and pressure refer, 21.1 C.")]
    valve: Annotated[Text, Field(description="What a regulator must fit, such as pin index.")]
    water_volume: Annotated[Content | None, Field(description="Water volume, for the real-gas model.")] = None
    gas_model: Annotated[GasModelName, Field(description="'rated content' or 'real gas'.")] = "rated content"
    change: Annotated[Duration, Field(description="Time of one person to change one, such as 2 min.")]
    source: Annotated[Text, Field(description="Where the numbers come from.")] = "the planner's own"

    @model_validator(mode="after")
    def _reckonable(self) -> Self:
        if self.gas_model == "published factor" or (self.gas_model == "real gas" and self.water_volume is None):
            raise Wrong("this gas model lacks its number", "Use rated content, or real gas with a water volume.")
        return self


class StaffLine(Written):
    """People who connect and change cylinders."""

    people: Annotated[CountOrUnlimited, Field(description="Number of people, or unlimited.")]
    area: Annotated[AreaName, Field(description="Key of the area where they work.")]
    from_: Annotated[Moment | None, Field(description="Moment from which; without it from the start.")] = None
    until: Annotated[Moment | None, Field(description="Moment until which; without it to the end.")] = None


class PowerLine(Written):
    """Electrical power for concentrators and plants."""

    power: Annotated[PowerOrUnlimited, Field(description="Electrical power, such as 6 kW, or unlimited.")]
    area: Annotated[AreaName, Field(description="Key of the area.")]
    from_: Annotated[Moment | None, Field(description="Moment from which; without it from the start.")] = None
    until: Annotated[Moment | None, Field(description="Moment until which; without it to the end.")] = None


class ResupplySize(Written):
    """The size in which more oxygen is counted."""

    cylinder: Annotated[CylinderName, Field(description="Kind of cylinder that would be sent, full.")]
    regulator: Annotated[
        RegulatorName | None, Field(description="Regulator sent with each; not for an integral valve.")
    ] = None


def _somebody(lines: list[PatientsLine], info: ValidationInfo) -> list[PatientsLine]:
    """Refuse a scenario without patients, unless casualties in a few lines stand for them."""
    if lines or not isinstance(info.context, Known):
        return lines
    if "patients" in info.context.sections:
        raise PydanticCustomError("too_short", "must not be empty")
    if not info.context.drawn:
        raise PydanticCustomError("missing", "is missing")
    return lines


class ScenarioFile(Written):
    """One incident."""

    model_config = ConfigDict(
        json_schema_extra={"anyOf": [{"required": ["patients"]}, {"required": ["exercise"]}]},
    )

    incident: Annotated[Incident, Field(description="What happened, when, and how far ahead to plan.")]
    areas: Annotated[
        dict[Text, Text], Field(description="Treatment areas, wards or portals: a short key and a title.", min_length=1)
    ]
    ladders: Annotated[dict[Text, LadderKind], Field(default_factory=dict, description="Ladders of your own, by name.")]
    regulator_kinds: Annotated[
        dict[Text, RegulatorKind],
        Field(default_factory=dict, description="Regulators and manifolds of your own, by name."),
    ]
    machine_kinds: Annotated[
        dict[Text, MachineKind],
        Field(default_factory=dict, description="Concentrators and plants of your own, by name."),
    ]
    cylinder_kinds: Annotated[
        dict[Text, CylinderKind], Field(default_factory=dict, description="Cylinders of your own, by name.")
    ]
    weights: Annotated[
        dict[Category, Number], Field(default_factory=dict, description="Weight of each triage category, 0 or more.")
    ]
    patients: Annotated[
        list[PatientsLine],
        AfterValidator(_somebody),
        Field(default_factory=list, validate_default=True, description="Patients, batches and rosters."),
    ]
    supplies: Annotated[
        list[SupplyLine], Field(default_factory=list, description="Oxygen that is there from the start.")
    ]
    regulators: Annotated[
        list[Regulators], Field(default_factory=list, description="Regulators and manifolds, by area.")
    ]
    devices: Annotated[list[Devices], Field(description="Delivery devices, by area.")]
    staff: Annotated[
        list[StaffLine], Field(default_factory=list, description="People who connect and change cylinders, by area.")
    ]
    power: Annotated[list[PowerLine], Field(default_factory=list, description="Electrical power, by area.")]
    deliveries: Annotated[list[Delivery], Field(default_factory=list, description="Deliveries that are known to come.")]
    reserve: Annotated[
        dict[AreaName, Volume],
        Field(default_factory=dict, description="Usable litres that must be left at the end, per area."),
    ]
    residual: Annotated[
        Pressure | None, Field(description="Pressure at which cylinders are taken out of use, such as 200 psi.")
    ] = None
    in_service_minimum: Annotated[
        Pressure | None, Field(description="Least pressure at which a cylinder enters service, such as 500 psi.")
    ] = None
    resupply: Annotated[ResupplySize, Field(description="The cylinder in which the resupply timeline counts.")]
    network: Annotated[
        NetworkPart | None, Field(description="Places, roads and vehicles from which more can come.")
    ] = None
    stocking: Annotated[
        StockingPart | None, Field(description="Caches that may be filled, with what and for what.")
    ] = None
    exercise: Annotated[
        ExercisePart | None, Field(description="What makes it an exercise, to be drawn or debriefed.")
    ] = None
    uncertain: Annotated[
        list[UncertainLine],
        Field(default_factory=list, description="Numbers that are not known for sure; all else plans as written."),
    ]
