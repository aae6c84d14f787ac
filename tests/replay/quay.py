"""A small invented incident with one of everything, and orders for it that can be carried out.

Three people at area ``a`` on two single regulators, two concentrators; one of them moves to area ``b`` with
its pipe.  Every law is one step away from being broken.
"""

from __future__ import annotations

import dataclasses

from incidents import concentrators, cylinders, ladder, outlet_set, patients, piped, regulator, scenario

from mci.plan.orders import Action, Order
from mci.scenario.model import Scenario, Spell

__all__ = ["change", "connect", "incident", "off", "orders", "other"]


def incident(**changes: object) -> Scenario:
    """Return the incident, with some of its fields changed."""
    people = {
        "P": patients(2, "high"),
        "M": patients(1, "high", then=(Spell(30, "b", "delayed", "low"),)),
        "L": patients(1, "low", category="delayed", arrive=5, stay=25),
    }
    made = scenario(
        horizon=60,
        ladders=[
            ladder("high", ("mask", 10, 1.0), ("mask", 6, 0.7), ("cannula", 4, 0.4), single_use=True),
            ladder("low", ("cannula", 2, 1.0), ("cannula", 1, 0.6), single_use=True),
        ],
        patients=[dataclasses.replace(batch, label=label) for label, batch in people.items()],
        lots=[
            cylinders(3, 300, key="cyl", change=2),
            cylinders(1, 300, key="late", arrive=20, change=2),
            concentrators(2),
            piped(1, area="b"),
        ],
        regulators=[regulator(2), regulator(1, outlets=dataclasses.replace(outlet_set("odd"), fits=frozenset("w")))],
        devices={("a", "mask"): 2, ("a", "cannula"): 4, ("b", "mask"): 0, ("b", "cannula"): 0},
        staff={"a": 2, "b": 1},
        power={"a": 600, "b": 0},
        reserve={"a": 300},
        areas=("a", "b"),
    )
    return dataclasses.replace(made, **changes)


def change(minute: float, supply: str, regulator: str, by: str, area: str = "a") -> Order:
    """Return a change of cylinder that takes two minutes."""
    return Order(
        minute, area, Action.CHANGE, supply=supply, regulator=regulator, by=by, begin=minute - 2 if minute > 2 else 0
    )


def connect(minute: float, who: str, device: str, flow: float, supply: str, regulator: str, area: str = "a") -> Order:
    """Return a connection."""
    return Order(minute, area, Action.CONNECT, who, device, flow, supply, regulator)


def other(minute: float, action: Action, who: str, reason: str = "", **more: object) -> Order:
    """Return another order about a patient at area ``a``."""
    return Order(minute, "a", action, who, reason=reason, **more)  # type: ignore[arg-type]


def off(minute: float, who: str, reason: str = "", area: str = "a") -> Order:
    """Return a disconnection."""
    return Order(minute, area, Action.DISCONNECT, who, reason=reason)


def orders() -> list[Order]:
    """Return orders that can be carried out, numbered from 1 as findings count them."""
    step, flow, move = Action.STEP_DOWN, Action.SET_FLOW, Action.MOVE
    return [
        change(2, "cyl 1", "a-reg 1", "s-a 1"),  # 1
        change(2, "cyl 2", "a-reg 2", "s-a 2"),  # 2
        connect(2, "P 1", "mask", 10, "cyl 1", "a-reg 1"),  # 3
        connect(2, "P 2", "mask", 10, "cyl 2", "a-reg 2"),  # 4
        connect(3, "M", "cannula", 4, "conc 1", ""),  # 5
        connect(5, "L", "cannula", 2, "conc 2", ""),  # 6
        change(22, "cyl 3", "a-reg 1", "s-a 1"),  # 7: 100 L stay in cyl 1
        other(24, step, "P 2", "gas is short", device="mask", flow_lpm=6),  # 8: 80 L are left in cyl 2
        off(30, "L"),  # 9
        off(30, "M"),  # 10
        connect(30, "M", "cannula", 2, "pipe", "", area="b"),  # 11
        change(36, "cyl 1", "a-reg 2", "s-a 2"),  # 12: 8 L stay in cyl 2
        other(36, step, "P 2", "gas is short", device="cannula", flow_lpm=4),  # 13: 24 min at 4 L/min, 4 L stay
        off(50, "P 1", "the rest is the reserve"),  # 14: 20 L stay in cyl 3
        connect(52, "P 1", "cannula", 4, "conc 1", ""),  # 15
        other(55, flow, "P 1", device="cannula", flow_lpm=5),  # 16
        other(56, move, "P 1", supply="conc 2"),  # 17
    ]
