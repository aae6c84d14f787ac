"""Orders carried out, and stays that end: what changes on the floor."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.plan.orders import Action
from mci.replay.case import look_up, stay_now
from mci.replay.floor import Draw, Head
from mci.replay.laws_order import ORDER_LAWS
from mci.replay.words import at

if TYPE_CHECKING:
    from mci.plan.orders import Order
    from mci.replay.case import Case
    from mci.replay.floor import Floor

__all__ = ["carry_out", "end_stay"]


def carry_out(floor: Floor, order: Order, row: int, now: float) -> None:
    """Judge an order and let it take effect; one that makes no sense is left out.

    What an order that was left out would have led to is not told again: until the patient is taken off or
    connected, further orders for the patient are passed over.
    """
    if row in floor.passed_over or _is_lost(floor, order):
        return
    floor.last_row[order.patient] = row
    case = look_up(floor, order, row, now)
    if not _makes_sense(floor, case):
        if case.draw is None and order.action not in (Action.CHANGE, Action.DISCONNECT):
            floor.lost.add(order.patient)
    elif order.action is Action.CHANGE:
        _change(floor, case)
    else:
        floor.lost.discard(order.patient)
        _treat(floor, case)


def _is_lost(floor: Floor, order: Order) -> bool:
    """Tell whether an order only follows from one that was left out."""
    if order.patient not in floor.lost or order.action in (Action.CHANGE, Action.CONNECT):
        return False
    if order.action is Action.DISCONNECT:
        floor.lost.discard(order.patient)
    return True


def _makes_sense(floor: Floor, case: Case) -> bool:
    """Ask every law of single orders; tell whether the order can be carried out."""
    for law, objects in ORDER_LAWS:
        found = objects(case)
        if found is not None:
            floor.report(law, case.row, case.now, found.reason, standing=found.standing, judged=found.judged)
            if found.stops:
                return False
    return True


def _change(floor: Floor, case: Case) -> None:
    order, tank, head = case.order, case.tank, case.head
    if order.by:
        floor.busy.setdefault(order.by, []).append((case.begin, case.now, case.row))
    if head is None and tank is not None:
        head = Head("", tank.supply.lot.area, None)
    if head is not None and not (tank is not None and head.tank is tank):
        floor.attach(head, tank, case.now, case.row)


def _treat(floor: Floor, case: Case) -> None:
    person, stay = case.person, case.stay
    if case.draw is not None:
        floor.take_off(case.draw, case.now, case.row)
    if case.order.action is Action.DISCONNECT or person is None or stay is None:
        return
    draw = Draw(person, stay, case.device, case.flow, case.head, 0.0, at_target=False)
    floor.rate(draw)
    floor.put_on(draw, case.now, case.row)


def end_stay(floor: Floor, patient: str, now: float, following: tuple[int, Order] | None) -> None:
    """Let a stay end: in the next one at the same area a patient goes on, otherwise must be off oxygen by now.

    Parameters
    ----------
    following
        The next order for this patient after this moment, with its row.
    """
    draw = floor.draws.get(patient)
    if draw is None:
        return
    stay = stay_now(draw.person, now)
    if stay is draw.stay:
        return
    if stay is not None and stay.area == draw.stay.area:
        floor.follow_stay(draw, stay, now)
        return
    row, when = floor.last_row.get(patient, 0), ""
    if following is not None and following[1].action is Action.DISCONNECT:
        row, when = following[0], f" (the order comes at {at(following[1].minute)})"
        floor.passed_over.add(row)
    reason = f"{patient} leaves {draw.stay.area} at {at(now)} and is not disconnected by then{when}"
    floor.report("present", row, now, reason)
    floor.take_off(draw, now, row)
