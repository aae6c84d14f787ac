"""The laws of what there is to be loaded: stock of places, cylinders that are filled, cylinders that are used up.

At one moment what comes is there before anything is loaded.  What was loaded though it was not there is told once
and then not missed again.
"""

from __future__ import annotations

import math
from collections import defaultdict
from typing import TYPE_CHECKING

from mci.plan.things import EMPTY_SHARE, find_supplies
from mci.replay.floor import TOLERANCE
from mci.replay.visits import Fault, Visits
from mci.replay.words import at
from mci.scenario.network import ItemKind, PlaceKind

if TYPE_CHECKING:
    from collections.abc import Iterator

    from mci.replay.verdict import Verdict
    from mci.scenario.model import Scenario
    from mci.scenario.network import Item, Network, Place, Window

__all__ = ["STORE_LAWS", "judge_store"]

#: The laws by their names.
STORE_LAWS = ("stock", "filling", "empties")

_Came = dict[tuple[str, str], list[tuple[float, int]]]  # per place and item: when [min], how many


def judge_store(
    delivered: Scenario, network: Network, visits: Visits, verdict: Verdict | None
) -> Iterator[tuple[str, Fault]]:
    """Yield what is loaded and is not there ``loading`` minutes before the vehicle leaves, with the law.

    The law is ``empties`` for empties at areas, ``filling`` for what a fill station makes, ``stock`` for the rest.

    Parameters
    ----------
    delivered
        The incident with what the trips bring, on which orders were judged.
    verdict
        Of those orders; ``None`` where there are none: nobody knows then which cylinders are used up.
    """
    came = _came(network, visits)
    made = _fill(network, visits, came)
    if verdict is not None:
        _add_used_up(delivered, network, verdict, came)
    loaded: dict[tuple[str, str], list[tuple[float, int, int]]] = defaultdict(list)
    for visit in visits:
        if visit.place is None or visit.place.kind is PlaceKind.JUNCTION:
            continue  # told by other laws
        for carried in visit.load:
            loaded[visit.stop.place, carried.item.key].append((visit.loading_at, carried.row, carried.quantity))
    areas = {place.key for place in network.places if place.kind is PlaceKind.AREA}
    for (place, item), loadings in loaded.items():
        empties = place in areas and network.items[item].kind is ItemKind.EMPTY
        law = "empties" if empties else "filling" if (place, item) in made else "stock"
        for fault in _short(place, item, came[place, item], loadings):
            if empties and verdict is None:
                reason = f"{fault.reason}; without orders nobody knows how many are used up by then"
                yield law, Fault(fault.row, fault.minute, reason, judged=False)
            else:
                yield law, fault


def _short(
    place: str, item: str, came: list[tuple[float, int]], loadings: list[tuple[float, int, int]]
) -> Iterator[Fault]:
    gone = 0
    for moment, row, quantity in sorted(loadings):
        there = sum(int(count) for when, count in came if when <= moment + TOLERANCE) - gone
        if quantity > there:
            yield Fault(
                row, moment, f"{quantity} {item} are loaded at {place} from {at(moment)} on, where {there} are then"
            )
        gone += min(quantity, there)


def _came(network: Network, visits: Visits) -> _Came:
    """Return what is at places from the start, and what trips unload there."""
    came: _Came = defaultdict(list)
    for stock in network.stock:
        came[stock.place, stock.item].append((stock.available_from, stock.quantity))
    for visit in visits:
        for carried in visit.unload:
            came[visit.stop.place, carried.item.key].append((visit.unloaded_at, carried.quantity))
    return came


def _fill(network: Network, visits: Visits, came: _Came) -> set[tuple[str, str]]:
    """Turn the empties at fill stations into full cylinders; return what is made where.

    One after the other in the order of coming (at one moment: what is there from the start, then as in the table), each
    within one opening, and each for ``max(60 / cylinders an hour, 60 litres / litres an hour)`` minutes.
    """
    made = set()
    for place in network.places:
        becomes = {item.key: full for item in network.items.values() if (full := _filled(network, place, item))}
        queue = [(each.available_from, each.quantity, each.item) for each in network.stock if each.place == place.key]
        for visit in sorted(visits, key=lambda each: each.row):
            if visit.place is place:
                queue += [(visit.unloaded_at, carried.quantity, carried.item.key) for carried in visit.unload]
        now = 0.0
        for when, count, empty in sorted(queue, key=lambda each: each[0]):
            if empty in becomes:
                now = max(now, when)
                for _ in range(count):
                    now = _next_done(place.open, now, _minutes(place, becomes[empty]))
                    came[place.key, becomes[empty].key].append((now, 1))
        for empty, full in becomes.items():
            came.pop((place.key, empty), None)
            made.add((place.key, full.key))
    return made


def _filled(network: Network, place: Place, empty: Item) -> Item | None:
    """Return what an empty becomes at a fill station: a cylinder of its kind at the full pressure."""
    if place.filling is None or empty.kind is not ItemKind.EMPTY or empty.cylinder not in place.filling.cylinders:
        return None
    for item in network.items.values():
        lot = item.lot
        if lot and lot.cylinder and lot.cylinder.key == empty.cylinder and lot.gauge_psi == lot.cylinder.full_psi:
            return item
    return None


def _minutes(place: Place, full: Item) -> float:
    """Return how long one cylinder takes [min]."""
    if place.filling is None or full.lot is None:
        return math.inf
    return max(60 / place.filling.per_hour, 60 * full.lot.litres_each / place.filling.litres_per_hour)


def _next_done(windows: tuple[Window, ...], now: float, minutes: float) -> float:
    """Return when a cylinder is full that is begun at ``now`` or, where the station closes before, later [min]."""
    for window in windows:
        done = max(now, window.start) + minutes
        if done <= window.end + TOLERANCE:
            return done
    return math.inf


def _add_used_up(delivered: Scenario, network: Network, verdict: Verdict, came: _Came) -> None:
    """Add the cylinders of areas that are used up: off their last regulator with next to nothing left."""
    supplies = {supply.key: supply for supply in find_supplies(delivered)}
    last = {holding.supply: holding for holding in sorted(verdict.holdings, key=lambda each: each.end)}
    empties = {item.cylinder: item.key for item in network.items.values() if item.kind is ItemKind.EMPTY}
    for key, holding in last.items():
        cylinder = supplies[key].lot.cylinder
        if cylinder and cylinder.key in empties and holding.litres_after <= EMPTY_SHARE * supplies[key].litres:
            came[holding.area, empties[cylinder.key]].append((holding.end, 1))
