"""Orders: who gets what from which cylinder when, and who changes it; one row each.

Orders of one minute take effect together, in the order of :class:`Action`.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

__all__ = ["Action", "Order", "Plan", "sort_orders"]


class Action(StrEnum):
    """What is to be done, in the order in which the orders of one minute take effect."""

    DISCONNECT = "disconnect"  # a patient comes off oxygen: leaves, moves to another area, or is withdrawn
    CHANGE = "change cylinder"  # a regulator goes on a cylinder (or a cylinder with outlets of its own is opened)
    MOVE = "move"  # a patient who is on oxygen goes to another outlet, with the same or another device and flow
    STEP_DOWN = "step down"  # a patient gets a lower rung at the same outlet
    SET_FLOW = "set flow"  # a patient gets another device or flow at the same outlet, not a lower rung
    CONNECT = "connect"  # a patient who is not on oxygen is put on it


@dataclass(frozen=True, slots=True)
class Order:
    """One order.

    Parameters
    ----------
    minute
        When it takes effect [min].
    begin
        When the person who does it begins [min]; ``minute`` where it takes no time of its own.
    area
        Where.
    action
        What.
    patient
        Who; empty for a change of cylinder, which concerns everybody on the regulator.
    device, flow_lpm
        Device and oxygen flow from then on [L/min]; empty and 0 where the order does not set them.
    supply
        Cylinder or other supply from which the patient is served, or which the regulator goes on.
    regulator
        Regulator or manifold; empty where the supply has outlets of its own.
    gauge_psi
        Expected gauge of the supply at that moment [psi]; ``None`` where it has none.
    by
        Who changes the cylinder; empty for other actions.
    reason
        Why; never empty for a step-down or a withdrawal.
    """

    minute: float
    area: str
    action: Action
    patient: str = ""
    device: str = ""
    flow_lpm: float = 0.0
    supply: str = ""
    regulator: str = ""
    gauge_psi: float | None = None
    begin: float = -1.0
    by: str = ""
    reason: str = ""

    def __post_init__(self) -> None:
        if self.begin < 0:
            object.__setattr__(self, "begin", self.minute)


@dataclass(frozen=True, slots=True)
class Plan:
    """Orders under a name.

    Parameters
    ----------
    name
        What made it, such as ``this plan`` or ``first come, first served``.
    orders
        In the order of time (:func:`sort_orders`).
    """

    name: str
    orders: tuple[Order, ...]


_RANK = {action: rank for rank, action in enumerate(Action)}


def sort_orders(orders: list[Order]) -> tuple[Order, ...]:
    """Return orders by time, then in the order in which they take effect; what is equal stays as it was."""
    return tuple(sorted(orders, key=lambda order: (order.minute, _RANK[order.action])))
