"""What a cache may be filled with, what that costs and takes, where caches may stand, and what they should achieve.

Part of a scenario only where the planner wrote a section ``stocking:``.  The areas' own supplies stay what they are; a
cache comes on top of them, as soon as it gets there.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from mci.catalogue.model import GasModel
from mci.catalogue.usable import usable_litres
from mci.units import format_litres

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from mci.catalogue.model import OutletSet
    from mci.scenario.model import Lot

__all__ = ["Cache", "Candidate", "CandidateKind", "Goal", "Limit", "RuleOfThumb", "Station", "Stocking"]


#: Sums of masses and volumes in other units differ from their limit in the last digits.
_ROUNDING = 1 + 1e-9


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
        How many are in one pack; of staff, how many people.
    lot
        One unit as a source of gas, at no place yet (cylinders and machines only): no key, no area, from the start.
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
        The bag or shelf where it is packed; empty where the planner did not say.
    at_most
        The most packs in one cache, those that it holds already among them.
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

    @property
    def gas_l(self) -> float:
        """Oxygen stored in a pack [L of free gas]: all in its cylinders, also below the residual, by rated content.

        A published factor errs on the low side for a plan, and so on the wrong one for a limit to what is stored.
        """
        lot = self.lot
        if lot is None or lot.cylinder is None or lot.gauge_psi is None:
            return 0.0
        return self.units * usable_litres(lot.cylinder, lot.gauge_psi, 0.0, lot.temperature_c, GasModel.RATED)


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
        Per area, minutes on the road; empty where the planner gave none: then the roads of the network say it, and
        a cache may go to every area to which they lead (:func:`mci.scenario.cache_reach.arrivals` tells both).
    """

    place: str
    yearly: float
    sets_off: float
    reaches: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Limit:
    """Something that limits what a cache holds.

    Parameters
    ----------
    takes
        How much of it a pack of a candidate takes.
    allowed
        How much there is; ``inf`` where there is no limit.
    """

    name: str
    unit: str
    takes: Callable[[Candidate], float]
    allowed: float


def _slots_of(slot: str) -> Callable[[Candidate], float]:
    return lambda candidate: candidate.slots if candidate.slot == slot else 0.0


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
        Per kind of slot that a candidate needs, how many there are: ``inf`` where the planner wrote nothing about
        slots of this cache, 0 of a kind that is not among those written.
    owned
        Per candidate, packs that it holds already and keeps; no more than ``at_most`` and within every limit.
    """

    key: str
    stations: tuple[Station, ...]
    payload_kg: float
    volume_l: float
    gas_l: float
    slots: Mapping[str, float]
    owned: Mapping[str, int]

    @property
    def limits(self) -> tuple[Limit, ...]:
        """Everything that limits what it holds, infinite limits too."""
        return (
            Limit("payload", "kg", lambda candidate: candidate.mass_kg, self.payload_kg),
            Limit("volume", "L", lambda candidate: candidate.volume_l, self.volume_l),
            Limit("oxygen stored", "L of free gas", lambda candidate: candidate.gas_l, self.gas_l),
            *(Limit(f"slots: {slot}", "slots", _slots_of(slot), there) for slot, there in self.slots.items()),
        )

    def beyond(self, packs: Mapping[str, int], candidates: Mapping[str, Candidate]) -> Iterator[str]:
        """Yield in words every limit that packs of candidates go beyond."""
        held = [(candidates[key], count) for key, count in packs.items()]
        mass = sum(candidate.mass_kg * count for candidate, count in held)
        volume = sum(candidate.volume_l * count for candidate, count in held)
        gas = sum(candidate.gas_l * count for candidate, count in held)
        if mass > self.payload_kg * _ROUNDING:
            yield f"{mass:.1f} kg, and its payload is {self.payload_kg:.1f} kg"
        if volume > self.volume_l * _ROUNDING:
            yield f"{volume:.1f} L of room, and it has {self.volume_l:.1f} L"
        if gas > self.gas_l * _ROUNDING:
            yield f"{format_litres(gas)} of oxygen, and {format_litres(self.gas_l)} may be kept in it"
        for slot, there in self.slots.items():
            taken = sum(candidate.slots * count for candidate, count in held if candidate.slot == slot)
            if taken > there * _ROUNDING:
                yield f"{taken:g} slots of the kind '{slot}', and it has {there:g}"


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
    """A packing list that the planner wants compared.

    Parameters
    ----------
    packs
        Per cache (every one of them), all packs that are in it, with what it holds already; candidates of which there
        are none are not named.  Limits of the cache do not bind here: a list that goes beyond them is a doubt.
    """

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
