"""Going on from a moment: the rest of an incident, the best that is still possible, and orders that make much of it.

Everything that is to come is known, as in the best plan of the whole incident.  So the best possible can only fall
while time passes, and what it has fallen by between two moments was lost between them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from mci.demand.groups import count_demand
from mci.dispatch.budget import Budget
from mci.dispatch.follow import Follow
from mci.dispatch.plan import EFFORT, STYLES
from mci.dispatch.rest import left_of, rest_of
from mci.dispatch.resumed_crew import ResumedCrew, find_first
from mci.dispatch.usual import Usual
from mci.errors import NoPlanError, SolverLimitError
from mci.lp.allocate import allocate
from mci.lp.bound import find_bound
from mci.lp.whole import plan_whole
from mci.plan.things import find_handlers
from mci.replay.judge import replay
from mci.replay.score import weighted_coverage
from mci.scenario.model import StaffShift

if TYPE_CHECKING:
    from mci.demand.groups import Demand
    from mci.dispatch.policy import Policy
    from mci.plan.orders import Order
    from mci.replay.standing import Standing
    from mci.replay.verdict import Verdict
    from mci.scenario.model import Scenario
    from mci.settings import Settings

__all__ = ["best_from", "orders_from", "rest_of"]

#: Whole patients are searched for less closely and for less time [s] than in one plan of the whole incident: on the
#: ferry in any of its minutes nothing is lost by that.
WHOLE_GAP, WHOLE_TIME_LIMIT = 0.01, 5.0
#: Lots times periods times care groups of an incident that is small: a second or less for all of it.
SMALL = 2000


def best_from(scenario: Scenario, standing: Standing, settings: Settings) -> float:
    """Return what an incident can reach at best, with everything up to a moment as it was.

    Parameters
    ----------
    scenario
        The incident.
    standing
        How things stand at the moment.
    settings
        Limits of the solver; the categories always count by their weights.

    Returns
    -------
    float
        What has been given so far and the bound of the rest [weighted credit-minutes].

    Notes
    -----
    No VALID orders that are the same up to the moment reach more, and along VALID orders it never rises.  So that
    this holds for orders that were under way at the moment as well, the minutes that somebody has already spent on a
    change of cylinder are not asked for again.
    """
    so_far = weighted_coverage(standing.services, scenario.weights)
    rest = rest_of(scenario, standing)
    if not rest.patients:
        return so_far
    demand = count_demand(rest)
    begun = tuple(_work_begun(scenario, standing, float(demand.grid.points[1])))
    rest = replace(rest, staff=(*rest.staff, *begun))
    return so_far + find_bound(rest, demand, settings)


def _work_begun(scenario: Scenario, standing: Standing, first: float) -> Iterator[StaffShift]:
    """Yield the minutes that have gone into changes under way as if they were spent now, in a first period."""
    areas = {handler.key: handler.area for handler in find_handlers(scenario)}
    for by, begin in standing.begun.items():
        if by in areas:
            yield StaffShift(f"{by} before", areas[by], (standing.minute - begin) / first, 0.0, first)


def orders_from(scenario: Scenario, standing: Standing, settings: Settings) -> tuple[Order, ...]:
    """Return orders for the rest of an incident, in the time of the incident.

    Parameters
    ----------
    scenario
        The incident.
    standing
        How things stand at the moment from which on a crew with a plan, that knows everything to come, takes over.
    settings
        How to plan.

    Notes
    -----
    The plan of the rest is followed in several styles, as in :func:`mci.dispatch.plan.dispatch`, and usual practice is
    tried as well; the best of them is kept, by replay of the orders so far and these.  The first orders come an instant
    after the moment (0.01 min, or less if something happens before), so that they cannot be mixed up with those of the
    moment itself; at the start, with nothing done, they come at once.

    Cylinders of a lot stay together in the plan: a pace for each that was touched makes the programme several times as
    large.  In small incidents, where that costs little and each cylinder counts, both are tried.
    """
    found = [*_tried(scenario, standing, settings, apart=False)]
    together, apart = rest_of(scenario, standing, apart=False), rest_of(scenario, standing)
    if apart.lots != together.lots and _is_small(apart):
        found += _tried(scenario, standing, settings, apart=True)
    return max(found, key=lambda pair: pair[0], default=(None, ()))[1]


def _is_small(rest: Scenario) -> bool:
    if not rest.patients:
        return False
    demand = count_demand(rest)
    return len(rest.lots) * demand.grid.periods * len(demand.groups) <= SMALL


def _tried(
    scenario: Scenario, standing: Standing, settings: Settings, *, apart: bool
) -> Iterator[tuple[tuple[bool, float], tuple[Order, ...]]]:
    """Yield orders from a moment on, each with how good they are; none where nobody is left."""
    rest, left = rest_of(scenario, standing, apart=apart), left_of(scenario, standing, apart=apart)
    if not rest.patients:
        return
    first = find_first(standing, count_demand(rest).grid.points.tolist())
    demand = count_demand(rest, settings.max_period, [first])
    for policy in _policies(left, rest, demand, settings):
        crew = ResumedCrew(scenario, left, standing, first, demand.grid.points, policy)
        orders = tuple(_later(order, standing.minute) for order in crew.work())
        yield _rank(replay(scenario, (*standing.orders, *orders)), standing.minute), orders


def _policies(left: Scenario, rest: Scenario, demand: Demand, settings: Settings) -> Iterator[Policy]:
    """Yield usual practice and, if there is a plan, the styles of following it."""
    yield Usual(left, by_category=True)
    yield Usual(left, by_category=False)
    settings = replace(
        settings,
        whole_gap=max(settings.whole_gap, WHOLE_GAP),
        whole_time_limit=min(settings.whole_time_limit, WHOLE_TIME_LIMIT),
    )
    try:
        whole = plan_whole(allocate(rest, demand, settings), settings)
    except (NoPlanError, SolverLimitError):
        return
    for style in STYLES[: max(1, EFFORT // max(demand.patients["all"], 1))]:
        yield Follow(left, demand, Budget(demand.grid, whole.service, whole.draw), whole.service, style)


def _later(order: Order, now: float) -> Order:
    return replace(order, minute=order.minute + now, begin=order.begin + now)


def _rank(verdict: Verdict, now: float) -> tuple[bool, float]:
    """Return a key for orders: better without offences after the moment, then by what they reach."""
    return not any(finding.minute > now for finding in verdict.findings), verdict.weighted
