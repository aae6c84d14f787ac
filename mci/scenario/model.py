"""The scenario as the program uses it: frozen, checked, in canonical units, nothing optional left open.

The shape that a planner writes is :mod:`mci.scenario.schema`; the builder turns one
into the other.  Moments are minutes after the start of the incident, volumes litres of
free gas, flows L/min.  ``inf`` means no limit and is only ever there because the planner
wrote ``unlimited`` or because the thing has none (a concentrator's content).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from mci.catalogue.categories import CATEGORIES

if TYPE_CHECKING:
    import datetime
    from collections.abc import Mapping

    from mci.catalogue.model import Cylinder, GasModel, Ladder, OutletSet, Source
    from mci.scenario.exercise import Exercise, Inject, Objective
    from mci.scenario.network import Network
    from mci.scenario.stocking import Stocking
    from mci.scenario.uncertain import Uncertainty

__all__ = [
    "CATEGORIES",
    "Area",
    "Arrival",
    "Assumption",
    "DeviceStock",
    "LeftOut",
    "Lot",
    "LotKind",
    "Patients",
    "Pattern",
    "PowerSupply",
    "RegulatorStock",
    "Resupply",
    "Scenario",
    "Spell",
    "StaffShift",
    "Unit",
]


class Pattern(StrEnum):
    """How the patients of a batch arrive."""

    TOGETHER = "together"  # all at once
    EVEN = "even"  # evenly over the time given
    EARLY = "early"  # thinning out: exponential, cut at the time given
    WAVES = "waves"  # two waves: a first one in the first third, a second in the last third


@dataclass(frozen=True, slots=True)
class Arrival:
    """When the patients of a batch arrive.

    Parameters
    ----------
    at
        First moment [min].
    over
        Time over which they arrive [min]; 0 for ``TOGETHER``.
    step
        Arrivals are counted at steps of this length [min].
    """

    pattern: Pattern
    at: float
    over: float
    step: float

    @classmethod
    def together(cls, at: float) -> Arrival:
        """Return the arrival of all at one moment [min]."""
        return cls(Pattern.TOGETHER, at, 0.0, 1.0)


@dataclass(frozen=True, slots=True)
class Spell:
    """A stretch of a patient's course with the same area, category and ladder.

    ``after`` is when it begins [min after the patient's arrival]; the first is 0.
    """

    after: float
    area: str
    category: str
    ladder: str


@dataclass(frozen=True, slots=True)
class Patients:
    """One patient, or a batch of patients alike.

    They leave ``stay`` minutes after arrival, at the moment ``leave``, or at the end
    of the horizon, whichever comes first.  ``mechanism`` is the key of how they were hurt, for casualty cards; empty
    where nobody says.
    """

    label: str
    count: int
    arrival: Arrival
    stay: float
    leave: float
    course: tuple[Spell, ...]
    mechanism: str = ""


class LotKind(StrEnum):
    """Kinds of gas source."""

    CYLINDER = "cylinder"
    CONCENTRATOR = "concentrator"
    PLANT = "plant"
    PIPED = "piped outlet"
    LIQUID = "liquid vessel"


@dataclass(frozen=True, slots=True)
class Unit:
    """One identified cylinder of an inventory.

    ``tested`` is the day of its last hydrostatic test, ``None`` where the planner did not want that judged;
    ``star`` whether a star after it allows the longer interval.
    """

    id: str
    gauge_psi: float
    litres: float
    tested: datetime.date | None = None
    star: bool = False


@dataclass(frozen=True, slots=True)
class Lot:
    """Identical supplies at one place.

    Parameters
    ----------
    label
        Name for people, such as ``12 x US E aluminium at 2000 psi``.
    litres
        Usable litres of the whole lot at hand-over (above residual); ``inf`` for sources
        that make or are piped gas.
    litres_each
        The most that one unit of the lot holds [L].
    valve
        What a regulator must fit; empty where ``built_in`` serves the patients.
    built_in
        Outlets that come with each unit, or ``None`` where a regulator is needed.
    available_from, available_until
        When it may be drawn from [min].
    change_min
        Staff time to connect or change one unit [person-min].
    watts_each
        Electrical power of one unit in use [W].
    delivery
        Name of the delivery that brings it; empty for what is there already.
    gauge_psi, residual_psi, gas_model, temperature_c
        How the litres were reckoned (cylinders only); temperature is ``None`` when the
        gauge was taken as read at the reference temperature.
    units
        The single cylinders where the planner gave an inventory.
    """

    key: str
    label: str
    kind: LotKind
    area: str
    quantity: int
    litres: float
    litres_each: float
    valve: str
    built_in: OutletSet | None
    available_from: float
    available_until: float
    change_min: float
    watts_each: float
    delivery: str
    cylinder: Cylinder | None = None
    gauge_psi: float | None = None
    residual_psi: float | None = None
    gas_model: GasModel | None = None
    temperature_c: float | None = None
    units: tuple[Unit, ...] = ()


@dataclass(frozen=True, slots=True)
class RegulatorStock:
    """Regulators or manifolds of one kind at one area, from ``available_from`` to ``available_until`` [min]."""

    key: str
    area: str
    outlets: OutletSet
    quantity: int
    available_from: float
    delivery: str
    available_until: float = math.inf


@dataclass(frozen=True, slots=True)
class DeviceStock:
    """Delivery devices of one kind at one area; ``quantity`` may be ``inf``."""

    key: str
    area: str
    device: str
    quantity: float
    available_from: float
    delivery: str


@dataclass(frozen=True, slots=True)
class StaffShift:
    """People at one area who connect and change cylinders, between two moments."""

    key: str
    area: str
    people: float
    available_from: float
    available_until: float


@dataclass(frozen=True, slots=True)
class PowerSupply:
    """Electrical power at one area [W], between two moments."""

    key: str
    area: str
    watts: float
    available_from: float
    available_until: float


@dataclass(frozen=True, slots=True)
class Area:
    """A treatment area, ward or portal."""

    key: str
    title: str


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A supply that the planner listed and that is not counted, and why."""

    what: str
    area: str
    why: str


@dataclass(frozen=True, slots=True)
class Resupply:
    """What the resupply timeline counts in: full cylinders of one kind, each with a regulator of one kind.

    ``litres_each`` is usable above residual, ``outlets`` the regulator (or integral valve).
    """

    cylinder: Cylinder
    litres_each: float
    outlets: OutletSet


@dataclass(frozen=True, slots=True)
class Assumption:
    """One number or rule that the plan rests on, for the report."""

    what: str
    value: str
    source: Source


@dataclass(frozen=True, slots=True)
class Scenario:
    """One incident, ready to plan.

    Parameters
    ----------
    start
        Clock time of T+0 [min after midnight], or ``None``.
    horizon
        Length of the plan [min].
    weights
        Weight of each category that occurs.
    reserve
        Usable litres that must be left at the horizon, per area.
    sha256
        Hash over the scenario file and every file that it names.
    pressures_in_bar
        Whether the planner wants pressures written in bar, not in psi.
    in_service_psi
        Gauge below which no cylinder is brought into service [psi].
    network
        Places, roads and vehicles from which more can come; ``None`` where the planner wrote none.
    uncertainty
        Numbers that are not known for sure; all else plans with what is written.  ``None`` where there are none.
    stocking
        Caches that may be filled, with what and for what; ``None`` where the planner wrote none.
    exercise
        What makes it an exercise; ``None`` where it is none.
    """

    name: str
    summary: str
    start: int | None
    horizon: float
    areas: tuple[Area, ...]
    ladders: Mapping[str, Ladder]
    weights: Mapping[str, float]
    patients: tuple[Patients, ...]
    lots: tuple[Lot, ...]
    regulators: tuple[RegulatorStock, ...]
    devices: tuple[DeviceStock, ...]
    staff: tuple[StaffShift, ...]
    power: tuple[PowerSupply, ...]
    reserve: Mapping[str, float]
    resupply: Resupply
    left_out: tuple[LeftOut, ...]
    assumptions: tuple[Assumption, ...]
    file: str
    sha256: str
    pressures_in_bar: bool = False
    in_service_psi: float = 0.0
    network: Network | None = None
    uncertainty: Uncertainty | None = None
    stocking: Stocking | None = None
    exercise: Exercise | None = None

    @property
    def injects(self) -> tuple[Inject, ...]:
        """What happens unannounced; nothing where it is no exercise."""
        return self.exercise.injects if self.exercise is not None else ()

    @property
    def objectives(self) -> tuple[Objective, ...]:
        """What the planner wants shown; nothing where it is no exercise."""
        return self.exercise.objectives if self.exercise is not None else ()
