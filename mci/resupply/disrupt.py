"""A network after something is lost or late: a road, a vehicle, or what a place gives."""

from __future__ import annotations

import difflib
from dataclasses import replace
from typing import TYPE_CHECKING

from mci.errors import UsageError
from mci.scenario.network import PlaceKind, Window
from mci.units import format_duration

if TYPE_CHECKING:
    from collections.abc import Iterable

    from mci.scenario.network import Network, Place

__all__ = ["delayed", "disrupt", "parts_of", "without"]


def parts_of(network: Network) -> dict[str, str]:
    """Return what can be lost by itself: per key ``road``, ``vehicle`` or ``place``; areas and junctions are none."""
    bare = (PlaceKind.AREA, PlaceKind.JUNCTION)
    return {
        **{road.key: "road" for road in network.roads},
        **{place.key: "place" for place in network.places if place.kind not in bare},
        **{vehicle.key: "vehicle" for vehicle in network.vehicles},
    }


def without(network: Network, key: str) -> Network:
    """Return the network without a road (both ways), without a vehicle, or with a place that gives nothing.

    Raises
    ------
    UsageError
        If there is no such thing.
    """
    kind = _kind(network, key)
    if kind == "road":
        return replace(network, roads=tuple(road for road in network.roads if road.key != key))
    if kind == "vehicle":
        return replace(network, vehicles=tuple(each for each in network.vehicles if each.key != key))
    places = tuple(replace(each, filling=None) if each.key == key else each for each in network.places)
    return replace(network, places=places, stock=tuple(each for each in network.stock if each.place != key))


def delayed(network: Network, key: str, minutes: float) -> Network:
    """Return the network with a vehicle, or whatever a place gives, so many minutes later [min].

    Stock that is there from the start can be loaded that much later, and filling begins that much later.

    Raises
    ------
    UsageError
        If there is no such vehicle or place.
    """
    kind = _kind(network, key)
    if kind == "road":
        raise UsageError(
            f"{key!r} is a road: name the vehicle or place that is late, or close the road in the scenario"
        )
    if kind == "vehicle":
        late = (replace(v, available_from=v.available_from + minutes) if v.key == key else v for v in network.vehicles)
        return replace(network, vehicles=tuple(late))
    places = tuple(_opens_later(each, minutes) if each.key == key else each for each in network.places)
    stock = (
        replace(each, available_from=each.available_from + minutes) if each.place == key else each
        for each in network.stock
    )
    return replace(network, places=places, stock=tuple(stock))


def disrupt(
    network: Network, lost: Iterable[str], late: Iterable[tuple[str, float]]
) -> tuple[Network, tuple[str, ...]]:
    """Return the network after all of some losses and delays [min], and those in words.

    Raises
    ------
    UsageError
        If there is no such thing.
    """
    words = []
    for key in lost:
        words.append(f"without {_kind(network, key)} {key}")
        network = without(network, key)
    for key, minutes in late:
        words.append(f"with {_kind(network, key)} {key} {format_duration(minutes)} late")
        network = delayed(network, key, minutes)
    return network, tuple(words)


def _opens_later(place: Place, minutes: float) -> Place:
    begin = place.open[0].start + minutes if place.open else 0.0
    left = tuple(Window(max(each.start, begin), each.end) for each in place.open if each.end > begin)
    return replace(place, open=left)


def _kind(network: Network, key: str) -> str:
    known = parts_of(network)
    if key not in known:
        near = difflib.get_close_matches(key, known, n=1)
        hint = f"; did you mean {near[0]!r}?" if near else f": there are {', '.join(sorted(known))}"
        raise UsageError(f"the network has no road, place or vehicle {key!r}{hint}")
    return known[key]
