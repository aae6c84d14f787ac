"""What a log has said so far: which regulator sits on what, and who is connected where."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from mci.plan.orders import Action, Order

if TYPE_CHECKING:
    from mci.drills.names import Names
    from mci.plan.things import Regulator, Supply

__all__ = ["Link", "State"]


@dataclass(frozen=True, slots=True)
class Link:
    """A patient on a device at a flow [L/min], on an outlet, since an order of a line."""

    device: str
    flow: float
    supply: str
    regulator: str
    area: str
    order: Order
    line: int


@dataclass(slots=True)
class State:
    """Follows the orders of a log; asked before each line what is so far."""

    names: Names
    on: dict[str, str] = field(default_factory=dict)  # supply by regulator
    opened: set[str] = field(default_factory=set)  # cylinders with outlets of their own
    links: dict[str, Link] = field(default_factory=dict)  # by patient

    def sitting_on(self, supply: str) -> list[str]:
        """Return the regulators on a supply."""
        return [regulator for regulator, each in self.on.items() if each == supply]

    def served_by(self, regulator: str, but: str = "") -> list[str]:
        """Return who is on a regulator, but for one patient."""
        return [key for key, link in self.links.items() if link.regulator == regulator and key != but]

    def served_from(self, supply: str, but: str = "") -> list[str]:
        """Return who is on a supply, but for one patient."""
        return [key for key, link in self.links.items() if link.supply == supply and key != but]

    def link(self, patient: str, minute: float) -> Link | None:
        """Return what a patient is on; whoever has left the area by then is on nothing."""
        link = self.links.get(patient)
        stay = self.names.stay(patient, minute)
        return link if link is not None and stay is not None and stay.area == link.area else None

    def fitting(self, supply: Supply, minute: float) -> list[Regulator]:
        """Return the regulators of the area that fit a supply and are there."""
        lot = supply.lot
        return [
            each
            for each in self.names.regulators.values()
            if each.area == lot.area
            and lot.valve in each.outlets.fits
            and each.available_from <= minute + 1e-5
            and minute <= each.available_until
        ]

    def follow(self, order: Order, line: int) -> None:
        """Let an order take effect."""
        if order.action is Action.DISCONNECT:
            self.links.pop(order.patient, None)
        elif order.action is Action.CHANGE:
            self._follow_change(order)
        else:
            self._follow_patient(order, line)

    def _follow_change(self, order: Order) -> None:
        if not order.regulator:
            self.opened.add(order.supply)
            return
        for other in self.sitting_on(order.supply):
            if other != order.regulator and not self.served_by(other):
                del self.on[other]  # who serves nobody gives way
        self.on[order.regulator] = order.supply
        for patient in self.served_by(order.regulator):
            link = self.links[patient]
            self.links[patient] = Link(
                link.device, link.flow, order.supply, link.regulator, link.area, link.order, link.line
            )

    def _follow_patient(self, order: Order, line: int) -> None:
        before = self.links.get(order.patient)
        keeps = order.action in (Action.SET_FLOW, Action.STEP_DOWN) and before is not None
        supply = before.supply if keeps and before is not None else order.supply
        regulator = before.regulator if keeps and before is not None else order.regulator
        self.links[order.patient] = Link(
            order.device or (before.device if before else ""),
            order.flow_lpm or (before.flow if before else 0.0),
            supply or self.on.get(regulator, ""),
            regulator,
            order.area,
            order,
            line,
        )
