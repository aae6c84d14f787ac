"""What the page of an inspection says, as words in frozen records: the one source of HTML page and terminal."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["CylinderLine", "EquipmentLine", "FixLine", "InspectionBody", "SoonLine"]


@dataclass(frozen=True, slots=True)
class FixLine:
    """One thing to mend: its rank, what it is and where, what is wrong, what to do, and what that brings back."""

    rank: str
    items: str
    where: str
    wrong: str
    mend: str
    litres: str
    minutes: str


@dataclass(frozen=True, slots=True)
class CylinderLine:
    """One cylinder; ``why`` where it is not fit."""

    serial: str
    kind: str
    where: str
    gauge: str
    tested: str
    due: str
    litres: str
    why: str


@dataclass(frozen=True, slots=True)
class EquipmentLine:
    """Regulators, manifolds or devices of one row; ``why`` where they are not fit."""

    item: str
    count: str
    where: str
    outlets: str
    expiry: str
    why: str


@dataclass(frozen=True, slots=True)
class SoonLine:
    """Something that is due soon."""

    name: str
    what: str
    due: str
    days: str
    where: str


@dataclass(frozen=True, slots=True)
class InspectionBody:
    """What only the page of an inspection has.

    Parameters
    ----------
    rule
        By what the things to mend are ranked.
    total
        What all of them bring back together.
    no_equipment
        A sentence where no equipment was listed, else empty.
    """

    fixes: tuple[FixLine, ...]
    rule: str
    total: str
    unfit: tuple[CylinderLine, ...]
    fit: tuple[CylinderLine, ...]
    unfit_equipment: tuple[EquipmentLine, ...]
    fit_equipment: tuple[EquipmentLine, ...]
    no_equipment: str
    soon: tuple[SoonLine, ...]
    soon_title: str
