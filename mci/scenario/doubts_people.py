"""Doubts about patients, devices, weights and hands; one function per rule."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from mci.scenario.doubt import Doubt, Question
from mci.scenario.model import CATEGORIES
from mci.scenario.presence import most_at_once
from mci.units import format_moment

if TYPE_CHECKING:
    from collections.abc import Iterator

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
            who = "is" if missing == 1 else "are"
            yield Doubt(
                "arrive-too-late",
                f"{missing} of '{patients.label}' arrive at or after the end of the plan ({end}), or leave at once, "
                f"and {who} not planned for",
            )


def few_devices(q: Question) -> Iterator[Doubt]:
    """More patients need a device for their top rung than there are devices."""
    for area, stays, _ in q.areas():
        by_device: dict[str, list[StayLike]] = defaultdict(list)
        devices = {}
        for stay in stays:
            device = q.scenario.ladders[stay.ladder].rungs[0].device
            by_device[device.key].append(stay)
            devices[device.key] = device
        for key, users in by_device.items():
            stocked = sum(
                s.quantity
                for s in q.scenario.devices
                if s.area == area and s.device == key and s.available_from < q.scenario.horizon
            )
            most, when = most_at_once(users)
            if most > stocked:
                what = f"at {format_moment(when)} {most} patients need a {devices[key].title} for their top rung"
                yield Doubt("few-devices", f"{what}; {stocked:.0f} are or come there", area)
            elif devices[key].single_use and sum(s.count for s in users) > stocked:
                total = sum(s.count for s in users)
                what = f"{total} patients in all need a {devices[key].title} for their top rung, each their own"
                yield Doubt("few-devices", f"{what}; {stocked:.0f} are or come there", area)


def fewer_devices_than_patients(q: Question) -> Iterator[Doubt]:
    """There are more patients at one time than devices of any kind."""
    for area, stays, _ in q.areas():
        most, when = most_at_once(stays)
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
