"""The network as the planner writes it: places, roads and vehicles, and what stands ready."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Any, Self

from pydantic import AfterValidator, Field, Tag, ValidatorFunctionWrapHandler, WrapValidator, model_validator

from mci.scenario.fields import (
    AreaName,
    ClockTime,
    Content,
    Count,
    CylinderName,
    DeviceName,
    Duration,
    Mass,
    Moment,
    PlaceName,
    Rate,
    RegulatorName,
    Text,
)
from mci.scenario.known import Wrong
from mci.scenario.schema_supplies import CylinderLine
from mci.scenario.written import Written, begins_with

__all__ = [
    "DailyHours",
    "Depot",
    "FillStation",
    "Junction",
    "NetworkPart",
    "Path",
    "PlaceLine",
    "Porters",
    "Road",
    "RoadLine",
    "Span",
    "Staging",
    "StockCylinders",
    "StockDevices",
    "StockEmpties",
    "StockLine",
    "StockRegulators",
    "Supplier",
    "Truck",
    "VehicleLine",
]


class Span(Written):
    """A stretch of time."""

    from_: Annotated[Moment | None, Field(description="Moment from which; without it from the start.")] = None
    until: Annotated[Moment | None, Field(description="Moment until which; without it to the end.")] = None

    @model_validator(mode="after")
    def _lasts(self) -> Self:
        if self.from_ is None and self.until is None:
            raise Wrong("needs 'from', 'until' or both")
        _ends_after_it_begins(self.from_, self.until)
        return self


def _ends_after_it_begins(start: float | None, end: float | None) -> None:
    if end is not None and end <= (start or 0.0):
        raise Wrong("ends before it begins", "Let 'until' be later than 'from'.")


def _apart(spans: list[Span]) -> list[Span]:
    in_order = sorted(spans, key=lambda span: span.from_ or 0.0)
    for one, other in pairwise(in_order):
        if one.until is None or one.until > (other.from_ or 0.0):
            raise Wrong("two of these times overlap", "Write each stretch of time once.")
    return in_order


Spans = Annotated[list[Span], Field(min_length=1), AfterValidator(_apart)]


def _named_once(value: Any, read: ValidatorFunctionWrapHandler) -> Any:
    found = read(value)
    if len(found) < len(value):  # two names of one kind, such as US E and US E aluminium
        raise Wrong("names a kind of cylinder twice", "Write each kind once.")
    return found


NamedOnce = WrapValidator(_named_once)


class DailyHours(Written):
    """The same hours every day; they may go past midnight."""

    from_: Annotated[ClockTime, Field(description="Clock time at which it opens, such as 06:00.")]
    until: Annotated[ClockTime, Field(description="Clock time at which it closes, such as 20:00.")]

    @model_validator(mode="after")
    def _lasts(self) -> Self:
        if self.from_ == self.until:
            raise Wrong("opens and closes at the same time", "Remove the line where it is always open.")
        return self


class _Place(Written):
    title: Annotated[Text | None, Field(description="What it is called; without it the key.")] = None


class _Open(_Place):
    open: Annotated[
        Spans | None, Field(description="When it can be used, such as [{from: T+0, until: T+600}]; without it always.")
    ] = None
    open_daily: Annotated[
        DailyHours | None, Field(description="The same hours every day, such as {from: 06:00, until: 20:00}.")
    ] = None

    @model_validator(mode="after")
    def _once(self) -> Self:
        if self.open is not None and self.open_daily is not None:
            raise Wrong("has both 'open' and 'open daily'", "Keep one of the two.")
        return self


class Depot(_Open):
    """A store that gives what it has."""

    depot: Annotated[Text, Field(description="Short key of the place, used once.")]


class Supplier(_Open):
    """Somebody who gives what was asked for, some time after the request."""

    supplier: Annotated[Text, Field(description="Short key of the place, used once.")]
    lead: Annotated[Duration, Field(description="Time from the request to when its stock is ready, such as 3 h.")]


class FillStation(_Open):
    """A place that fills cylinders by the rules of licensed practice."""

    fill_station: Annotated[Text, Field(description="Short key of the place, used once.")]
    fills: Annotated[
        list[CylinderName], Field(description="Kinds of cylinder, such as [US E aluminium].", min_length=1)
    ]
    per_hour: Annotated[Rate | None, Field(description="Cylinders that it fills in an hour.")] = None
    litres_per_hour: Annotated[
        Content | None, Field(description="Free gas that it fills in an hour, such as 40000 L.")
    ] = None

    @model_validator(mode="after")
    def _rated(self) -> Self:
        if self.per_hour is None and self.litres_per_hour is None:
            raise Wrong("does not say how fast it fills", "Give 'per hour', 'litres per hour' or both.")
        return self


class Staging(_Open):
    """A place where things are put down and taken on."""

    staging: Annotated[Text, Field(description="Short key of the place, used once.")]


class Junction(_Place):
    """A place where roads meet and nothing is loaded."""

    junction: Annotated[Text, Field(description="Short key of the place, used once.")]


PlaceLine = Annotated[
    Annotated[Depot, Tag("<depot>")]
    | Annotated[Supplier, Tag("<supplier>")]
    | Annotated[FillStation, Tag("<fill station>")]
    | Annotated[Staging, Tag("<staging>")]
    | Annotated[Junction, Tag("<junction>")],
    begins_with("depot", "supplier", "fill station", "staging", "junction"),
]


class _Way(Written):
    between: Annotated[
        list[PlaceName] | None,
        Field(description="Two places, where it goes both ways.", min_length=2, max_length=2),
    ] = None
    from_: Annotated[PlaceName | None, Field(description="Where it begins, if it goes one way only.")] = None
    to: Annotated[PlaceName | None, Field(description="Where it ends, if it goes one way only.")] = None
    closed: Annotated[
        Spans | None, Field(description="When nobody may be on it, such as [{from: T+60, until: T+120}].")
    ] = None

    @model_validator(mode="after")
    def _leads_somewhere(self) -> Self:
        one_way = [place for place in (self.from_, self.to) if place is not None]
        if bool(one_way) == (self.between is not None) or len(one_way) == 1:
            raise Wrong("needs either 'between' or 'from' and 'to'", "Such as between: [depot, north].")
        if len(set(self.between or one_way)) == 1:
            raise Wrong("begins and ends at the same place", "Name two places.")
        return self

    @property
    def ends(self) -> list[tuple[str, str]]:
        """The ways that it can be gone, each from where to where."""
        if self.between is not None:
            one, other = self.between
            return [(one, other), (other, one)]
        return [(self.from_ or "", self.to or "")]


class Road(_Way):
    """A road for vehicles."""

    road: Annotated[Text, Field(description="Name of the road, used once.")]
    drive: Annotated[Duration, Field(description="Time to drive it, such as 35 min.")]


class Path(_Way):
    """A path on which people carry things."""

    path: Annotated[Text, Field(description="Name of the path, used once.")]
    walk: Annotated[Duration, Field(description="Time to walk it with what is carried, such as 12 min.")]


RoadLine = Annotated[
    Annotated[Road, Tag("<road>")] | Annotated[Path, Tag("<path>")],
    begins_with("road", "path"),
]


class _Carrier(Written):
    at: Annotated[PlaceName, Field(description="Place where it is at first.")]
    slots: Annotated[
        dict[CylinderName, Count],
        NamedOnce,
        Field(description="How many cylinders of each kind it takes, full or empty.", min_length=1),
    ]
    payload: Annotated[Mass | None, Field(description="The most it carries, such as 900 kg; without it no limit.")] = (
        None
    )
    crew: Annotated[Count, Field(description="People who go with it.")]
    loading: Annotated[Duration, Field(description="Time to load at one stop, such as 10 min.")]
    unloading: Annotated[Duration, Field(description="Time to unload at one stop, such as 10 min.")]
    from_: Annotated[Moment | None, Field(description="Moment from which; without it from the start.")] = None
    until: Annotated[Moment | None, Field(description="Moment by which its last stop is over.")] = None

    @model_validator(mode="after")
    def _lasts(self) -> Self:
        _ends_after_it_begins(self.from_, self.until)
        return self


class Truck(_Carrier):
    """A vehicle that takes roads."""

    vehicle: Annotated[Text, Field(description="Name of the vehicle, used once.")]


class Porters(_Carrier):
    """People who carry things on foot, by hand or with a trolley; they take paths."""

    porters: Annotated[Text, Field(description="Name of the people or the trolley, used once.")]


VehicleLine = Annotated[
    Annotated[Truck, Tag("<vehicle>")] | Annotated[Porters, Tag("<porters>")],
    begins_with("vehicle", "porters"),
]


class _Ready(Written):
    at: Annotated[PlaceName, Field(description="Place where it is.")]
    ready: Annotated[Moment | None, Field(description="Moment from which it can be loaded; without it at once.")] = None


class StockCylinders(CylinderLine, _Ready):
    """Cylinders of one kind and pressure that may be carried."""


class StockEmpties(_Ready):
    """Empty cylinders that may be filled."""

    empty: Annotated[CylinderName, Field(description="Kind of cylinder: region, letter, variant.")]
    count: Annotated[Count, Field(description="Number of cylinders.")]


class StockRegulators(_Ready):
    """Regulators or manifolds that may be carried."""

    regulator: Annotated[RegulatorName, Field(description="Kind of regulator or manifold.")]
    count: Annotated[Count, Field(description="Number of them.")]


class StockDevices(_Ready):
    """Delivery devices that may be carried."""

    device: Annotated[DeviceName, Field(description="Kind of delivery device.")]
    count: Annotated[Count, Field(description="Number of them.")]


StockLine = Annotated[
    Annotated[StockCylinders, Tag("<cylinder>")]
    | Annotated[StockEmpties, Tag("<empty>")]
    | Annotated[StockRegulators, Tag("<regulator>")]
    | Annotated[StockDevices, Tag("<device>")],
    begins_with("cylinder", "empty", "regulator", "device"),
]


class NetworkPart(Written):
    """Everything from which more can come, and the ways it takes."""

    places: Annotated[
        list[PlaceLine],
        Field(default_factory=list, description="Depots, suppliers, fill stations, staging places and junctions."),
    ]
    roads: Annotated[list[RoadLine], Field(description="Roads and paths between places and areas.", min_length=1)]
    vehicles: Annotated[list[VehicleLine], Field(description="Vehicles, and people on foot.", min_length=1)]
    stock: Annotated[list[StockLine], Field(default_factory=list, description="What may be carried, and where it is.")]
    crews: Annotated[Count | None, Field(description="Most people under way at once; without it no limit.")] = None
    lends: Annotated[
        list[AreaName],
        Field(default_factory=list, description="Areas whose own unused supplies may be carried elsewhere."),
    ]
    cylinder_masses: Annotated[
        dict[CylinderName, Mass],
        NamedOnce,
        Field(default_factory=dict, description="What a full one weighs, such as 16 kg; else as in the catalogue."),
    ]
