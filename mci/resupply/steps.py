"""A network cut into steps of time for the programme, and what may be given where."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from mci.demand.groups import Demand, count_demand
from mci.lp.given import Grant
from mci.lp.haulage import NEVER, Haulage, Hop, find_fleets, whereabouts
from mci.plan.deliver import take_away
from mci.resupply.routes import Routes
from mci.scenario.model import DeviceStock
from mci.scenario.network import ItemKind, PlaceKind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from mci.scenario.model import Lot, Scenario
    from mci.scenario.network import Network

__all__ = ["count_own", "cut", "find_grants", "less_of", "make_haulage", "with_allowance", "without_lent"]

Floats = npt.NDArray[np.float64]


def cut(horizon: float, step: float) -> tuple[Floats, Floats]:
    """Return the start and the end of each step [min]; the last one may be shorter."""
    starts = np.array([step * number for number in range(math.ceil(horizon / step - 1e-9))])
    return starts, np.append(starts[1:], horizon)


def make_haulage(network: Network, horizon: float, step: float) -> Haulage:
    """Cut a network into steps.

    Parameters
    ----------
    horizon
        End of the plan [min].
    step
        Length of a step; the last one may be shorter [min].
    """
    starts, ends = cut(horizon, step)
    haulage = Haulage(network, starts, ends, (), find_fleets(network.vehicles))
    hops = []
    for on_foot in sorted({vehicle.on_foot for vehicle in network.vehicles}):
        for start, end in _neighbours(haulage, on_foot=on_foot):
            hops.append(_hop(haulage, _between(haulage, start, end), start, end, on_foot=on_foot))
    return Haulage(network, starts, ends, tuple(hops), haulage.fleets)


def _neighbours(haulage: Haulage, *, on_foot: bool) -> list[tuple[str, str]]:
    """Return the pairs of places with a way that passes junctions only."""
    stops = dict.fromkeys(place.key for place in haulage.places)
    onward: dict[str, list[str]] = {place.key: [] for place in haulage.network.places}
    for road in haulage.network.roads:
        if road.on_foot is on_foot:
            onward[road.start].append(road.end)
    found = []
    for start in stops:
        seen, waiting = {start}, [start]
        while waiting:
            for end in onward[waiting.pop()]:
                if end not in seen:
                    seen.add(end)
                    if end in stops:
                        found.append((start, end))
                    else:
                        waiting.append(end)
    return found


def _between(haulage: Haulage, start: str, end: str) -> Network:
    """Return the network with no places but two, and the junctions between."""
    network = haulage.network
    keys = {place.key for place in network.places} - {place.key for place in haulage.places} | {start, end}
    return replace(
        network,
        places=tuple(place for place in network.places if place.key in keys),
        roads=tuple(road for road in network.roads if {road.start, road.end} <= keys),
    )


def _hop(haulage: Haulage, network: Network, start: str, end: str, *, on_foot: bool) -> Hop:
    routes = Routes(network, on_foot=on_foot)
    legs = [routes.soonest(start, end, float(moment)) for moment in haulage.starts]
    arrive = [NEVER if leg is None else haulage.step(leg.arrive) for leg in legs]
    return Hop(start, end, on_foot, np.array(arrive, dtype=np.intp), routes.minutes(start, end))


def find_grants(haulage: Haulage) -> tuple[Grant, ...]:
    """Return what may be given to which area: everything but empties, wherever it can be."""
    network = haulage.network
    where = whereabouts(haulage)
    return tuple(
        Grant(place.key, item)
        for place in network.places
        if place.kind is PlaceKind.AREA
        for item in network.items.values()
        if item.kind is not ItemKind.EMPTY and place.key in where[item.key]
    )


def less_of(lot: Lot, share: float) -> Lot:
    """Return a lot with a share less of the gas in each of its cylinders."""
    if lot.cylinder is None or share == 0:
        return lot
    left = 1.0 - share
    units = tuple(replace(unit, litres=left * unit.litres) for unit in lot.units)
    return replace(lot, litres=left * lot.litres, litres_each=left * lot.litres_each, units=units)


def with_allowance(network: Network, share: float) -> Network:
    """Return the network with a share less of the gas in each full cylinder; filling one takes as long as before."""
    items = {
        key: item if item.lot is None else replace(item, lot=less_of(item.lot, share))
        for key, item in network.items.items()
    }
    places = tuple(
        replace(each, filling=replace(each.filling, litres_per_hour=(1.0 - share) * each.filling.litres_per_hour))
        if each.filling
        else each
        for each in network.places
    )
    return replace(network, items=items, places=places)


def without_lent(scenario: Scenario, network: Network) -> Scenario:
    """Return the incident without what areas lend: that is in the network's stock."""
    lent: Counter[str] = Counter()
    for stock in network.stock:
        if stock.source:
            lent[stock.source] += stock.quantity
    return take_away(scenario, lent)


def count_own(own: Scenario, grants: Sequence[Grant], starts: Floats) -> Demand:
    """Count the patients where devices may be given too: whoever moves may bring one that was given elsewhere.

    Parameters
    ----------
    own
        The incident without what areas lend.
    starts
        Start of each step [min]; further breakpoints.
    """
    given = tuple(
        DeviceStock(grant.key, grant.area, grant.item.device, math.inf, 0.0, "")
        for grant in grants
        if grant.item.kind is ItemKind.DEVICE
    )
    return count_demand(replace(own, devices=(*own.devices, *given)), moments=starts.tolist())
