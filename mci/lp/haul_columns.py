"""The columns of transport: vehicles, what they carry, what is in store, what is filled and set free."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from mci.lp.haulage import NEVER, Haulage, whereabouts
from mci.lp.programme import Columns
from mci.scenario.network import ItemKind, Place, PlaceKind
from mci.scenario.reach import carries, fills

__all__ = ["Hauls", "make_hauls"]

Ints = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Hauls:
    """Column numbers of transport, ``ABSENT`` where there is no column.

    Parameters
    ----------
    go
        Shape ``(fleets, hops, steps)``.
    carry
        Shape ``(items, hops, steps)``.
    wait
        Shape ``(fleets, places, steps)``.
    store
        Shape ``(items, places, steps)``.
    fill
        Shape ``(items, places, steps)``, for full cylinders at fill stations.
    emptied, free
        Shape ``(items, places, steps)``, for empty cylinders at areas.
    driven
        Minutes on the road surely over by the end of each step, shape ``(fleets, steps)``.
    """

    haulage: Haulage
    items: tuple[str, ...]
    places: tuple[Place, ...]
    go: Ints
    carry: Ints
    wait: Ints
    store: Ints
    fill: Ints
    emptied: Ints
    free: Ints
    driven: Ints


def make_hauls(haulage: Haulage, columns: Columns) -> Hauls:
    """Add every family of columns, only where something can be."""
    network = haulage.network
    items = tuple(network.items)
    places = haulage.places
    where = whereabouts(haulage)
    shape = (len(haulage.hops), haulage.steps)
    arrives = np.array([hop.arrive for hop in haulage.hops]).reshape(shape) != NEVER
    on_foot = np.array([hop.on_foot for hop in haulage.hops], dtype=bool)
    go = np.array([arrives & (on_foot == fleet.like.on_foot)[:, None] for fleet in haulage.fleets], dtype=bool)
    carried = []
    for key in items:
        modes = {fleet.like.on_foot for fleet in haulage.fleets if carries(fleet.like, network.items[key])}
        here = np.array([hop.on_foot in modes and hop.start in where[key] for hop in haulage.hops], dtype=bool)
        carried.append(arrives & here[:, None])
    present = np.array([[place.key in where[key] for place in places] for key in items], dtype=bool)
    filled = np.array([[fills(network, place, network.items[key]) for place in places] for key in items], dtype=bool)
    empty = np.array([network.items[key].kind is ItemKind.EMPTY for key in items], dtype=bool)
    area = np.array([place.kind is PlaceKind.AREA for place in places], dtype=bool)
    by_step = np.ones(haulage.steps, dtype=bool)

    def add(family: str, pairs: npt.NDArray[np.bool_]) -> Ints:
        return columns.add(family, pairs[:, :, None] & by_step)

    return Hauls(
        haulage=haulage,
        items=items,
        places=places,
        go=columns.add("go", go.reshape(len(haulage.fleets), *shape)),
        carry=columns.add("carry", np.array(carried, dtype=bool).reshape(len(items), *shape)),
        wait=add("wait", np.ones((len(haulage.fleets), len(places)), dtype=bool)),
        store=add("store", present),
        fill=add("fill", filled),
        emptied=add("emptied", present & empty[:, None] & area),
        free=add("free", present & empty[:, None] & area),
        driven=columns.add("driven", np.ones((len(haulage.fleets), haulage.steps), dtype=bool)),
    )
