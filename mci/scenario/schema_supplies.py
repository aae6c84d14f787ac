"""Supplies as the planner writes them: cylinders, inventories, machines, piped outlets, liquid vessels, deliveries."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import Field, Tag, model_validator

from mci.scenario.fields import (
    AreaName,
    Contents,
    Count,
    CountOrUnlimited,
    CylinderName,
    DateOrNotAsked,
    DeviceName,
    Duration,
    FileName,
    Flow,
    GasModelName,
    MachineName,
    Moment,
    Pressure,
    PressureOrFull,
    RegulatorName,
    Share,
    Stock,
    Temperature,
    Text,
    YesNo,
)
from mci.scenario.known import Wrong
from mci.scenario.schema_outlets import OutletNumbers
from mci.scenario.written import Written, begins_with

__all__ = [
    "Concentrators",
    "CylinderLine",
    "Cylinders",
    "Delivery",
    "Devices",
    "Inventory",
    "InventoryRow",
    "Liquid",
    "Piped",
    "Plant",
    "Regulators",
    "SupplyLine",
]

_AREA = "Key of the area where it is."
_FROM = "Moment from which it can be used; without it from the start."
_UNTIL = "Moment until which it can be used; without it to the end."
_GAS_MODEL = "How litres follow from the gauge: 'published factor', 'rated content' or 'real gas'."
_CHANGE = "Time of one person to bring one into service or change it, such as 2 min."


class _Placed(Written):
    area: Annotated[AreaName, Field(description=_AREA)]


class _Timed(_Placed):
    from_: Annotated[Moment | None, Field(description=_FROM)] = None
    until: Annotated[Moment | None, Field(description=_UNTIL)] = None

    @model_validator(mode="after")
    def _lasts(self) -> Self:
        if self.until is not None and self.until <= (self.from_ or 0.0):
            raise Wrong("ends before it begins", "Let 'until' be later than 'from'.")
        return self


class CylinderLine(Written):
    """Cylinders of one kind and pressure, wherever they are."""

    cylinder: Annotated[CylinderName, Field(description="Kind of cylinder: region, letter, variant.")]
    count: Annotated[Count, Field(description="Number of cylinders.")]
    pressure: Annotated[PressureOrFull, Field(description="Gauge pressure of each, such as 2000 psi, or full.")]
    residual: Annotated[
        Pressure | None, Field(description="Pressure at which they are taken out of use, such as 200 psi.")
    ] = None
    temperature: Annotated[
        Temperature | None,
        Field(description="Temperature of the cylinders when the gauge was read; without it the reference."),
    ] = None
    gas_model: Annotated[GasModelName | None, Field(description=_GAS_MODEL)] = None
    change: Annotated[Duration | None, Field(description=_CHANGE)] = None


class Cylinders(CylinderLine, _Placed):
    """Cylinders of one kind and pressure at one area."""


class _InventoryLine(Written):
    inventory: Annotated[FileName, Field(description="CSV or XLSX file beside the scenario, one cylinder a row.")]
    sheet: Annotated[Text | None, Field(description="Sheet of the XLSX file; without it the first.")] = None


class Inventory(_InventoryLine):
    """A file with one cylinder a row."""


class InventoryRow(_Placed):
    """One row of an inventory."""

    id: Annotated[Text, Field(description="Number on the cylinder, used once.")]
    cylinder: Annotated[CylinderName, Field(description="Kind of cylinder: region, letter, variant.")]
    pressure: Annotated[PressureOrFull, Field(description="Gauge pressure, such as 2000 psi.")]
    test_date: Annotated[
        DateOrNotAsked | None,
        Field(
            description="Last hydrostatic test, 2024-05-01 or 2024-05, or 'not asked' for a cylinder that is taken as "
            "fit, as those that are only counted are; without it the cylinder is left out."
        ),
    ] = None
    star: Annotated[YesNo, Field(description="'yes' where a star after the test date allows 10 years.")] = False
    temperature: Annotated[Temperature | None, Field(description="Temperature when the gauge was read.")] = None
    residual: Annotated[Pressure | None, Field(description="Pressure at which it is taken out of use.")] = None
    gas_model: Annotated[GasModelName | None, Field(description=_GAS_MODEL)] = None
    change: Annotated[Duration | None, Field(description=_CHANGE)] = None
    note: Annotated[Text | None, Field(description="Anything; not used.")] = None


class _ConcentratorLine(Written):
    concentrator: Annotated[MachineName, Field(description="Kind of concentrator.")]
    count: Annotated[Count, Field(description="Number of machines.")]
    change: Annotated[Duration | None, Field(description=_CHANGE)] = None


class Concentrators(_ConcentratorLine, _Timed):
    """Concentrators of one kind at one area; they need power."""


class Plant(_Timed):
    """An oxygen plant (PSA) that serves one area; it needs power."""

    plant: Annotated[MachineName, Field(description="Kind of plant.")]
    count: Annotated[Count, Field(description="Number of plants.")] = 1


class Piped(OutletNumbers, _Timed):
    """Piped outlets of a hospital or building; the gas behind them is not limited."""

    piped: Annotated[Text, Field(description="Name of the outlets.")]


class Liquid(OutletNumbers, _Timed):
    """A vessel of liquid oxygen."""

    liquid: Annotated[Text, Field(description="Name of the vessel.")]
    contents: Annotated[
        Contents, Field(description="What is in it: litres of liquid (31 L) or mass of oxygen (73 lb, 40 kg).")
    ]
    evaporation: Annotated[
        Flow, Field(description="Gas lost by evaporation, such as 0.5 L/min of gas; 0 where none is lost.")
    ]
    unusable: Annotated[Share | None, Field(description="Share of the contents that cannot be used, such as 10 %.")] = (
        None
    )
    count: Annotated[Count, Field(description="Number of such vessels.")] = 1


SupplyLine = Annotated[
    Annotated[Cylinders, Tag("<cylinder>")]
    | Annotated[Inventory, Tag("<inventory>")]
    | Annotated[Concentrators, Tag("<concentrator>")]
    | Annotated[Plant, Tag("<plant>")]
    | Annotated[Piped, Tag("<piped>")]
    | Annotated[Liquid, Tag("<liquid>")],
    begins_with("cylinder", "inventory", "concentrator", "plant", "piped", "liquid"),
]


class _RegulatorLine(Written):
    regulator: Annotated[RegulatorName, Field(description="Kind of regulator or manifold.")]
    count: Annotated[Count, Field(description="Number of them.")]


class Regulators(_RegulatorLine, _Placed):
    """Regulators or manifolds of one kind at one area."""


class _DeviceLine(Written):
    device: Annotated[DeviceName, Field(description="Kind of delivery device.")]


class Devices(_DeviceLine, _Placed):
    """Delivery devices of one kind at one area."""

    count: Annotated[Stock, Field(description="Number of them, 0 for none, or unlimited.")]


class BroughtCylinders(CylinderLine):
    """Cylinders that a delivery brings."""


class BroughtConcentrators(_ConcentratorLine):
    """Concentrators that a delivery brings."""


class BroughtRegulators(_RegulatorLine):
    """Regulators or manifolds that a delivery brings."""


class BroughtDevices(_DeviceLine):
    """Delivery devices that a delivery brings."""

    count: Annotated[CountOrUnlimited, Field(description="Number of them, or unlimited.")]


class Delivery(_Placed):
    """A delivery that is known to come."""

    delivery: Annotated[Text, Field(description="Name of the delivery, used once.")]
    at: Annotated[Moment, Field(description="Moment at which what it brings can be used, such as T+60.")]
    brings: Annotated[
        list[
            Annotated[
                Annotated[BroughtCylinders, Tag("<cylinder>")]
                | Annotated[BroughtConcentrators, Tag("<concentrator>")]
                | Annotated[BroughtRegulators, Tag("<regulator>")]
                | Annotated[BroughtDevices, Tag("<device>")],
                begins_with("cylinder", "concentrator", "regulator", "device"),
            ]
        ],
        Field(description="Lines of cylinders, concentrators, regulators and devices, without an area.", min_length=1),
    ]
