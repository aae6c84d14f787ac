"""Single points of failure: what the loss of each road, place and vehicle would cost, planned again without it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.resupply.care import NOTHING, difference
from mci.resupply.disrupt import parts_of, without
from mci.resupply.schedule import Loss

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from mci.plan.trips import Trip
    from mci.resupply.care import Care, Worth
    from mci.scenario.network import Network

__all__ = ["find_losses", "used_parts"]


def used_parts(trips: Iterable[Trip]) -> set[str]:
    """Return the keys of roads, places and vehicles without which some trip could not be."""
    used: set[str] = set()
    for trip in trips:
        used.add(trip.vehicle)
        for stop in trip.stops:
            used.update(stop.via)
            used.add(stop.place)
    return used


def find_losses(
    network: Network, care: Care, trips: Sequence[Trip], replan: Callable[[Network], Sequence[Trip]]
) -> tuple[Loss, ...]:
    """Return what each loss would cost, the largest first.

    What no trip uses costs nothing: the trips stay as they are.  Where planning again happens to find something
    better than before, nothing is lost either.

    Parameters
    ----------
    network
        The whole network.
    care
        What trips are worth.
    trips
        The trips with nothing lost.
    replan
        Plans the trips of another network.
    """
    now = care.worth(network, trips)
    used = used_parts(trips)
    losses = []
    for key, kind in parts_of(network).items():
        then = now
        if key in used:
            less = without(network, key)
            again = care.worth(less, replan(less))
            then = again if _is_worse(again, now) else now
        lost = difference(now.credit, then.credit)
        losses.append(Loss(kind, key, lost, max(0.0, now.weighted - then.weighted)))
    return tuple(sorted(losses, key=lambda loss: (-sum(loss.lost.values()), -loss.weighted, loss.kind, loss.key)))


def _is_worse(then: Worth, now: Worth) -> bool:
    """Tell whether more of the goals is missing or, where as much is, less is reached."""
    if abs(then.short - now.short) > NOTHING:
        return then.short > now.short
    return then.weighted < now.weighted
