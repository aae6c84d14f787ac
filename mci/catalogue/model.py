"""What the catalogue describes: cylinders, outlet sets, delivery devices, machines and ladders.

Plain frozen data in canonical units (see :mod:`mci.units`).  Each entry carries
the source of its numbers and how far that source was checked.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = [
    "Basis",
    "Catalogue",
    "Cylinder",
    "Device",
    "DrawRule",
    "GasModel",
    "Ladder",
    "Machine",
    "MachineKind",
    "OutletSet",
    "Rung",
    "Source",
]


class Basis(StrEnum):
    """How far a number is backed."""

    VERIFIED = "verified"
    MEMORY = "from memory"
    PRACTICE = "common practice, no source"
    ASSUMPTION = "assumption"


class GasModel(StrEnum):
    """The three ways from a gauge reading to litres of free gas (see :mod:`mci.physics.contents`)."""

    FACTOR = "published factor"
    RATED = "rated content"
    REAL_GAS = "real gas"


class DrawRule(StrEnum):
    """How the oxygen drawn from the supply follows from what is set on the device."""

    SET_FLOW = "set flow"  # the oxygen flow itself is set
    BLENDED = "blended"  # total flow and FiO2 are set, room air makes up the rest
    VENTILATOR = "ventilator"  # minute volume and FiO2 are set, plus driving gas


@dataclass(frozen=True, slots=True)
class Source:
    """Where a number comes from."""

    text: str
    basis: Basis


@dataclass(frozen=True, slots=True)
class Cylinder:
    """One kind of cylinder.

    Parameters
    ----------
    key
        ``region letter variant`` such as ``US E aluminium``: a letter alone means
        different cylinders in different countries.
    water_volume_l
        Water volume [L]; ``None`` where none is known (no real-gas model then).
    content_l
        Content when full, free gas at ``reference_c`` and 1 atm [L].
    full_psi
        Gauge pressure when full at ``reference_c`` [psi].
    factor_l_per_psi
        Published cylinder factor [L/psi]; ``None`` where none is published.
    gas_model
        The model used unless the planner names another.
    valve
        What a regulator must fit, such as ``pin index`` or ``threaded``.
    built_in
        Outlets of an integral valve, or ``None`` where a regulator is needed.
    change_min
        Time for one person to bring one into service or change it [min].
    full_kg
        Mass when full [kg]; ``None`` where not known.
    source
        Its basis is that of the numbers which ``gas_model`` uses; its text names the rest.
    also_called
        Further names of the size in the same region, such as ``K`` for H.
    default
        Whether region and letter alone mean this variant.
    """

    key: str
    region: str
    letter: str
    variant: str
    water_volume_l: float | None
    content_l: float
    reference_c: float
    full_psi: float
    factor_l_per_psi: float | None
    gas_model: GasModel
    valve: str
    built_in: OutletSet | None
    change_min: float
    full_kg: float | None
    source: Source
    also_called: tuple[str, ...] = ()
    default: bool = False


@dataclass(frozen=True, slots=True)
class OutletSet:
    """A regulator, manifold or fixed set of outlets.

    Parameters
    ----------
    fits
        Valves that it fits; empty for outlets that are built in.
    outlets
        Patients that it can serve at once through flow outlets.
    high_pressure_outlets
        Further patients served at once through 50 psi (4 bar) outlets.
    outlet_max_lpm, total_max_lpm
        Largest flow of one flow outlet and of the whole set [L/min].
    """

    key: str
    fits: frozenset[str]
    outlets: int
    high_pressure_outlets: int
    outlet_max_lpm: float
    total_max_lpm: float
    source: Source

    def passes(self, flow_lpm: float, *, high_pressure: bool) -> bool:
        """Tell whether there is an outlet that passes a flow."""
        if high_pressure:
            return self.high_pressure_outlets > 0 and flow_lpm <= self.total_max_lpm
        return self.outlets > 0 and flow_lpm <= min(self.outlet_max_lpm, self.total_max_lpm)


@dataclass(frozen=True, slots=True)
class Device:
    """A delivery device.

    Parameters
    ----------
    min_lpm, max_lpm
        Range of the flow that is set on it [L/min]: oxygen for ``SET_FLOW``,
        total flow for ``BLENDED``, minute volume for ``VENTILATOR``.
    fio2_low, fio2_high
        Range of the inspired oxygen fraction that the sources give.
    driving_lpm
        Driving gas on top of what the patient breathes [L/min].
    below_min_risk
        What happens below ``min_lpm``, for the warning; empty where nothing particular.
    """

    key: str
    title: str
    rule: DrawRule
    min_lpm: float
    max_lpm: float
    fio2_low: float
    fio2_high: float
    single_use: bool
    high_pressure: bool
    driving_lpm: float
    below_min_risk: str
    source: Source


class MachineKind(StrEnum):
    """Kinds of machine that make oxygen."""

    CONCENTRATOR = "concentrator"
    PLANT = "plant"


@dataclass(frozen=True, slots=True)
class Machine:
    """A concentrator or a plant: it makes oxygen as long as it has power.

    Parameters
    ----------
    max_lpm
        Largest flow of oxygen-rich gas [L/min].
    watts
        Electrical power in use [W].
    oxygen_share_low
        Least share of oxygen in the gas at full flow, 0 to 1.
    outlets
        Outlets that come with it.
    connect_min
        Time for one person to bring it into service [min].
    mass_kg
        Mass [kg]; ``None`` where not known.
    """

    key: str
    kind: MachineKind
    max_lpm: float
    watts: float
    oxygen_share_low: float
    outlets: OutletSet
    connect_min: float
    mass_kg: float | None
    source: Source


@dataclass(frozen=True, slots=True)
class Rung:
    """One therapy option on a ladder.

    Parameters
    ----------
    flow_lpm
        Oxygen drawn from the supply [L/min].
    credit
        Share of the need that it meets, 0 to 1: a planning assumption.
    setting
        What is set on the device, in words: ``40 L/min at FiO2 0.60``.
    """

    device: Device
    flow_lpm: float
    credit: float
    setting: str


@dataclass(frozen=True, slots=True)
class Ladder:
    """Ordered therapy options, from the prescribed one down; credits fall and never rise."""

    key: str
    title: str
    rungs: tuple[Rung, ...]
    source: Source


@dataclass(frozen=True, slots=True)
class Catalogue:
    """All entries, each by its key; the mappings cannot be changed."""

    cylinders: Mapping[str, Cylinder]
    outlet_sets: Mapping[str, OutletSet]
    devices: Mapping[str, Device]
    machines: Mapping[str, Machine]
    ladders: Mapping[str, Ladder]
