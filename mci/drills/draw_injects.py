"""Injects drawn for an exercise: only what fits the scenario, at moments when it matters, no two about the same thing.

All numbers here are assumptions for exercises; a designer who wants others writes injects into the scenario.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from mci.demand.people import name_people
from mci.drills.draw_casualties import free_names
from mci.drills.worsening import step_up
from mci.plan.things import find_regulators, find_supplies
from mci.scenario.exercise import Inject, InjectKind
from mci.scenario.model import Arrival
from mci.surge.seeds import seed_of
from mci.units import parse_pressure

if TYPE_CHECKING:
    import numpy as np

    from mci.demand.people import Person
    from mci.scenario.model import Scenario

__all__ = ["LATEST", "STREAM", "draw_injects"]

#: Nothing happens later than this share of the time from the first arrival to the last departure.
LATEST = 0.8
#: Number of the stream of random numbers for injects.
STREAM = 2
#: What a low cylinder really shows, as a share of its label; gauges are read to 50 psi, or to 5 bar.
LOW, GAUGE_STEP, GAUGE_STEP_BAR = (0.15, 0.35), 50.0, parse_pressure("5 bar")
#: Share of the casualties that a second wave brings on top, and over how many minutes they come.
WAVE, WAVE_OVER = (0.10, 0.25), (10, 20)
#: Minutes: until a washer is found, by which a delivery is late, of a power failure, of a move.
WASHER, LATE, POWER, MOVE = (5, 15), (15, 30), (20, 40), (5, 12)
#: A delivery that is late is announced so long before it was due [min].
TOLD = 5.0
#: Who worsens must be there so long before and after; a second wave has come so long before the end [min].
BEFORE_AFTER = 10.0


@dataclass(slots=True)
class _Draw:
    """What kinds of inject are drawn from."""

    briefed: Scenario
    rng: np.random.Generator
    people: tuple[Person, ...]
    start: float
    end: float
    taken: set[str] = field(default_factory=set)

    def number(self, limits: tuple[float, float]) -> float:
        """Return a whole number between limits, both included."""
        return float(self.rng.integers(math.ceil(limits[0]), math.floor(limits[1]) + 1))

    def share(self, limits: tuple[float, float]) -> float:
        """Return a number between limits."""
        return limits[0] + (limits[1] - limits[0]) * float(self.rng.random())

    def moment(self, early: float, late: float) -> float:
        """Return a whole minute between two shares of the time in which patients are there."""
        span = self.end - self.start
        return float(math.floor(self.start + span * self.share((early, min(late, LATEST)))))

    def one_of(self, names: list[str]) -> str | None:
        """Return one of some names that nothing has happened to, if there is one."""
        free = [name for name in names if name not in self.taken]
        return free[int(self.rng.integers(len(free)))] if free else None


def draw_injects(briefed: Scenario, seed: int, number: int, again: int = 0) -> tuple[Inject, ...]:
    """Draw injects for an incident.

    Parameters
    ----------
    briefed
        With drawn casualties.
    seed
        Of the drill.
    number
        How many; fewer where the scenario has nothing more to which anything could happen.
    again
        Number of the draw; other numbers are other draws of the same drill.

    Returns
    -------
    tuple of Inject
        In the order of time.  Every kind that fits comes once before any comes twice.
    """
    people = name_people(briefed)
    if not people:
        return ()
    start, end = min(each.arrive for each in people), max(each.leave for each in people)
    draw = _Draw(briefed, seed_of(seed, STREAM * 1_000_000 + again), people, start, end)
    found: list[Inject] = []
    left = list(_KINDS)
    turn: list[InjectKind] = []
    while len(found) < number and (left or turn):
        if not turn:
            turn, left = [left[int(place)] for place in draw.rng.permutation(len(left))], []
        kind = turn.pop()
        inject = _KINDS[kind](draw)
        if inject is None:
            continue
        found.append(inject)
        draw.taken.add(inject.thing or f"{kind} {inject.area}")
        left.append(kind)
    return tuple(sorted(found, key=lambda each: (each.at, each.kind, each.thing)))


def _leak(draw: _Draw) -> Inject | None:
    """Let a regulator leak that is there from the start, where it is not the only one."""
    at = draw.moment(0.15, 0.6)
    areas = {tool.key: tool.area for tool in find_regulators(draw.briefed) if not tool.available_from}
    several = [name for name, area in areas.items() if list(areas.values()).count(area) > 1]
    name = draw.one_of(several)
    return Inject(InjectKind.REGULATOR_LEAKS, at, areas[name], name) if name else None


def _low(draw: _Draw) -> Inject | None:
    """Let a cylinder that is there at the start hold less than its label says."""
    supplies = {
        each.key: each for each in find_supplies(draw.briefed) if each.must_be_opened and not each.lot.available_from
    }
    at, share = draw.moment(0.05, 0.5), draw.share(LOW)
    name = draw.one_of(list(supplies))
    if name is None:
        return None
    supply = supplies[name]
    full, residual = supply.gauge_psi or 0.0, supply.lot.residual_psi or 0.0
    step = GAUGE_STEP_BAR if draw.briefed.pressures_in_bar else GAUGE_STEP
    least = max(residual, draw.briefed.in_service_psi) + step
    psi = max(math.ceil(least / step), math.floor(share * full / step)) * step
    return Inject(InjectKind.CYLINDER_LOW, at, supply.lot.area, name, psi=psi) if psi < full else None


def _washer(draw: _Draw) -> Inject | None:
    """Let a yoke regulator not seal: only pin-index valves need the washer."""
    at, minutes = draw.moment(0.0, 0.3), draw.number(WASHER)
    yokes = {
        tool.key: tool.area
        for tool in find_regulators(draw.briefed)
        if tool.outlets.fits == {"pin index"} and not tool.available_from
    }
    name = draw.one_of(list(yokes))
    return Inject(InjectKind.WRONG_WASHER, at, yokes[name], name, minutes=minutes) if name else None


def _late(draw: _Draw) -> Inject | None:
    """Let a delivery be late that would come, late as it is, while it matters."""
    scenario = draw.briefed
    due = {lot.delivery: (lot.available_from, lot.area) for lot in scenario.lots if lot.delivery}
    due |= {tool.delivery: (tool.available_from, tool.area) for tool in scenario.regulators if tool.delivery}
    due |= {device.delivery: (device.available_from, device.area) for device in scenario.devices if device.delivery}
    last = draw.start + LATEST * (draw.end - draw.start)
    matters = [name for name, (at, _) in due.items() if at + LATE[0] < draw.end and TOLD < at <= last]
    name = draw.one_of(matters)
    if name is None:
        return None
    at, area = due[name]
    late = draw.number((LATE[0], min(LATE[1], draw.end - at)))
    return Inject(InjectKind.DELIVERY_LATE, max(0.0, at - TOLD), area, name, minutes=late)


def _wave(draw: _Draw) -> Inject | None:
    """Let more come, hurt like some who are there already."""
    at, over, share = draw.moment(0.25, 0.55), draw.number(WAVE_OVER), draw.share(WAVE)
    by_name = {patients.label: patients for patients in draw.briefed.patients}
    alike = [patients for patients in by_name.values() if len(patients.course) == 1 and patients.count == 1]
    if not alike or f"{InjectKind.SECOND_WAVE} " in draw.taken:
        return None
    count = max(1, round(share * len(draw.people)))
    over = max(1.0, min(over, draw.end - at - BEFORE_AFTER))
    came = sorted(float(draw.rng.integers(1, int(over) + 1)) for _ in range(count))
    names = free_names(set(by_name), count, total=len(by_name) + count)
    patients = []
    for name, minutes in zip(names, came, strict=True):
        one = alike[int(draw.rng.integers(len(alike)))]
        alike = [each for each in alike if each.course[0].area == one.course[0].area]  # one lead is told
        stay = min(one.stay, one.leave - one.arrival.at)
        patients.append(replace(one, label=name, arrival=Arrival.together(at + minutes), stay=stay, leave=math.inf))
    draw.taken.add(f"{InjectKind.SECOND_WAVE} ")
    area = patients[0].course[0].area
    return Inject(InjectKind.SECOND_WAVE, at, area, patients=tuple(patients))


def _power(draw: _Draw) -> Inject | None:
    """Let the power fail where machines need it."""
    areas = sorted({lot.area for lot in draw.briefed.lots if lot.watts_each > 0})
    free = [area for area in areas if f"{InjectKind.POWER_FAILS} {area}" not in draw.taken]
    at, minutes = draw.moment(0.25, 0.6), draw.number(POWER)
    area = draw.one_of(free)
    return Inject(InjectKind.POWER_FAILS, at, area, minutes=minutes) if area else None


def _worse(draw: _Draw) -> Inject | None:
    """Let somebody need more oxygen than before: the next ladder up."""
    last = draw.start + LATEST * (draw.end - draw.start)
    able = {
        person.key: person
        for person in draw.people
        if len(person.stays) == 1
        and step_up(draw.briefed, person.stays[0]) is not None
        and min(last, person.leave - BEFORE_AFTER) >= person.arrive + BEFORE_AFTER
    }
    name = draw.one_of(list(able))
    if name is None:
        return None
    person = able[name]
    category, ladder = step_up(draw.briefed, person.stays[0]) or ("", "")
    at = draw.number((person.arrive + BEFORE_AFTER, min(last, person.leave - BEFORE_AFTER)))
    return Inject(InjectKind.PATIENT_WORSENS, at, person.stays[0].area, name, category=category, ladder=ladder)


def _move(draw: _Draw) -> Inject | None:
    """Let an area move where somebody changes cylinders; at most one does."""
    at, minutes = draw.moment(0.3, 0.65), draw.number(MOVE)
    staffed = {shift.area for shift in draw.briefed.staff if math.isfinite(shift.people)}
    areas = sorted(staffed & {stay.area for person in draw.people for stay in person.stays})
    if not areas or any(name.startswith(InjectKind.AREA_MOVES) for name in draw.taken):
        return None
    area = draw.one_of(areas)
    return Inject(InjectKind.AREA_MOVES, at, area, minutes=minutes) if area else None


_KINDS: dict[InjectKind, Callable[[_Draw], Inject | None]] = {
    InjectKind.REGULATOR_LEAKS: _leak,
    InjectKind.CYLINDER_LOW: _low,
    InjectKind.WRONG_WASHER: _washer,
    InjectKind.DELIVERY_LATE: _late,
    InjectKind.SECOND_WAVE: _wave,
    InjectKind.POWER_FAILS: _power,
    InjectKind.PATIENT_WORSENS: _worse,
    InjectKind.AREA_MOVES: _move,
}
