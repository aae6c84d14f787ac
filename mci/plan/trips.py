"""Trips: which vehicle takes what from where to where, when; one row per stop."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Cargo", "Stop", "Trip", "loading_stop"]


@dataclass(frozen=True, slots=True)
class Cargo:
    """A number of things of one kind (a key of ``Network.items``)."""

    item: str
    quantity: int


@dataclass(frozen=True, slots=True)
class Stop:
    """A place where a vehicle stops.

    A stop where something is unloaded takes the vehicle's unloading time, one where something is loaded its
    loading time, one after the other; what is unloaded can be used ``unloading`` minutes after ``arrive``,
    and what is loaded must be there ``loading`` minutes before ``depart``.

    Parameters
    ----------
    arrive
        When the vehicle is there and, where the place has hours, begins [min].
    depart
        When it leaves, or at the last stop, when it has done there [min].
    via
        Roads to the next stop, by key and in order; empty at the last one.
    """

    place: str
    arrive: float
    depart: float
    unload: tuple[Cargo, ...] = ()
    load: tuple[Cargo, ...] = ()
    via: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Trip:
    """One round of a vehicle, from where it loads to where it is free again.

    The next trip of the vehicle begins where this one ends.  A trip may begin with a stop at which nothing is
    loaded: the way to where it loads.

    Parameters
    ----------
    key
        Such as ``truck 1, trip 2``.
    stops
        Two or more, in order.
    """

    key: str
    vehicle: str
    stops: tuple[Stop, ...]


def loading_stop(trip: Trip) -> int:
    """Return the number of the stop at which a trip first loads something, 0 if it loads nothing."""
    return next((number for number, stop in enumerate(trip.stops[:-1]) if stop.load), 0)
