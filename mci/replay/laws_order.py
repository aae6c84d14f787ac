"""The laws that a single order must keep, one function each.

A law takes the order with what it names looked up on the floor as it is just before.  It returns ``None``
where it is kept or does not apply.  Laws that hold for all orders of a moment together are in
:mod:`mci.replay.laws_moment`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.catalogue.model import DrawRule
from mci.physics.draw import AIR_FRACTION, blended_draw
from mci.plan.credit import reached_rung
from mci.plan.orders import Action
from mci.plan.things import ANYONE
from mci.replay.case import draws_nothing, find_device
from mci.replay.floor import TOLERANCE
from mci.replay.gauge import find_scale
from mci.replay.words import at

if TYPE_CHECKING:
    from mci.catalogue.model import Device
    from mci.replay.case import Case

__all__ = ["ORDER_LAWS", "Objection"]

_NOISE = 1e-6  # of flows and credits
_NOISE_PSI = 1.0  # of what litres say of a gauge
_GAUGE_SHARE, _GAUGE_PSI = 0.05, 50.0  # what a gauge may differ: a share of the full gauge, or so many psi


@dataclass(frozen=True, slots=True)
class Objection:
    """What a law says against an order.

    Parameters
    ----------
    stops
        Whether the order makes no sense so, and is not carried out.
    judged
        False where the order leaves out what the law needs.
    standing
        What stands until it is mended, so that it is told once.
    """

    reason: str
    stops: bool = False
    judged: bool = True
    standing: str = ""


def known(case: Case) -> Objection | None:
    """Every name is one of the scenario's, and a flow is above 0 and finite."""
    order = case.order
    pairs = [
        ("area", order.area, order.area in case.floor.areas),
        ("supply", order.supply, not order.supply or order.supply in case.floor.tanks),
        ("regulator", order.regulator, not order.regulator or order.regulator in case.floor.heads),
    ]
    if order.action is not Action.CHANGE:
        pairs.append(("patient", order.patient, order.patient in case.floor.people))
        pairs.append(("device", order.device, not order.device or find_device(case.floor, order.device) is not None))
    for what, name, there in pairs:
        if not there:
            return Objection(f"there is no {what} {name!r}" if name else f"no {what} is named", stops=True)
    if order.action is Action.CONNECT and not order.device:
        return Objection("no device is named", stops=True)
    if not (math.isfinite(order.flow_lpm) and order.flow_lpm >= 0):
        return Objection(f"a flow of {order.flow_lpm:g} L/min is none", stops=True)
    return None


def present(case: Case) -> Objection | None:
    """A patient is there, in that area, from connection to disconnection."""
    order, stay = case.order, case.stay
    if order.action is Action.CHANGE:
        return None
    if order.action is Action.DISCONNECT:
        if case.draw is not None and case.draw.stay.area != order.area:
            return Objection(f"{order.patient} is on oxygen at {case.draw.stay.area}, not at {order.area}")
        return None
    if stay is None:
        return Objection(f"{order.patient} is not there at {at(case.now)}", stops=True)
    if stay.area != order.area:
        return Objection(f"{order.patient} is at {stay.area} at {at(case.now)}, not at {order.area}", stops=True)
    return None


def one_device(case: Case) -> Objection | None:
    """Nobody is on two devices, and only who is on one can get another or come off."""
    if case.order.action is Action.CHANGE:
        return None
    if case.order.action is Action.CONNECT:
        if case.draw is not None:
            return Objection(
                f"{case.order.patient} is still on {case.draw.device} at {case.draw.stay.area}", stops=True
            )
        if case.flow == 0 and not draws_nothing(case.floor, case.stay, case.device):
            return Objection("a connection needs a flow above 0 L/min", stops=True)
        return None
    return None if case.draw is not None else Objection(f"{case.order.patient} is not on oxygen", stops=True)


def flow_range(case: Case) -> Objection | None:
    """The flow is one that the device takes; on a blending device it is the oxygen drawn."""
    if case.order.action in (Action.CHANGE, Action.DISCONNECT) or case.flow == 0:
        return None
    device = find_device(case.floor, case.device)
    if device is None:
        return None
    low, high = _draw_range(device)
    if low - _NOISE <= case.flow <= high + _NOISE:
        return None
    return Objection(f"{case.device} takes {low:.3g} to {high:.3g} L/min of oxygen, not {case.flow:.3g} L/min")


def _draw_range(device: Device) -> tuple[float, float]:
    if device.rule is DrawRule.SET_FLOW:
        return device.min_lpm, device.max_lpm
    low = blended_draw(device.min_lpm, max(device.fio2_low, AIR_FRACTION))
    return low + device.driving_lpm, blended_draw(device.max_lpm, device.fio2_high) + device.driving_lpm


