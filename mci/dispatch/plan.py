"""Dispatch: the main function of the room, from whole patients per rung to orders that the judge finds VALID."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from mci.demand.groups import Demand
from mci.dispatch.follow import Style, follow_plan
from mci.dispatch.usual import USUAL, usual_practice
from mci.plan.orders import Action, Plan
from mci.replay.judge import replay
from mci.replay.judged import Judged
from mci.scenario.model import Scenario

__all__ = ["dispatch", "judge_usual"]

#: Tried one after the other; the first moves patients least, the others do better in some incidents.
STYLES = (
    Style(0.1, 0.3, 4.0, 15.0, generous=True),
    Style(0.0, 0.0, 4.0, 15.0, generous=False),
    Style(0.0, 0.3, 4.0, 5.0, generous=False),
    Style(0.03, 0.0, 4.0, 10.0, generous=True),
    Style(0.03, 0.0, 4.0, 10.0, generous=False),
    Style(0.03, 1.0, 4.0, 15.0, generous=True),
    Style(0.0, 0.3, 4.0, 5.0, generous=True),
    Style(0.1, 1.0, 4.0, 10.0, generous=False),
)
#: Patients times styles: large incidents lose less to whole cylinders, and take longer.
EFFORT = 800
#: Share of the weighted coverage of the plan followed at which no other style is tried.
CLOSE = 0.998
#: Plans whose weighted coverage differs by less than this share are equally good; then the crew's burden counts.
EQUAL = 0.001


def _burden(judged: Judged) -> int:
    return sum(order.action in (Action.CHANGE, Action.MOVE) for order in judged.plan.orders)


def judge_usual(scenario: Scenario, demand: Demand, names: Sequence[str] = USUAL) -> tuple[Judged, ...]:
    """Return usual practice, in each of some ways of ``USUAL``, with its verdict."""
    return tuple(Judged(plan, replay(scenario, plan.orders)) for plan in usual_practice(scenario, demand, names))


def dispatch(
    scenario: Scenario, demand: Demand, service: pd.DataFrame, draw: pd.DataFrame, usual: Sequence[Judged] = ()
) -> Judged:
    """Return the best plan that was found, with its verdict.

    Parameters
    ----------
    scenario, demand
        The incident and its patients, counted.
    service, draw
        Whole patients per rung and litres per lot, as :class:`mci.lp.whole.Whole` has them.
    usual
        Plans of usual practice, to be beaten.

    Notes
    -----
    Several styles of following are tried, fewer in large incidents and none after one that comes very close to
    what it follows, and each plan is judged by replay.  The best coverage counts; among plans about as good, the
    fewest changes of cylinder and moves of patients.  Where nothing does better than usual practice, its orders
    are the plan.
    """
    found = [Judged(Plan("this plan", judged.plan.orders), judged.verdict) for judged in usual]
    minutes = service["patients"] * (service["end_min"] - service["start_min"])
    aim = float((service["category"].map(scenario.weights) * service["credit"] * minutes).sum())
    for style in STYLES[: max(1, EFFORT // max(demand.patients["all"], 1))]:
        orders = follow_plan(scenario, demand, service, draw, style)
        found.append(Judged(Plan("this plan", orders), replay(scenario, orders)))
        if found[-1].verdict.validity and found[-1].verdict.weighted >= CLOSE * aim:
            break
    valid = [judged for judged in found if judged.verdict.validity]
    most = max((judged.verdict.weighted for judged in valid), default=0.0)
    good = [judged for judged in valid if judged.verdict.weighted >= most * (1 - EQUAL)]
    return min(good or found[len(usual) :], key=_burden)
