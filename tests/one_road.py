"""One truck, one road, one area: small incidents of which every answer can be worked out with pencil and paper.

A patient draws 10 L/min, a small cylinder lasts half an hour, a change of cylinder takes no time.  The truck is loaded
in 5 min and unloaded in 5 min, and loads at the depot, half an hour away.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

from incidents import patients
from joint import ITEMS, errand, truck
from small_network import both_ways, cylinder, full_lot

from mci.pipeline import run
from mci.plan.deliver import deliver
from mci.plan.trips import Trip
from mci.resupply.planner import Planner
from mci.resupply.schedule import Goal, Schedule
from mci.scenario.model import Scenario
from mci.scenario.network import Item, Stock
from mci.settings import Settings

__all__ = ["FULL", "TRUCK", "items", "one_road", "plan", "planner", "reached"]

FULL = "small full"
TRUCK = truck(loading=5, unloading=5)


KINDS = {"small": cylinder("small", 300), "large": cylinder("large", 1200)}


def _real(item: Item, change: float) -> Item:
    """Return an item with gas of a cylinder that holds no more than that."""
    if item.lot is None:
        return item
    kind = KINDS[item.cylinder]
    return dataclasses.replace(item, lot=dataclasses.replace(full_lot(kind, item.lot.litres_each), change_min=change))


def items(change: float = 0) -> dict[str, Item]:
    """Return what can be carried; a change of cylinder takes so many minutes."""
    return {key: _real(item, change) for key, item in ITEMS.items()}


def one_road(
    own: int = 2,
    *,
    minutes: float = 30,
    horizon: float = 120,
    people: int = 1,
    regulators: int = 9,
    change: float = 0,
    **changes: object,
) -> Scenario:
    """Return an incident in which an area has a few small cylinders of its own, and the depot six.

    Parameters
    ----------
    own
        Small cylinders at the area.
    minutes
        Travel time of the road [min].
    people
        Immediate patients, there from T+0 on.
    regulators
        Single regulators at the area.
    change
        Time that a change of cylinder takes [min].
    changes
        Fields of the network.
    """
    net = {
        "roads": both_ways("road", "a", "depot", minutes),
        "vehicles": (TRUCK,),
        "stock": (Stock("depot", FULL, 6, 0),),
        "items": items(change),
        **changes,
    }
    made = errand(horizon=horizon, people=[patients(people, "one")], regulators=regulators, **net)  # type: ignore[arg-type]
    lot = dataclasses.replace(full_lot(KINDS["small"], 300, own, key="own", area="a"), change_min=change)
    return dataclasses.replace(made, lots=(lot,) if own else ())


def planner(incident: Scenario, share: float | None = None) -> Planner:
    """Return the planner; with a share it is the goal for Immediate."""
    return Planner(incident, Settings(), [] if share is None else [Goal("immediate", share)])


def plan(incident: Scenario, share: float | None = None, *, losses: bool = False) -> Schedule:
    """Return the planned trips with their last safe times."""
    asked = planner(incident, share)
    return asked.schedule(asked.trips(), losses=losses)


def reached(incident: Scenario, trips: Sequence[Trip]) -> float:
    """Return what orders on what trips bring reach, as the judge found it [weighted credit-minutes]."""
    judged = run(deliver(incident, trips), Settings(), further=False).executable
    assert judged is not None
    return judged.verdict.weighted