def fits(case: Case) -> Objection | None:
    """Supply and regulator are in the order's area, and the regulator fits the supply's valve."""
    order, tank, head = case.order, case.tank, case.head
    if order.action in (Action.CHANGE, Action.CONNECT, Action.MOVE):
        for thing in (tank.supply.lot if tank is not None else None, head):
            if thing is not None and thing.area != order.area:
                name = order.supply if thing is not head else head.key
                return Objection(f"{name or order.supply} is at {thing.area}, not at {order.area}")
    if tank is not None and tank.own is not None and order.regulator:
        return Objection(f"{order.supply} has outlets of its own: {order.regulator} does not go on it")
    if order.action is Action.CHANGE and tank is not None and tank.own is None and head is not None:
        valve = tank.supply.lot.valve
        if head.outlets is not None and valve not in head.outlets.fits:
            made_for = ", ".join(sorted(head.outlets.fits)) or "nothing"
            return Objection(f"{head.key} fits {made_for}, but the valve of {order.supply} is {valve}")
    return None


def holds(case: Case) -> Objection | None:
    """A regulator is on one supply, and patients are only on a regulator that is on that supply."""
    action = case.order.action
    if action is Action.CHANGE:
        return _holds_change(case)
    if action in (Action.CONNECT, Action.MOVE):
        return _holds_connection(case)
    if action in (Action.SET_FLOW, Action.STEP_DOWN) and case.draw is not None:
        return _holds_outlet(case)
    return None


def _holds_change(case: Case) -> Objection | None:
    order, tank, head = case.order, case.tank, case.head
    if tank is None:
        return Objection("no supply is named, so nobody knows what is on it", judged=False)
    if head is None:
        return Objection(f"no regulator is named for {order.supply}", judged=False)
    if head.tank is tank and tank.supply.must_be_opened:
        already = f"{head.key} is already on {order.supply}" if head.key else f"{order.supply} is already in service"
        return Objection(already)
    return None


def _holds_connection(case: Case) -> Objection | None:
    order, tank, head = case.order, case.tank, case.head
    if head is None:
        if case.flow == 0:
            return None
        if tank is None:
            return Objection("no supply is named, so its gas cannot be judged", judged=False)
        return Objection(f"{order.supply} is not in service: nothing is on it", stops=True)
    if head.vague:
        return None
    if head.tank is None:
        what = f"{head.key} is on no supply" if head.key else f"{order.supply} has not been opened"
        return Objection(what, stops=True)
    return _holds_outlet(case)


def _holds_outlet(case: Case) -> Objection | None:
    order, head = case.order, case.head
    if head is None or head.vague or head.tank is None:
        return None
    supply = head.tank.supply.key
    if order.supply and order.supply != supply:
        what = f"{head.key} is on {supply}" if head.key else f"{order.patient} is on {supply}"
        return Objection(f"{what}, not on {order.supply}", standing=f"{head.key} {order.supply}")
    if order.regulator and head.key and order.regulator != head.key:
        return Objection(f"{order.patient} is on {head.key}, not on {order.regulator}")
    return None


def change_window(case: Case) -> Objection | None:
    """A supply is there during the change, its regulator when it goes on."""
    tank, head = case.tank, case.head
    if case.order.action is not Action.CHANGE or tank is None:
        return None
    lot = tank.supply.lot
    if case.begin < lot.available_from - TOLERANCE:
        return Objection(f"{case.order.supply} is there from {at(lot.available_from)}, not at {at(case.begin)}")
    if case.now > lot.available_until + TOLERANCE:
        return Objection(f"{case.order.supply} is there until {at(lot.available_until)}, not at {at(case.now)}")
    if head is not None and case.now < head.available_from - TOLERANCE:
        return Objection(f"{head.key} is there from {at(head.available_from)}, not at {at(case.now)}")
    if head is not None and case.now > head.available_until + TOLERANCE:
        return Objection(f"{head.key} is there until {at(head.available_until)}, not at {at(case.now)}")
    return None


