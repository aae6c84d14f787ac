"""Doubts about patients, devices, weights and hands; one function per rule."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from mci.scenario.doubt import Doubt, Question
from mci.scenario.model import CATEGORIES
from mci.scenario.presence import first_needs, most_at_once, peak, with_before
from mci.units import format_clock, format_moment

if TYPE_CHECKING:
    from collections.abc import Iterator

    from mci.catalogue.model import Device
    from mci.scenario.presence import StayLike

__all__ = ["PEOPLE_RULES"]


def arrive_too_late(q: Question) -> Iterator[Doubt]:
    """Patients who arrive at or after the horizon are not planned for."""
    there: dict[str, int] = defaultdict(int)
    for stay in q.stays:
        if not stay.continues:
            there[stay.label] += stay.count
    for patients in q.scenario.patients:
        missing = patients.count - there[patients.label]
        if missing > 0:
            end = format_moment(q.scenario.horizon)
            at = patients.arrival.at
            if patients.count == 1 and at >= q.scenario.horizon:
                clock = format_clock(at, q.scenario.start)
                when = format_moment(at) + (f" ({clock})" if clock else "")
                told = f"'{patients.label}' arrives at {when} and is not planned for: the plan ends at {end}"
            else:
                one = missing == 1
                told = (
                    f"{missing} of '{patients.label}' {'arrives' if one else 'arrive'} at or after the end of the plan "
                    f"({end}), or {'leaves at once, and is' if one else 'leave at once, and are'} not planned for"
                )
            yield Doubt("arrive-too-late", told)


def few_devices(q: Question) -> Iterator[Doubt]:
    """More patients need a device for their top rung than there are devices by then."""
    first = list(first_needs(q.scenario, q.stays))
    for area, stays, _ in q.areas():
        for device in {d.key: d for d in (_top(q, stay) for stay in stays)}.values():
            if device.single_use:
                users = [(s.start, s.count) for s, d in first if s.area == area and d.key == device.key]
            else:
                here = [s for s in stays if _top(q, s).key == device.key]
                users = [(moment, sign * s.count) for s in here for moment, sign in ((s.start, 1), (s.end, -1))]
            stock = [
                (s.available_from, s.quantity) for s in q.scenario.devices if (s.area, s.device) == (area, device.key)
            ]
            missing, when = peak([*users, *((moment, -number) for moment, number in stock)])
            if missing > 0:
                there = sum(number for moment, number in stock if moment <= when)
                later = sum(number for moment, number in stock if when < moment < q.scenario.horizon)
                more = f", {later:.0f} more come later" if later else ""
                yield Doubt("few-devices", _few(device, when, missing + there, there) + more, area)


def _top(q: Question, stay: StayLike) -> Device:
    return q.scenario.ladders[stay.ladder].rungs[0].device


def _few(device: Device, when: float, need: float, there: float) -> str:
    """Say how many need a device of their own by a moment, or a reusable one at a moment, and how many are there."""
    who = "1 patient" if need == 1 else f"{need:.0f} patients"
    are = "1 is" if there == 1 else f"{there:.0f} are"
    if device.single_use:
        needs = f"by {format_moment(when)}, {who} will have needed a {device.key} of their own"
    else:
        needs = f"at {format_moment(when)}, {who} need{'s' if need == 1 else ''} a {device.key}"
    return f"{needs} for their top rung; {are} there by then"


def fewer_devices_than_patients(q: Question) -> Iterator[Doubt]:
    """There are more patients at one time than devices of any kind; who is moved there brings one along."""
    moved = {id(stay) for stay, before in with_before(q.stays) if before is not None and before.area != stay.area}
    for area, stays, _ in q.areas():
        most, when = most_at_once(stay for stay in stays if id(stay) not in moved)
        stocked = sum(
            s.quantity for s in q.scenario.devices if s.area == area and s.available_from < q.scenario.horizon
        )
        if most > stocked:
            what = f"at {format_moment(when)} there are {most} patients and {stocked:.0f} devices of any kind"
            yield Doubt("fewer-devices-than-patients", what, area)


def weights_invert_triage(q: Question) -> Iterator[Doubt]:
    """A category weighs more than one that is treated before it, or nothing at all."""
    weights = q.scenario.weights
    occurring = [category for category in CATEGORIES if category in weights]
    for index, before in enumerate(occurring):
        for after in occurring[index + 1 :]:
            if weights[after] > weights[before]:
                what = f"{after} weighs more ({weights[after]:g}) than {before} ({weights[before]:g})"
                yield Doubt("weights-invert-triage", f"{what}, against the order of treatment")
    for category in occurring:
        if weights[category] == 0:
            yield Doubt("weight-of-nothing", f"{category} weighs 0: a plan has no reason to give these patients oxygen")


def nobody_there(q: Question) -> Iterator[Doubt]:
    """An area has supplies or devices and nobody to treat."""
    for area, stays, lots in q.areas():
        if not stays:
            has = f"{len(lots)} kinds of supply" if lots else "no supply either"
            yield Doubt("nobody-there", f"no patient is there within the plan, and {has}", area)


def no_hands(q: Question) -> Iterator[Doubt]:
    """Cylinders are to be changed while nobody is there to do it."""
    for area, stays, lots in q.areas():
        shifts = [s for s in q.scenario.staff if s.area == area]
        if not stays or not any(lot.change_min > 0 for lot in lots):
            continue
        first, last = min(s.start for s in stays), max(s.end for s in stays)
        moments = sorted({first, *(s.available_until for s in shifts)})
        for moment in moments:
            on_duty = any(s.available_from <= moment < s.available_until for s in shifts)
            if first <= moment < last and not on_duty:
                what = f"from {format_moment(moment)} nobody is there to connect or change cylinders"
                yield Doubt("no-hands", what, area)


PEOPLE_RULES = (
    arrive_too_late,
    few_devices,
    fewer_devices_than_patients,
    weights_invert_triage,
    nobody_there,
    no_hands,
)
