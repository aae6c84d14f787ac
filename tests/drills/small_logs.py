"""Small incidents and what a team did with them, whose losses are known in closed form."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from incidents import cylinders, ladder, patients, piped, regulator, scenario

from mci.plan.orders import Action, Order

if TYPE_CHECKING:
    from mci.scenario.model import Lot, Patients, RegulatorStock, Scenario

__all__ = ["NEED", "change", "connect", "disconnect", "incident", "patient", "reset"]

#: The full need takes 10 L/min.
NEED = ladder("need", ("mask", 10.0, 1.0))


def patient(name: str, *, category: str = "immediate", arrive: float = 0.0, ladder_key: str = "need") -> Patients:
    """Return one patient by name, who stays to the end."""
    return dataclasses.replace(patients(1, ladder_key, category=category, arrive=arrive), label=name)


def incident(
    *people: Patients,
    lots: list[Lot] | None = None,
    regulators: list[RegulatorStock] | None = None,
    horizon: float = 40.0,
) -> Scenario:
    """Return an incident; without lots there are two piped outlets."""
    return scenario(
        horizon=horizon,
        ladders=[NEED],
        patients=list(people or (patient("P1"),)),
        lots=[piped(2)] if lots is None else lots,
        regulators=regulators,
    )


def with_cylinders(count: int, litres: float, *, change_min: float = 0.0) -> list[Lot]:
    """Return cylinders that need a regulator."""
    return [cylinders(count, litres, change=change_min)]


def one_regulator(count: int = 1) -> list[RegulatorStock]:
    """Return regulators with one outlet."""
    return [regulator(count)]


def connect(minute: float, name: str, flow: float = 10.0, supply: str = "pipe", tool: str = "") -> Order:
    """Return the order that puts a patient on oxygen."""
    return Order(minute, "a", Action.CONNECT, name, "mask", flow, supply, tool)


def reset(minute: float, name: str, flow: float) -> Order:
    """Return the order that gives a patient another flow."""
    return Order(minute, "a", Action.SET_FLOW, name, "mask", flow)


def disconnect(minute: float, name: str) -> Order:
    """Return the order that takes a patient off."""
    return Order(minute, "a", Action.DISCONNECT, name, reason="a mistake")


def change(minute: float, supply: str, tool: str = "a-reg") -> Order:
    """Return the order that puts a regulator on a cylinder."""
    return Order(minute, "a", Action.CHANGE, supply=supply, regulator=tool)
