"""One order with everything that it names looked up, ready to be judged and carried out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.catalogue.load import load_catalogue
from mci.plan.credit import reached_rung
from mci.plan.orders import Action
from mci.replay.floor import TOLERANCE

if TYPE_CHECKING:
    from mci.catalogue.model import Device
    from mci.demand.people import Person
    from mci.demand.stays import Stay
    from mci.plan.orders import Order
    from mci.replay.floor import Draw, Floor, Head, Tank

__all__ = ["Case", "draws_nothing", "find_device", "look_up", "stay_now"]


@dataclass(frozen=True, slots=True)
class Case:
    """An order at its moment.

    Parameters
    ----------
    floor
        The areas as they are just before.
    begin
        When whoever changes the cylinder begins at the latest [min]: as written, or where nothing is written as
        long before as the change takes.
    person, stay, draw
        The patient, the stay that has begun, and what the patient is on so far.
    tank, head
        The supply, and the regulator or outlets, that the order means.
    device, flow
        What the patient is on from then on.
    """

    floor: Floor
    order: Order
    row: int
    now: float
    begin: float
    person: Person | None
    stay: Stay | None
    draw: Draw | None
    tank: Tank | None
    head: Head | None
    device: str
    flow: float


def stay_now(person: Person, now: float) -> Stay | None:
    """Return the stay of a patient at a moment; one that ends then is over."""
    return person.stay_at(now + TOLERANCE)


def find_device(floor: Floor, key: str) -> Device | None:
    """Return a device of the scenario's ladders or of the catalogue."""
    if key not in floor.devices and key in load_catalogue().devices:
        floor.devices[key] = load_catalogue().devices[key]
    return floor.devices.get(key)


def look_up(floor: Floor, order: Order, row: int, now: float) -> Case:
    """Look up what an order names; ``None`` for what it does not name and for what does not exist."""
    person = floor.people.get(order.patient)
    stay = stay_now(person, now) if person is not None else None
    draw = floor.draws.get(order.patient)
    device = order.device or (draw.device if draw is not None else "")
    flow = order.flow_lpm
    if flow == 0 and draw is not None and not (order.device and draws_nothing(floor, stay, device)):
        flow = draw.flow
    tank = floor.tanks.get(order.supply)
    begin = order.begin
    if order.action is Action.CHANGE and begin == order.minute and tank is not None:
        begin = order.minute - tank.supply.lot.change_min
    head = _find_head(floor, order, tank, draw)
    return Case(floor, order, row, now, begin, person, stay, draw, tank, head, device, flow)


def draws_nothing(floor: Floor, stay: Stay | None, device: str) -> bool:
    """Tell whether a device has a rung that draws no oxygen, as a ventilator on room air."""
    return stay is not None and reached_rung(floor.scenario.ladders[stay.ladder], device, 0.0) is not None


def _find_head(floor: Floor, order: Order, tank: Tank | None, draw: Draw | None) -> Head | None:
    """Find what patients are or will be connected to: where no regulator is named, the one that sits on the supply."""
    if order.action in (Action.CONNECT, Action.MOVE, Action.CHANGE):
        if tank is not None and tank.own is not None:
            return tank.own
        if order.action is Action.CHANGE:
            return floor.heads.get(order.regulator)
        if order.regulator and not _is_unnamed(floor, order, tank):
            return floor.heads.get(order.regulator)
        if tank is not None and tank.heads:
            return tank.heads[-1]
        return None
    return draw.head if draw is not None else None


def _is_unnamed(floor: Floor, order: Order, tank: Tank | None) -> bool:
    """Tell whether the regulator may well be the one that was put on the supply without being named."""
    head = floor.heads.get(order.regulator)
    unnamed = tank is not None and any(each.outlets is None for each in tank.heads)
    return unnamed and head is not None and head.tank is None
