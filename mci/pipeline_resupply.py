"""The whole resupply run: trips planned together with the allocation, then orders on what they bring."""

from __future__ import annotations

import dataclasses
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from mci.demand.groups import count_demand
from mci.dispatch.plan import dispatch, judge_usual
from mci.errors import UsageError
from mci.lp.allocate import allocate
from mci.lp.whole import plan_whole
from mci.pipeline import Run, run
from mci.plan.deliver import deliver
from mci.plan.things import find_supplies
from mci.replay.judged import Judged
from mci.replay.trips import judge_trips
from mci.replay.verdict import Finding
from mci.resupply.disrupt import disrupt
from mci.resupply.needs import Spent
from mci.resupply.planner import Planner
from mci.resupply.schedule import Goal, Schedule
from mci.scenario.model import Scenario
from mci.scenario.network import ItemKind
from mci.settings import Settings

__all__ = ["ResupplyRun", "run_resupply"]

#: How often trips are planned again because orders empty cylinders later than was thought.
ROUNDS = 3
#: A cylinder with no more than this share of its gas left is empty.
EMPTY = 0.05


@dataclass(frozen=True, slots=True)
class ResupplyRun:
    """Everything known about the resupply of one incident.

    Parameters
    ----------
    scenario
        The incident with its network, as planned: after any disruption that was asked for.
    disruptions
        What was taken away or delayed, in words; empty where nothing was.
    schedule
        The trips and their last safe times.
    findings
        What the judge of trips found; empty where the trips can be carried out.
    run
        The incident with what the planned trips bring as deliveries (``run.scenario``), planned to orders and
        judged; ``run.worth`` and ``run.resupply`` are empty tables, since neither is asked for there.
    late
        The same with every trip at its latest times, as the judge found it.
    """

    scenario: Scenario
    disruptions: tuple[str, ...]
    schedule: Schedule
    findings: tuple[Finding, ...]
    run: Run
    late: Judged | None = None


def run_resupply(
    scenario: Scenario,
    settings: Settings | None = None,
    goals: Sequence[Goal] = (),
    *,
    lost: Iterable[str] = (),
    late: Iterable[tuple[str, float]] = (),
    losses: bool = True,
) -> ResupplyRun:
    """Plan the resupply of an incident: trips, their last safe times, and orders on what they bring.

    Parameters
    ----------
    scenario
        An incident with a network, as :func:`mci.scenario.read_scenario` returns it.
    settings
        How to plan; the defaults if not given.  With goals the strict rule is used, their categories first.
    goals
        What every area is to reach with the least supply; none to maximise the weighted coverage.
    lost, late
        Keys of roads, places and vehicles that are lost, and of places and vehicles with their delay [min].
    losses
        Whether to tell what the loss of each road, place and vehicle would cost.

    Raises
    ------
    UsageError
        If the incident has no network, or not what is to be lost or late.
    NoPlanError
        If a hard requirement of the scenario cannot be met.
    SolverLimitError
        If the solver reached its limit without a plan.
    """
    if scenario.network is None:
        raise UsageError("the scenario has no network: add places, roads and vehicles, or use mci plan")
    settings = settings or Settings()
    if goals:
        settings = dataclasses.replace(settings, priority="strict", first=tuple(goal.category for goal in goals))
    network, disruptions = disrupt(scenario.network, lost, late)
    scenario = dataclasses.replace(scenario, network=network)
    planner = Planner(scenario, settings, goals)
    spent: Sequence[Spent] | None = None
    for turn in range(ROUNDS + 1):
        schedule = planner.schedule(spent, losses=losses)
        found = run(deliver(scenario, schedule.planned), settings, further=False)
        findings = _findings(scenario, schedule, found)
        if not any(finding.law == "empties" for finding in findings):
            break
        spent = _spent(scenario, found) if turn < ROUNDS - 1 else ()
    return ResupplyRun(scenario, disruptions, schedule, findings, found, _judge_late(scenario, schedule, settings))


def _findings(scenario: Scenario, schedule: Schedule, found: Run) -> tuple[Finding, ...]:
    verdict = None if found.executable is None else found.executable.verdict
    return judge_trips(scenario, schedule.planned, verdict)


def _spent(scenario: Scenario, found: Run) -> tuple[Spent, ...]:
    """Return when cylinders are empty and off their regulators in the orders that were planned."""
    network, judged = scenario.network, found.executable
    if network is None or judged is None:
        return ()
    empties = {item.cylinder: key for key, item in network.items.items() if item.kind is ItemKind.EMPTY}
    last = {holding.supply: holding for holding in judged.verdict.holdings}  # in the order of time
    moments: dict[tuple[str, str], list[float]] = defaultdict(list)
    for supply in find_supplies(found.scenario):
        kind = supply.lot.cylinder.key if supply.lot.cylinder is not None else ""
        holding = last.get(supply.key)
        if kind in empties and holding is not None and holding.litres_after <= EMPTY * supply.litres:
            moments[supply.lot.area, empties[kind]].append(holding.end)
    return tuple(Spent(area, item, tuple(sorted(each))) for (area, item), each in moments.items())


def _judge_late(scenario: Scenario, schedule: Schedule, settings: Settings) -> Judged:
    """Return what is reached with every trip at its latest times."""
    brought = deliver(scenario, schedule.latest)
    demand = count_demand(brought, settings.max_period)
    whole = plan_whole(allocate(brought, demand, settings), settings)
    return dispatch(brought, demand, whole.service, whole.draw, judge_usual(brought, demand))
