"""How things stand at a moment of a replay: the contract between what was done and whoever goes on from there."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from mci.plan.orders import Action

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from mci.plan.orders import Order
    from mci.replay.floor import Draw, Floor
    from mci.replay.verdict import Service

__all__ = ["Connection", "Standing", "describe"]


@dataclass(frozen=True, slots=True)
class Connection:
    """A patient on a device at a flow [L/min]; ``regulator`` is empty on outlets of the supply's own.

    ``gas`` tells whether oxygen comes: not where the supply or the regulator is empty or gone, nor where the regulator
    sits on none.  ``since`` is when the running service began, or where no gas comes since when not [min].
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
    begun
        Since when those of ``busy`` have been at it, by name [min].
    orders
        The orders that have been carried out, in the order of time.
    """

    minute: float
    litres: Mapping[str, float]
    fitted: Mapping[str, str]
    connected: Mapping[str, Connection]
    owned: frozenset[tuple[str, str]]
    handed_out: Mapping[tuple[str, str], int]
    busy: Mapping[str, float]
    services: tuple[Service, ...]
    begun: Mapping[str, float] = field(default_factory=dict)
    orders: tuple[Order, ...] = ()


def describe(floor: Floor, now: float, done: Sequence[Order], later: Sequence[Order]) -> Standing:
    """Return how things stand on a floor on which orders have been carried out up to a moment; it ends the floor.

    Parameters
    ----------
    floor, now
        The areas, and the moment [min].
    done, later
        Orders that have been carried out, and those of later moments.
    """
    for tank in floor.tanks.values():
        floor.settle(tank, now)
    connected = {patient: _connection(draw) for patient, draw in floor.draws.items()}
    floor.finish(now)
    under_way = list(_under_way(floor, later, now))
    return Standing(
        minute=now,
        litres={key: max(tank.litres, 0.0) for key, tank in floor.tanks.items()},
        fitted=_fitted(floor),
        connected=connected,
        owned=frozenset(floor.owned),
        handed_out=dict(floor.handed_out),
        busy={by: end for by, _, end in under_way},
        services=tuple(sorted(floor.services, key=lambda each: (each.start, each.patient))),
        begun={by: begin for by, begin, _ in under_way},
        orders=tuple(done),
    )


def _connection(draw: Draw) -> Connection:
    head = draw.head
    tank = head.tank if head is not None else None
    gas = math.isnan(draw.dry) and (tank is None or draw.flow == 0 or tank.litres > tank.slack)
    return Connection(
        device=draw.device,
        flow_lpm=draw.flow,
        supply=tank.supply.key if tank is not None else "",
        regulator=head.key if head is not None else "",
        gas=gas,
        since=draw.since if math.isnan(draw.dry) else draw.dry,
    )


def _fitted(floor: Floor) -> dict[str, str]:
    """Return what sits on what; a regulator that the orders do not name is left out."""
    found = {head.key: head.tank.supply.key for head in floor.heads.values() if head.tank is not None}
    for key, tank in floor.tanks.items():
        if tank.supply.must_be_opened and tank.own is not None and tank.own.tank is tank:
            found[key] = key
    return found


def _under_way(floor: Floor, later: Sequence[Order], now: float) -> Iterator[tuple[str, float, float]]:
    """Yield who is changing a cylinder, since when and until when [min]; of several changes the first."""
    for order in reversed(later):
        tank = floor.tanks.get(order.supply)
        begin = order.begin
        if begin == order.minute and tank is not None:
            begin -= tank.supply.lot.change_min
        if order.action is Action.CHANGE and order.by and begin < now:
            yield order.by, begin, order.minute
