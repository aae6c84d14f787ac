"""What a cache may be filled with, what that costs and takes, where caches may stand, and what they should achieve.

Part of a scenario only where the planner wrote a section ``stocking:``.  The areas' own supplies stay what they are; a
cache comes on top of them, as soon as it gets there.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from mci.catalogue.model import OutletSet
    from mci.scenario.model import Lot

__all__ = ["Cache", "Candidate", "CandidateKind", "Goal", "RuleOfThumb", "Station", "Stocking"]


class CandidateKind(StrEnum):
    """Kinds of thing that a cache may hold."""

    CYLINDER = "cylinder"
    MACHINE = "machine"
    REGULATOR = "regulator"
    DEVICE = "device"
    STAFF = "staff"


@dataclass(frozen=True, slots=True)
class Candidate:
    """Something that may be packed, in whole packs.

    Parameters
    ----------
    key
        Its name, used once.
    units
        How many are in one pack.
    lot
        One unit as a source of gas, at no place yet (cylinders and machines only).
    outlets
        Of one unit (regulators and manifolds only).
    device
        Key of the delivery device (devices only).
    buy, yearly
        What a pack costs at once, and to keep a year (rental, tests, refills, replacement) [money].
    mass_kg, volume_l
        Of a pack [kg, L].
    slot, slots
        The kind of slot that a pack needs, and how many of them; an empty name and 0 where it needs none.
    bag
        The bag or shelf where it is packed.
    at_most
        The most packs in one cache.
    """

    key: str
    kind: CandidateKind
    units: int
    lot: Lot | None
    outlets: OutletSet | None
    device: str
    buy: float
    yearly: float
    mass_kg: float
    volume_l: float
    slot: str
    slots: float
    bag: str
    at_most: int


@dataclass(frozen=True, slots=True)
class Station:
    """A place where a cache may stand.

    Parameters
    ----------
    place
        Key of a place of the network, or a name of the planner's own.
    yearly
        What it costs a year to keep a cache there [money].
    sets_off
        Time from T+0 until the cache is on the road [min].
    reaches
        Per area, minutes on the road; where the planner gave none, the roads of the network say it.
    """

    place: str
    yearly: float
    sets_off: float
    reaches: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Cache:
    """A trailer, cupboard or vehicle that is kept filled.

    Parameters
    ----------
    stations
        Where it may stand; one is chosen.
    payload_kg, volume_l, gas_l
        The most that it may carry [kg], hold [L] and store of oxygen [L of free gas]; ``inf`` where there is no limit.
    slots
        Per kind of slot, how many there are.
    owned
        Per candidate, packs that it holds already and keeps.
    """

    key: str
    stations: tuple[Station, ...]
    payload_kg: float
    volume_l: float
    gas_l: float
    slots: Mapping[str, float]
    owned: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Goal:
    """What the caches should achieve; either a share of coverage or patient-minutes without oxygen.

    Parameters
    ----------
    category
        Triage category.
    coverage
        The least mean coverage over all incidents, 0 to 1; ``None`` where the goal is about minutes.
    without_min
        The most patient-minutes without oxygen, in the mean of the worst incidents [min]; ``None`` likewise.
    worst
        Which share of incidents these are, above 0 up to 1 (then all of them).
    """

    category: str
    coverage: float | None = None
    without_min: float | None = None
    worst: float = 1.0


@dataclass(frozen=True, slots=True)
class RuleOfThumb:
    """A packing list that the planner wants compared: per cache, packs of candidates."""

    key: str
    packs: Mapping[str, Mapping[str, int]]


@dataclass(frozen=True, slots=True)
class Stocking:
    """Everything about the caches.

    Parameters
    ----------
    money
        Sign or word of the currency.
    years
        Over how many years the cost of keeping is counted.
    budget
        The most that may be spent over those years [money]; ``inf`` where there is no limit.
    """

    money: str
    years: float
    budget: float
    caches: tuple[Cache, ...]
    candidates: tuple[Candidate, ...]
    goals: tuple[Goal, ...]
    rules: tuple[RuleOfThumb, ...]
