"""The rows of transport: vehicles, what they carry, what is in store, what is filled.

Notation: ``go_fhp`` vehicles of fleet ``f`` that leave on hop ``h`` in step ``p``; ``carry_ihp`` things of kind
``i`` that leave with them; ``wait_fnp`` vehicles and ``store_inp`` things at place ``n`` at the end of
step ``p``; ``fill_np`` cylinders filled; ``emptied_anp`` cylinders used up at an area by the end of step ``p``, and
``free_anp`` of them set free, both counted from the start.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from mci.lp.given import Given
from mci.lp.haul_columns import Hauls
from mci.lp.haulage import NEVER, Fleet, Haulage
from mci.lp.names import make_name
from mci.lp.programme import ABSENT, Rows, RowWriter
from mci.plan.things import EMPTY_SHARE
from mci.scenario.network import ItemKind, Place, PlaceKind

__all__ = ["cylinder_links", "write_hauls"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


def _moves(writer: RowWriter, row: int, hauls: Hauls, columns: Ints, place: str) -> None:
    """Add what leaves a place and, with its step of arrival, what comes there: ``out - in``."""
    steps = np.arange(hauls.haulage.steps)
    for number, hop in enumerate(hauls.haulage.hops):
        if hop.start == place:
            writer.add(row + steps, columns[number], 1.0)
        if hop.end == place:
            there = np.where(hop.arrive == NEVER, ABSENT, columns[number])
            writer.add(row + np.maximum(hop.arrive, 0), there, -1.0)


def fleet_balance(hauls: Hauls) -> Rows:
    """Vehicles are somewhere: ``wait_fnp - wait_fn,p-1 + sum_out go - sum_in go = new_fnp``."""
    haulage, steps = hauls.haulage, hauls.haulage.steps
    writer, rhs = RowWriter(), np.zeros(0)
    names: list[str] = []
    for number, fleet in enumerate(haulage.fleets):
        for rank, place in enumerate(hauls.places):
            row = len(names)
            writer.add(row + np.arange(steps), hauls.wait[number, rank], 1.0)
            writer.add(row + np.arange(1, steps), hauls.wait[number, rank, :-1], -1.0)
            _moves(writer, row, hauls, hauls.go[number], place.key)
            new = np.zeros(steps)
            for vehicle in fleet.vehicles:
                begin = haulage.step(vehicle.available_from)
                new[begin] += (vehicle.place == place.key) * (begin != NEVER)
            names += [make_name("fleet", number, rank, step) for step in range(steps)]
            rhs = np.concatenate([rhs, new])
    return writer.finish(names, rhs, equal=True)


def _new_stock(hauls: Hauls, item: str, place: Place) -> Floats:
    """Return what is new in store in each step: where nobody is treated, once it can have been loaded."""
    haulage, new = hauls.haulage, np.zeros(hauls.haulage.steps)
    used_here = place.kind is PlaceKind.AREA or haulage.network.items[item].kind is ItemKind.EMPTY
    loading = 0.0 if used_here else min((v.loading for v in haulage.network.vehicles), default=0.0)
    for stock in haulage.network.stock:
        opens = place.open[0].start if place.open else math.inf
        step = haulage.step(max(stock.available_from, opens) + loading)
        if (stock.item, stock.place) == (item, place.key) and step != NEVER:
            new[step] += stock.quantity
    return new


def store_balance(hauls: Hauls, given: Given) -> Rows:
    """Things are somewhere: ``store_p - store_p-1 + out - in + (given_p - given_p-1) -+ fill - free = new``.

    Filling takes an empty and makes a full one; what is given to care leaves the store for good.
    """
    steps = hauls.haulage.steps
    first, later = np.arange(steps), np.arange(1, steps)
    granted = {(grant.item.key, grant.area): given.number[row] for row, grant in enumerate(given.grants)}
    empty_of = {item.cylinder: key for key, item in hauls.haulage.network.items.items() if item.kind is ItemKind.EMPTY}
    writer, rhs = RowWriter(), np.zeros(0)
    names: list[str] = []
    base: dict[tuple[str, int], int] = {}
    for number, key in enumerate(hauls.items):
        for rank, place in enumerate(hauls.places):
            row = base[key, rank] = len(names)
            writer.add(row + first, hauls.store[number, rank], 1.0)
            writer.add(row + later, hauls.store[number, rank, :-1], -1.0)
            _moves(writer, row, hauls, hauls.carry[number], place.key)
            columns = granted.get((key, place.key))
            if columns is not None:
                writer.add(row + first, columns, 1.0)
                writer.add(row + later, columns[:-1], -1.0)
            writer.add(row + first, hauls.fill[number, rank], -1.0)
            writer.add(row + first, hauls.free[number, rank], -1.0)
            writer.add(row + later, hauls.free[number, rank, :-1], 1.0)
            names += [make_name("store", number, rank, step) for step in range(steps)]
            rhs = np.concatenate([rhs, _new_stock(hauls, key, place)])
    for number, key in enumerate(hauls.items):
        for rank, _ in enumerate(hauls.places):
            if (hauls.fill[number, rank] != ABSENT).any():
                row = base[empty_of[hauls.haulage.network.items[key].cylinder], rank]
                writer.add(row + first, hauls.fill[number, rank], 1.0)
    return writer.finish(names, rhs, equal=True)


def given_stays(given: Given) -> Rows:
    """What is given is never taken back: ``given_p-1 <= given_p``."""
    grants, steps = given.number.shape
    writer = RowWriter()
    for row in range(grants):
        rows = row * steps + np.arange(1, steps)
        writer.add(rows, given.number[row, :-1], 1.0)
        writer.add(rows, given.number[row, 1:], -1.0)
    return writer.finish([make_name("stays", g, p) for g in range(grants) for p in range(steps)], 0.0)


def capacity(hauls: Hauls) -> Rows:
    """Vehicles take what their slots take: ``sum_i carry_ihp <= sum_f slots_f go_fhp`` per kind of cylinder.

    Other things need a vehicle at all: ``carry_ihp <= all there are x go_fhp``.
    """
    haulage = hauls.haulage
    items = haulage.network.items
    groups: dict[str, list[int]] = {}
    for number, key in enumerate(hauls.items):
        groups.setdefault(items[key].cylinder or key, []).append(number)
    total = {key: sum(s.quantity for s in haulage.network.stock if s.item == key) for key in items}
    steps, hops = np.arange(haulage.steps), len(haulage.hops)
    writer = RowWriter()
    names: list[str] = []
    for group, (name, members) in enumerate(groups.items()):
        for hop in range(hops):
            rows = len(names) + steps
            for number in members:
                writer.add(rows, hauls.carry[number, hop], 1.0)
            for number, fleet in enumerate(haulage.fleets):
                most = total[name] if name in total else fleet.like.slots.get(name, 0)
                writer.add(rows, hauls.go[number, hop], -float(most))
            names += [make_name("capacity", group, hop, step) for step in steps.tolist()]
    return writer.finish(names, 0.0)


def payload(hauls: Hauls) -> Rows:
    """Vehicles take what they can bear: ``sum_i kg_i carry_ihp <= sum_f payload_f go_fhp`` where all have a limit."""
    haulage = hauls.haulage
    steps = np.arange(haulage.steps)
    writer = RowWriter()
    names: list[str] = []
    for on_foot in (False, True):
        fleets = [number for number, fleet in enumerate(haulage.fleets) if fleet.like.on_foot == on_foot]
        if not fleets or any(math.isinf(haulage.fleets[n].like.payload_kg) for n in fleets):
            continue
        for hop in (n for n, each in enumerate(haulage.hops) if each.on_foot == on_foot):
            rows = len(names) + steps
            for number, key in enumerate(hauls.items):
                if haulage.network.items[key].kg > 0:
                    writer.add(rows, hauls.carry[number, hop], haulage.network.items[key].kg)
            for number in fleets:
                writer.add(rows, hauls.go[number, hop], -haulage.fleets[number].like.payload_kg)
            names += [make_name("payload", hop, step) for step in steps.tolist()]
    return writer.finish(names, 0.0)


def _over_by(haulage: Haulage, minutes: float) -> Ints:
    """Return, per step of leaving, the step by whose end that many minutes on the road are surely over."""
    leave_at_most = haulage.ends + minutes
    return np.searchsorted(haulage.ends, leave_at_most - 1e-9)


def minutes_on_road(hauls: Hauls) -> Rows:
    """Add up what is over: ``driven_fq = sum minutes_h go_fhp``; a way left in ``p`` is, so long after its end."""
    haulage, steps = hauls.haulage, hauls.haulage.steps
    writer = RowWriter()
    for number in range(len(haulage.fleets)):
        writer.add(number * steps + np.arange(steps), hauls.driven[number], -1.0)
        for hop, each in enumerate(haulage.hops):
            over = _over_by(haulage, each.minutes)
            columns = np.where(over < steps, hauls.go[number, hop], ABSENT)
            writer.add(number * steps + np.minimum(over, steps - 1), columns, each.minutes)
    names = [make_name("driven", n, step) for n in range(len(haulage.fleets)) for step in range(steps)]
    return writer.finish(names, 0.0, equal=True)


def road_time(hauls: Hauls) -> Rows:
    """Nobody drives longer than there is time: ``sum_(q <= p) driven_fq <= vehicle minutes by the end of p``."""
    haulage, steps = hauls.haulage, hauls.haulage.steps
    writer = RowWriter()
    for number in range(len(haulage.fleets)):
        for step in range(steps):
            writer.add(number * steps + step, hauls.driven[number, : step + 1], 1.0)
    names = [make_name("road", n, step) for n in range(len(haulage.fleets)) for step in range(steps)]
    minutes = [_vehicle_minutes(haulage, fleet) for fleet in haulage.fleets]
    return writer.finish(names, np.concatenate([*minutes, np.zeros(0)]))


def handling(hauls: Hauls, given: Given) -> Rows:
    """Stops take time: ``sum_f sum_(q <= p) driven_fq + h_c sum_a given_acp <= vehicle minutes by the end of p``.

    One row per kind of cylinder and one for weight.  Whatever is given beyond what areas have themselves was loaded
    and unloaded, each time no more than a vehicle takes: ``h_c`` is the least of (loading + unloading) / slots, or
    of (loading + unloading) / payload per kg.
    """
    haulage, steps = hauls.haulage, hauls.haulage.steps
    area = {place.key for place in hauls.places if place.kind is PlaceKind.AREA}
    minutes = np.sum([_vehicle_minutes(haulage, fleet) for fleet in haulage.fleets], axis=0)
    writer = RowWriter()
    rhs: list[Floats] = []
    limits = _shares(haulage)
    for limit, shares in enumerate(limits):
        rows = limit * steps + np.arange(steps)
        own = sum(shares.get(each.item, 0.0) * each.quantity for each in haulage.network.stock if each.place in area)
        for row, grant in enumerate(given.grants):
            if grant.item.key in shares:
                writer.add(rows, given.number[row], shares[grant.item.key])
        for number in range(len(haulage.fleets)):
            for step in range(steps):
                writer.add(limit * steps + step, hauls.driven[number, : step + 1], 1.0)
        rhs.append(minutes + own)
    names = [make_name("handling", limit, step) for limit in range(len(limits)) for step in range(steps)]
    return writer.finish(names, np.concatenate([*rhs, np.zeros(0)]))


def _shares(haulage: Haulage) -> list[dict[str, float]]:
    """Return, per limit, the least minutes of handling that one of each full cylinder costs [min]."""
    full = [item for item in haulage.network.items.values() if item.kind is ItemKind.FULL]
    vehicles = [fleet.like for fleet in haulage.fleets]
    limits = []
    for kind in sorted({item.cylinder for item in full}):
        able = [(v.loading + v.unloading) / v.slots[kind] for v in vehicles if v.slots.get(kind, 0) > 0]
        limits.append({item.key: min(able) for item in full if item.cylinder == kind and able})
    per_kg = min(((v.loading + v.unloading) / v.payload_kg for v in vehicles if v.payload_kg > 0), default=0.0)
    limits.append({item.key: item.kg * per_kg for item in full})
    return [limit for limit in limits if any(share > 0 for share in limit.values())]


def _vehicle_minutes(haulage: Haulage, fleet: Fleet) -> Floats:
    minutes = np.zeros(haulage.steps)
    for vehicle in fleet.vehicles:
        minutes += np.clip(np.minimum(haulage.ends, vehicle.available_until) - vehicle.available_from, 0.0, None)
    return minutes


def crews(hauls: Hauls) -> Rows:
    """No more people under way than there are: ``sum crew_f go_fhp <= crews`` over whoever is on the road.

    Counted at the start of each step after the one of leaving and before the one of arriving.
    """
    haulage, steps = hauls.haulage, hauls.haulage.steps
    writer = RowWriter()
    if math.isfinite(haulage.network.crews):
        for number, fleet in enumerate(haulage.fleets):
            for hop, each in enumerate(haulage.hops):
                for step in range(steps):
                    away = np.arange(step + 1, each.arrive[step]) if each.arrive[step] != NEVER else np.arange(0)
                    columns = np.full(len(away), hauls.go[number, hop, step])
                    writer.add(away, columns, float(fleet.like.crew))
    return writer.finish([make_name("crews", step) for step in range(steps)], haulage.network.crews)


def filling(hauls: Hauls) -> Rows:
    """Fill no faster than the station does: ``sum_(q <= p) fill <= cylinders an hour x open hours``, litres too."""
    haulage, steps = hauls.haulage, hauls.haulage.steps
    writer = RowWriter()
    names: list[str] = []
    rhs: list[float] = []
    for rank, place in enumerate(hauls.places):
        if place.filling is None:
            continue
        open_minutes = np.array([_open_until(place, end) for end in haulage.ends])
        for limit, per_hour in enumerate((place.filling.per_hour, place.filling.litres_per_hour)):
            for step in range(steps):
                for number, key in enumerate(hauls.items):
                    lot = haulage.network.items[key].lot
                    each = 1.0 if limit == 0 or lot is None else lot.litres_each
                    writer.add(len(names), hauls.fill[number, rank, : step + 1], each)
                names.append(make_name("filling", rank, limit, step))
                rhs.append(per_hour * open_minutes[step] / 60.0 if math.isfinite(per_hour) else math.inf)
    return writer.finish(names, rhs)


def _open_until(place: Place, end: float) -> float:
    return sum(max(0.0, min(window.end, end) - window.start) for window in place.open)


def emptied(hauls: Hauls, given: Given) -> Rows:
    """Count what is used up: ``emptied_p = emptied_p-1 + (drawn_p - drawn_p-1) / v``, own cylinders likewise.

    ``v`` is what must have been drawn of a cylinder that counts as empty: all but ``EMPTY_SHARE`` of its litres.
    """
    steps = hauls.haulage.steps
    first, later = np.arange(steps), np.arange(1, steps)
    granted = {grant.key for grant in given.grants}
    writer = RowWriter()
    names: list[str] = []
    for number, rank, place, cylinder in _emptying(hauls):
        row = len(names)
        writer.add(row + first, hauls.emptied[number, rank], -1.0)
        writer.add(row + later, hauls.emptied[number, rank, :-1], 1.0)
        for grant, each in enumerate(given.grants):
            if (each.area, each.item.cylinder) == (place, cylinder) and each.item.lot is not None:
                litres = (1.0 - EMPTY_SHARE) * each.item.lot.litres_each
                writer.add(row + first, given.drawn[grant], 1.0 / litres)
                writer.add(row + later, given.drawn[grant, :-1], -1.0 / litres)
        for link, litres_each in cylinder_links(given, place, cylinder):
            if _lot_key(given, link) not in granted:
                used_up = _flow(given, link) * given.index.grid.lengths / ((1.0 - EMPTY_SHARE) * litres_each)
                writer.add(row + given.step_of, given.variables.connect[link], used_up)
        names += [make_name("emptied", number, rank, step) for step in range(steps)]
    return writer.finish(names, 0.0, equal=True)


def _emptying(hauls: Hauls) -> Iterator[tuple[int, int, str, str]]:
    """Yield item, row of the area, area and kind of cylinder of everything that is set free."""
    for number, key in enumerate(hauls.items):
        for rank, place in enumerate(hauls.places):
            if (hauls.free[number, rank] != ABSENT).any():
                yield number, rank, place.key, hauls.haulage.network.items[key].cylinder


def empties(hauls: Hauls, given: Given) -> Rows:
    """A cylinder is empty when its gas has been drawn, and set free once: ``free_p-1 <= free_p <= emptied_p``.

    Nor are more set free than there are: ``free_p <= own + sum given_p``.
    """
    steps = hauls.haulage.steps
    first, later = np.arange(steps), np.arange(1, steps)
    granted = {grant.key for grant in given.grants}
    writer = RowWriter()
    names: list[str] = []
    rhs: list[float] = []
    for number, rank, place, cylinder in _emptying(hauls):
        row = len(names)
        writer.add(row + first, hauls.free[number, rank], 1.0)
        writer.add(row + first, hauls.emptied[number, rank], -1.0)
        writer.add(row + steps + later, hauls.free[number, rank, :-1], 1.0)
        writer.add(row + steps + later, hauls.free[number, rank, 1:], -1.0)
        writer.add(row + 2 * steps + first, hauls.free[number, rank], 1.0)
        for grant, each in enumerate(given.grants):
            if (each.area, each.item.cylinder) == (place, cylinder):
                writer.add(row + 2 * steps + first, given.number[grant], -1.0)
        own = (lot for lot in given.scenario.lots if lot.area == place and lot.key not in granted)
        count = sum(lot.quantity for lot in own if lot.cylinder is not None and lot.cylinder.key == cylinder)
        for family, limit in (("empties", 0.0), ("freed", 0.0), ("there", float(count))):
            names += [make_name(family, number, rank, step) for step in range(steps)]
            rhs += [limit] * steps
    return writer.finish(names, rhs)


def _flow(given: Given, link: int) -> float:
    return given.index.levels[given.variables.links[link].level].flow


def _lot_key(given: Given, link: int) -> str:
    return given.index.lots[given.index.sources[given.variables.links[link].source].lot].key


def cylinder_links(given: Given, area: str, cylinder: str) -> list[tuple[int, float]]:
    """Return the links to cylinders of a kind at an area, with the least litres that one of their lot holds."""
    found = []
    for number, link in enumerate(given.variables.links):
        lot = given.index.lots[given.index.sources[link.source].lot]
        if lot.area == area and lot.cylinder is not None and lot.cylinder.key == cylinder:
            found.append((number, min((unit.litres for unit in lot.units), default=lot.litres_each)))
    return found


def write_hauls(hauls: Hauls, given: Given) -> list[Rows]:
    """Return every family of rows of transport."""
    transport = (fleet_balance, capacity, payload, minutes_on_road, road_time, crews, filling)
    return [
        *(family(hauls) for family in transport),
        store_balance(hauls, given),
        handling(hauls, given),
        given_stays(given),
        emptied(hauls, given),
        empties(hauls, given),
    ]
