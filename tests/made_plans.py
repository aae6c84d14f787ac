"""Plans and verdicts made by hand, for tests of what shows them; they know no planner and no judge."""

from __future__ import annotations

from dataclasses import replace

import pandas as pd

from mci.catalogue.model import OutletSet
from mci.plan.orders import Action, Order, Plan, sort_orders
from mci.replay.judged import Judged
from mci.replay.verdict import Holding, Service, Validity, Verdict
from mci.scenario.model import RegulatorStock, Scenario

__all__ = ["GAINS", "ORDERS", "make_plans", "with_regulators"]

ONE, MANY = "west one outlet", "west manifold"
IMMEDIATE, SECOND, DELAYED, OTHER, MINIMAL = (
    "immediate patients 1", "immediate patients 2", "delayed patients 1", "delayed patients 2", "minimal patients 1",
)  # fmt: skip
MASK, SIMPLE, CANNULA = "non-rebreather", "simple mask", "cannula"
A, B, C, D, E = "west-1 1", "west-1 2", "west-1 3", "west-2 1", "east-1 1"
NURSE, MEDIC = "west staff 1", "east staff"

#: Every action once at least; a step-down and a withdrawal with their reasons.
ORDERS = sort_orders(
    [
        Order(0, "west", Action.CHANGE, supply=A, regulator=f"{ONE} 1", gauge_psi=1900, by=NURSE),
        Order(0, "west", Action.CONNECT, IMMEDIATE, MASK, 15, A, f"{ONE} 1", 1900),
        Order(2, "west", Action.CHANGE, supply=B, regulator=MANY, gauge_psi=1900, begin=0, by=NURSE),
        Order(2, "west", Action.CONNECT, DELAYED, SIMPLE, 6, B, MANY, 1900),
        Order(2, "west", Action.CONNECT, OTHER, SIMPLE, 6, B, MANY, 1900),
        Order(36, "west", Action.CHANGE, supply=C, regulator=f"{ONE} 1", gauge_psi=1900, begin=34, by=NURSE),
        Order(40, "west", Action.STEP_DOWN, DELAYED, CANNULA, 3, B, MANY, 520, reason="less is left than is needed"),
        Order(50, "west", Action.DISCONNECT, OTHER, supply=B, regulator=MANY, gauge_psi=260, reason="the gas runs out"),
        Order(62, "west", Action.CHANGE, supply=D, regulator=MANY, gauge_psi=2100, begin=60, by=NURSE),
        Order(62, "west", Action.SET_FLOW, DELAYED, SIMPLE, 6, D, MANY, 2100),
        Order(62, "west", Action.MOVE, IMMEDIATE, MASK, 15, D, MANY, 2100),
        Order(62, "west", Action.CONNECT, SECOND, MASK, 15, C, f"{ONE} 1", 900),
        Order(5, "east", Action.CHANGE, supply=E, regulator="", gauge_psi=2000, begin=3, by=MEDIC),
        Order(5, "east", Action.CONNECT, MINIMAL, CANNULA, 2, E, "", 2000),
        Order(150, "east", Action.DISCONNECT, MINIMAL, supply=E, gauge_psi=700),
    ]
)
#: What each plan earns of the weighted best: this plan, first come first served, sickest first.
GAINS = (0.98, 0.7, 0.85)


def with_regulators(scenario: Scenario) -> Scenario:
    """Return the incident of the report tests with the regulators that the orders name; Minimal leave at T+150."""
    valves = frozenset({"pin index"})
    one = OutletSet("one outlet", valves, 1, 0, 25.0, 25.0, scenario.resupply.outlets.source)
    many = replace(one, key="manifold", outlets=4, total_max_lpm=60.0)
    patients = tuple(
        replace(each, stay=150.0, leave=150.0) if each.label.startswith("minimal") else each
        for each in scenario.patients
    )
    return replace(
        scenario,
        patients=patients,
        regulators=(RegulatorStock(ONE, "west", one, 2, 0.0, ""), RegulatorStock(MANY, "west", many, 1, 0.0, "")),
    )


_SERVICES = (
    Service(IMMEDIATE, "west", "immediate", "high", MASK, 15, 1.0, True, A, f"{ONE} 1", 0, 36),
    Service(IMMEDIATE, "west", "immediate", "high", MASK, 15, 1.0, True, C, f"{ONE} 1", 36, 62),
    Service(IMMEDIATE, "west", "immediate", "high", MASK, 15, 1.0, True, D, MANY, 62, 180),
    Service(SECOND, "west", "immediate", "high", MASK, 15, 1.0, True, C, f"{ONE} 1", 62, 85),
    Service(DELAYED, "west", "delayed", "moderate", SIMPLE, 6, 1.0, True, B, MANY, 2, 40),
    Service(DELAYED, "west", "delayed", "moderate", CANNULA, 3, 0.7, False, B, MANY, 40, 62),
    Service(DELAYED, "west", "delayed", "moderate", SIMPLE, 6, 1.0, True, D, MANY, 62, 180),
    Service(OTHER, "west", "delayed", "moderate", SIMPLE, 6, 1.0, True, B, MANY, 2, 50),
    Service(MINIMAL, "east", "minimal", "low", CANNULA, 2, 1.0, True, E, "", 5, 150),
)
_HOLDINGS = (
    Holding(A, f"{ONE} 1", "west", 0, 36, 550, 10),
    Holding(C, f"{ONE} 1", "west", 36, 180, 550, 0),
    Holding(B, MANY, "west", 2, 62, 550, 0),
    Holding(D, MANY, "west", 62, 180, 6000, 3522),
    Holding(E, "", "east", 5, 180, 410, 120),
)
_LEFT = {A: 10.0, B: 0.0, C: 0.0, D: 3522.0, E: 120.0, "west-1 4": 550.0}


def make_plans(coverage: pd.DataFrame, bound: float) -> tuple[Judged, ...]:
    """Return this plan and usual practice, each earning a share (:data:`GAINS`) of the best there is.

    Parameters
    ----------
    coverage, bound
        Those of the run.
    """
    made = []
    names = ("this plan", "first come, first served", "sickest first, first come")
    for number, (name, share) in enumerate(zip(names, GAINS, strict=True)):
        frame = coverage.drop(columns=["most_below_target", "most_without"])
        frame = frame.assign(**{key: frame[key] * share for key in ("credit_min", "coverage", "at_target_patient_min")})
        orders = ORDERS if number == 0 else ORDERS[: 2 * number]
        first = number == 0
        verdict = Verdict(
            Validity.VALID, (), _SERVICES if first else (), _HOLDINGS if first else (), _LEFT, bound * share, frame
        )
        made.append(Judged(Plan(name, orders), verdict))
    return tuple(made)
