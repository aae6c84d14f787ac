"""Single things by name: cylinders and other supplies, regulators, the people who change cylinders.

A scenario counts them in lots and stocks; orders name them one by one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.scenario.model import LotKind
from mci.scenario.names import lot_names, numbered

if TYPE_CHECKING:
    from mci.catalogue.model import OutletSet
    from mci.scenario.model import Lot, Scenario

__all__ = [
    "ANYONE",
    "EMPTY_SHARE",
    "Handler",
    "Regulator",
    "Supply",
    "find_handlers",
    "find_regulators",
    "find_supplies",
]

#: A cylinder with no more than this share of its gas left is empty, and may be taken to be filled: an assumption.
EMPTY_SHARE = 0.05

#: Who changes a cylinder where the planner set no limit: any number of people at once.
ANYONE = "anyone"


@dataclass(frozen=True, slots=True)
class Supply:
    """One cylinder, concentrator, plant, vessel, or the outlets of a pipe.

    Parameters
    ----------
    key
        Its mark in an inventory, or that of its lot and a number.
    litres
        Usable litres at hand-over; ``inf`` where gas is made or piped.
    gauge_psi
        Gauge at hand-over [psi]; ``None`` where there is none.
    """

    key: str
    lot: Lot
    litres: float
    gauge_psi: float | None

    @property
    def must_be_opened(self) -> bool:
        """Whether somebody has to bring it into service: every cylinder."""
        return self.lot.kind is LotKind.CYLINDER


@dataclass(frozen=True, slots=True)
class Regulator:
    """One regulator or manifold, of use from ``available_from`` to ``available_until`` [min]."""

    key: str
    area: str
    outlets: OutletSet
    available_from: float
    available_until: float = math.inf


@dataclass(frozen=True, slots=True)
class Handler:
    """One person who changes cylinders, from ``available_from`` to ``available_until`` [min].

    Who has several shifts is there several times, under one name.
    """

    key: str
    area: str
    available_from: float
    available_until: float


def find_supplies(scenario: Scenario) -> tuple[Supply, ...]:
    """Name every supply."""
    found: list[Supply] = []
    for lot in scenario.lots:
        if lot.units:
            marked = zip(lot_names(lot), lot.units, strict=True)
            found.extend(Supply(key, lot, unit.litres, unit.gauge_psi) for key, unit in marked)
        else:
            each = lot.litres / lot.quantity if lot.quantity else 0.0
            found.extend(Supply(key, lot, each, lot.gauge_psi) for key in lot_names(lot))
    return tuple(found)


def find_regulators(scenario: Scenario) -> tuple[Regulator, ...]:
    """Name every regulator and manifold."""
    return tuple(
        Regulator(key, stock.area, stock.outlets, stock.available_from, stock.available_until)
        for stock in scenario.regulators
        for key in numbered(stock.key, stock.quantity)
    )


def find_handlers(scenario: Scenario) -> tuple[Handler, ...]:
    """Name everybody who changes cylinders; part of a person is nobody, and any number is :data:`ANYONE`."""
    return tuple(
        Handler(key, shift.area, shift.available_from, shift.available_until)
        for shift in scenario.staff
        for key in ([ANYONE] if math.isinf(shift.people) else numbered(shift.key, math.floor(shift.people + 1e-9)))
    )