def hands(case: Case) -> Objection | None:
    """Whoever changes a cylinder is on shift, has the time that it takes, and does one thing at a time."""
    order, tank = case.order, case.tank
    if order.action is not Action.CHANGE or tank is None or order.area not in case.floor.handlers:
        return None
    takes = tank.supply.lot.change_min
    if takes <= 0 and not order.by:
        return None
    if case.now - case.begin < takes - TOLERANCE:
        return Objection(f"changing {order.supply} takes {takes:g} min, not {max(0, case.now - case.begin):.2f} min")
    on_shift = [
        each
        for each in case.floor.handlers[order.area]
        if each.available_from <= case.begin + TOLERANCE and case.now <= each.available_until + TOLERANCE
    ]
    anyone = any(each.key == ANYONE for each in on_shift)
    if order.by and order.by != ANYONE:
        return _one_at_a_time(case, free=anyone or any(each.key == order.by for each in on_shift))
    if anyone:
        return None
    if order.by or not on_shift:
        return Objection(f"nobody at {order.area} is free for that from {at(case.begin)} to {at(case.now)}")
    return Objection(f"nobody is named who changes {order.supply}", judged=False)


def _one_at_a_time(case: Case, *, free: bool) -> Objection | None:
    by, area = case.order.by, case.order.area
    if not free:
        known_here = any(each.key == by for each in case.floor.handlers[area])
        if known_here:
            return Objection(f"{by} is not on shift from {at(case.begin)} to {at(case.now)}")
        return Objection(f"{by} changes no cylinders at {area}")
    for begin, end, row in reversed(case.floor.busy.get(by, [])):
        if end <= case.begin + TOLERANCE:
            break
        if begin < case.now - TOLERANCE:
            return Objection(
                f"{by} cannot begin at {at(case.begin)}: order {row} keeps them busy from {at(begin)} to {at(end)}"
            )
    return None


def silent(case: Case) -> Objection | None:
    """Nobody gets less without an order that says so and why: a step-down or a disconnection with its reason."""
    order, draw, stay = case.order, case.draw, case.stay
    if draw is None:
        return None
    if order.action is Action.STEP_DOWN:
        return None if order.reason else Objection(f"no reason is given for the step-down of {order.patient}")
    if order.action is Action.DISCONNECT:
        stays_on = stay is not None and stay.area == draw.stay.area
        if order.reason or not stays_on:
            return None
        return Objection(f"no reason is given for taking {order.patient} off, who stays until {at(_leaves(case))}")
    if order.action in (Action.MOVE, Action.SET_FLOW) and stay is draw.stay:
        rung = reached_rung(case.floor.scenario.ladders[stay.ladder], case.device, case.flow)
        credit = rung.credit if rung is not None else 0.0
        if credit < draw.credit - _NOISE:
            return Objection(
                f"{case.device} at {case.flow:.3g} L/min lowers the credit of {order.patient} from {draw.credit:g} to "
                f"{credit:g}: only a step-down may"
            )
    return None


def _leaves(case: Case) -> float:
    """Return when a patient leaves the present area."""
    ends = [0.0]
    if case.person is not None and case.draw is not None:
        ends += [stay.end for stay in case.person.stays if stay.area == case.draw.stay.area]
    return max(ends)


def in_service(case: Case) -> Objection | None:
    """No cylinder is brought into service with a gauge below the scenario's in-service minimum."""
    tank, least = case.tank, case.floor.scenario.in_service_psi
    if case.order.action is not Action.CHANGE or tank is None:
        return None
    scale = find_scale(tank.supply)
    if scale is None:
        return None
    case.floor.settle(tank, case.now)
    reads = scale.gauge(tank.litres)
    if reads >= least - _NOISE_PSI:
        return None
    return Objection(f"{tank.supply.key} reads {reads:.0f} psi, below the in-service minimum of {least:.0f} psi")


def gauge(case: Case) -> Objection | None:
    """A gauge that is named is near the one that the gas left makes (5 % of the full gauge, at least 50 psi)."""
    order = case.order
    tank = case.tank or (case.head.tank if case.head is not None else None)
    if order.gauge_psi is None or tank is None:
        return None
    scale = find_scale(tank.supply)
    if scale is None:
        return None
    case.floor.settle(tank, case.now)
    expected = scale.gauge(tank.litres)
    if abs(order.gauge_psi - expected) <= max(_GAUGE_PSI, _GAUGE_SHARE * scale.full_psi):
        return None
    return Objection(f"the gauge of {tank.supply.key} reads {expected:.0f} psi then, not {order.gauge_psi:.0f} psi")


#: Every law of a single order by its name, in the order in which they are asked.
ORDER_LAWS: tuple[tuple[str, Callable[[Case], Objection | None]], ...] = (
    ("known", known),
    ("present", present),
    ("one device", one_device),
    ("range", flow_range),
    ("fits", fits),
    ("holds", holds),
    ("window", change_window),
    ("hands", hands),
    ("silent", silent),
    ("in service", in_service),
    ("gauge", gauge),
)
