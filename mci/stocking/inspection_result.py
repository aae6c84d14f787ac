"""What an inspection of a cache finds, item by item."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from mci.catalogue.model import Cylinder, Device, OutletSet
    from mci.scenario.model import Assumption
    from mci.stocking.inspection_cover import Cover, Load
    from mci.stocking.inspection_file import Inventory, Listed

__all__ = ["CylinderItem", "EquipmentItem", "Fault", "FaultKind", "Fix", "Inspection", "Soon"]


class FaultKind(StrEnum):
    """What can keep an item out of service; those of gauge and test are also asked of scenarios."""

    LOW = "gauge too low"
    ABOVE_FULL = "gauge above full"
    NO_GAUGE = "gauge not read"
    NO_TEST = "no test date"
    TEST_AHEAD = "test date in the future"
    TEST_OVERDUE = "hydrostatic test overdue"
    NO_SIZE = "size not known"
    NO_SERIAL = "serial not read"
    TWICE = "serial used twice"
    WRONG_VALVE = "wrong valve"
    NO_REGULATOR = "no regulator fits"
    CONDITION = "condition"
    EXPIRED = "expired"
    NO_EXPIRY = "expiry date not read"


@dataclass(frozen=True, slots=True)
class Fault:
    """One reason why an item is not fit for service, and what mends it."""

    kind: FaultKind
    why: str
    mend: str


@dataclass(frozen=True, slots=True)
class CylinderItem:
    """One cylinder.

    Parameters
    ----------
    name
        Serial number, or the row where it was not read.
    cylinder
        Its kind; ``None`` where that is not known.
    gauge_psi
        [psi]; ``None`` where not read.
    valve
        Valve that a regulator must fit; empty where not known, or where outlets are built in.
    built_in
        Its own outlets.
    tested, due
        Last hydrostatic test, and the last day on which it counts.
    litres
        Usable now by its gauge, fit or not [L]; 0 where size or gauge is not known.
    litres_mended
        Usable at most once it is mended [L].
    """

    listed: Listed
    name: str
    area: str
    cylinder: Cylinder | None
    gauge_psi: float | None
    valve: str
    built_in: OutletSet | None
    tested: datetime.date | None
    due: datetime.date | None
    litres: float
    litres_mended: float
    faults: tuple[Fault, ...] = ()

    @property
    def kind(self) -> str:
        """What it is."""
        return self.cylinder.key if self.cylinder else "size not known"


@dataclass(frozen=True, slots=True)
class EquipmentItem:
    """Regulators, manifolds or delivery devices of one row: ``outlets`` of the former, ``device`` for the latter."""

    listed: Listed
    name: str
    area: str
    count: int
    expiry: datetime.date | None
    outlets: OutletSet | None
    device: Device | None
    faults: tuple[Fault, ...] = ()


@dataclass(frozen=True, slots=True)
class Fix:
    """One thing to mend, and what it brings back.

    Parameters
    ----------
    items
        What is mended, in words.
    faults, mend
        What is wrong, and what to do.
    where
        Rows of the files.
    litres
        At most brought back [L].
    minutes
        Cover of the load that it brings back by itself [min].
    patients
        Patients of the load who get an outlet at once because of it.
    count
        How many things are mended.
    """

    items: str
    faults: tuple[Fault, ...]
    mend: str
    where: tuple[Listed, ...]
    litres: float
    minutes: float
    patients: int
    count: int


@dataclass(frozen=True, slots=True)
class Soon:
    """Something that is due within the days asked for: a test, or the expiry of so many things."""

    listed: Listed
    name: str
    what: str
    due: datetime.date
    days: int


@dataclass(frozen=True, slots=True)
class Inspection:
    """Everything that an inspection found.

    Parameters
    ----------
    on
        Day on which dates are judged; ``is_today`` where nobody said which.
    soon_days
        How far ahead is looked.
    cylinders, equipment
        All items; ``equipment`` is ``None`` where none was listed.
    cover, cover_mended
        How long what is fit carries the load, and how long everything would once mended.
    fixes
        What to mend, first what helps most.
    """

    inventory: Inventory
    on: datetime.date
    is_today: bool
    soon_days: int
    metric: bool
    cylinders: tuple[CylinderItem, ...]
    equipment: tuple[EquipmentItem, ...] | None
    load: Load
    cover: Cover
    cover_mended: Cover
    fixes: tuple[Fix, ...]
    soon: tuple[Soon, ...]
    assumptions: tuple[Assumption, ...] = field(default=())

    @property
    def findings(self) -> tuple[tuple[CylinderItem | EquipmentItem, Fault], ...]:
        """Every fault with the item that has it, cylinders first."""
        items: tuple[CylinderItem | EquipmentItem, ...] = (*self.cylinders, *(self.equipment or ()))
        return tuple((item, fault) for item in items for fault in item.faults)

    @property
    def litres_fit(self) -> float:
        """Usable in cylinders that are fit for service [L]."""
        return sum(item.litres for item in self.cylinders if not item.faults)

    @property
    def litres_unfit(self) -> float:
        """In cylinders that are not fit, by their gauges [L]."""
        return sum(item.litres for item in self.cylinders if item.faults)
