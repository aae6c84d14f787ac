"""The laws that hold after all orders of a moment together, one function each, and those of the end.

Each looks only at what the orders of the moment touched, and blames the order that touched it last.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from mci.replay.case import find_device
from mci.replay.floor import LITRE_NOISE, TOLERANCE
from mci.replay.words import at, counted

if TYPE_CHECKING:
    from mci.replay.floor import Floor, Head, Tank

__all__ = ["judge_end", "judge_moment", "judge_power", "judge_regulator", "judge_window"]

_NOISE = 1e-6  # of flows [L/min] and power [W]


def one_regulator(floor: Floor, now: float) -> None:
    """A supply has one regulator on it; one that serves nobody gives way to the new one."""
    for tank, row in floor.touched.tanks.items():
        for head in tank.heads[:-1]:
            if not head.users:
                floor.detach(head, now)
        if len(tank.heads) > 1:
            names = " and ".join(head.key for head in tank.heads)
            floor.report("holds", row, now, f"{tank.supply.key} has {names} on it at once")


def outlets(floor: Floor, now: float) -> None:
    """No more patients and no more flow than a regulator has outlets for and passes."""
    for head in floor.touched.heads:
        reason = next(_too_much(floor, head), "")
        if reason:
            floor.report("outlets", head.row, now, reason, standing=_name(head))
        else:
            floor.mended("outlets", _name(head))


def _name(head: Head) -> str:
    return head.key or (head.tank.supply.key if head.tank is not None else "")


def _too_much(floor: Floor, head: Head) -> Iterator[str]:
    """Yield in words by how much a regulator is asked too much."""
    limits = head.outlets
    if limits is None or not head.users:
        return
    flows = [0.0]
    strong = 0
    for draw in head.users.values():
        device = find_device(floor, draw.device)
        if device is not None and device.high_pressure:
            strong += 1
        else:
            flows.append(draw.flow)
    name, ordinary, total = _name(head), len(flows) - 1, sum(draw.flow for draw in head.users.values())
    if ordinary > limits.outlets:
        yield f"{name} has {counted(limits.outlets, 'flow outlet')}, not {ordinary}"
    if strong > limits.high_pressure_outlets:
        yield f"{name} has {counted(limits.high_pressure_outlets, 'high-pressure outlet')}, not {strong}"
    if max(flows) > limits.outlet_max_lpm + _NOISE:
        yield f"an outlet of {name} passes {limits.outlet_max_lpm:g} L/min, not {max(flows):.3g} L/min"
    if total > limits.total_max_lpm + _NOISE:
        yield f"{name} passes {limits.total_max_lpm:g} L/min in all, not {total:.4g} L/min"


def window(floor: Floor, now: float) -> None:
    """Nothing is drawn before a supply is there, nor after it or its regulator is gone."""
    for head in floor.touched.heads:
        if head.tank is not None:
            judge_window(floor, head.tank, now)
        judge_regulator(floor, head, now)


def judge_window(floor: Floor, tank: Tank, now: float) -> None:
    """Judge one supply at a moment; what is not there gives nothing."""
    lot = tank.supply.lot
    if tank.stopped or not any(head.users for head in tank.heads):
        return
    if lot.available_from > now + TOLERANCE:
        reason = f"{tank.supply.key} is there from {at(lot.available_from)}, not at {at(now)}"
        floor.report("window", tank.row, now, reason, standing=tank.supply.key)
    elif lot.available_until <= now + TOLERANCE:
        reason = f"{tank.supply.key} is there until {at(lot.available_until)}, and is drawn from after that"
        floor.settle(tank, now)
        floor.stop(tank, now)
        floor.report("window", tank.row, now, reason, standing=tank.supply.key)


def judge_regulator(floor: Floor, head: Head, now: float) -> None:
    """Judge one regulator at a moment; one that is gone passes nothing."""
    if not head.gone and head.users and head.available_until <= now + TOLERANCE:
        floor.lose(head, now)
        reason = f"{head.key} is there until {at(head.available_until)}, and is drawn from after that"
        floor.report("window", head.row, now, reason, standing=head.key)


def devices(floor: Floor, now: float) -> None:
    """No more reusable devices in use, and no more single-use ones handed out, than have come to the area."""
    for (area, key), row in floor.touched.devices.items():
        device = find_device(floor, key)
        single_use = device is not None and device.single_use
        number = (floor.handed_out if single_use else floor.in_use).get((area, key), 0)
        stock = sum(
            each.quantity
            for each in floor.scenario.devices
            if each.area == area and each.device == key and each.available_from <= now + TOLERANCE
        )
        standing = f"{area} {key}"
        if number > stock:
            what = "handed out" if single_use else "in use at once"
            reason = f"{number} {key} {what} at {area}, where {stock:g} have come"
            floor.report("devices", row, now, reason, standing=standing)
        elif not single_use:
            floor.mended("devices", standing)


def power(floor: Floor, now: float) -> None:
    """The machines in use at an area take no more power than there is."""
    for area, row in floor.touched.areas.items():
        floor.last_machine[area] = row
        judge_power(floor, area, row, now)


def judge_power(floor: Floor, area: str, row: int, now: float) -> None:
    """Judge the power of one area at a moment; where it does not suffice all machines there stand still."""
    machines = floor.machines.get(area)
    if not machines:
        return
    taken = sum(tank.supply.lot.watts_each for tank in machines if any(head.users for head in tank.heads))
    there = sum(
        each.watts
        for each in floor.scenario.power
        if each.area == area and each.available_from <= now + TOLERANCE < each.available_until
    )
    if taken > there + _NOISE:
        reason = f"machines at {area} take {taken:g} W at {at(now)}, there are {there:g} W"
        floor.report("power", row, now, reason, standing=area)
        floor.switch(area, now, on=False)
    else:
        floor.mended("power", area)
        floor.switch(area, now, on=True)


def reserve(floor: Floor) -> None:
    """The reserve of an area is left in the stored supplies that are there at the end."""
    end = floor.scenario.horizon
    for area, least in floor.scenario.reserve.items():
        kept = [
            tank
            for tank in floor.tanks.values()
            if tank.supply.lot.area == area
            and math.isfinite(tank.litres)
            and tank.supply.lot.available_from <= end <= tank.supply.lot.available_until
        ]
        left = sum(max(tank.litres, 0.0) for tank in kept)
        if left < least - sum(tank.slack for tank in kept) - LITRE_NOISE:
            row = max((tank.row for tank in kept), default=0)
            floor.report("reserve", row, end, f"{left:.1f} L are left at {area}, not the reserve of {least:.1f} L")


def judge_moment(floor: Floor, now: float) -> None:
    """Ask every law that holds for the orders of a moment together."""
    for law in (one_regulator, outlets, window, devices, power):
        law(floor, now)


def judge_end(floor: Floor) -> None:
    """Ask every law of the end."""
    reserve(floor)
