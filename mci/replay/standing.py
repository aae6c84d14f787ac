"""How things stand at a moment of a replay: the contract between what was done and whoever goes on from there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from mci.replay.verdict import Service

__all__ = ["Connection", "Standing"]


@dataclass(frozen=True, slots=True)
class Connection:
    """A patient on a device at a flow [L/min]; ``regulator`` is empty on outlets of the supply's own.

    ``gas`` tells whether oxygen comes: not where the supply is empty or gone, nor where the regulator sits on none.
    """

    device: str
    flow_lpm: float
    supply: str
    regulator: str
    gas: bool
    since: float


@dataclass(frozen=True, slots=True)
class Standing:
    """How things stand just after the orders of a moment.

    Parameters
    ----------
    minute
        The moment [min].
    litres
        What is left above residual in every supply by name [L]; ``inf`` where gas is made or piped.
    fitted
        On which supply each regulator sits, by its name, and the cylinders with outlets of their own that were
        opened, each under its own name.
    connected
        Who is on what, by patient.
    owned
        Patients and the single-use devices that they were given.
    handed_out
        Single-use devices given out so far, per area and device.
    busy
        Until when each handler is busy with a change that has begun, by name [min]; only those later than now.
    services
        What has been given up to this moment.
    """

    minute: float
    litres: Mapping[str, float]
    fitted: Mapping[str, str]
    connected: Mapping[str, Connection]
    owned: frozenset[tuple[str, str]]
    handed_out: Mapping[tuple[str, str], int]
    busy: Mapping[str, float]
    services: tuple[Service, ...]
