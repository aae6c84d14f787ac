"""The whole resupply run: trips planned together with the allocation, then orders on what they bring."""

from __future__ import annotations

import dataclasses
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
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
from mci.replay.verdict import Finding, Verdict
from mci.resupply.disrupt import disrupt
from mci.resupply.needs import Spent
from mci.resupply.planner import Planner
from mci.resupply.schedule import Goal, Met, Schedule
from mci.scenario.model import Scenario
from mci.scenario.network import ItemKind
from mci.settings import Settings

__all__ = ["ResupplyRun", "run_resupply"]

#: How often trips are planned because orders empty cylinders later than was thought.
ROUNDS = 3
#: Shares of the gas on which trips do not count, one after the other, where orders miss a goal.
ALLOWANCES = (0.1, 0.2)
#: Share of a goal that orders may lack: what changing cylinders takes.
CLOSE = 0.01
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
    met
        Per goal and area, what the orders reach.
    late
        The orders with every trip at its latest times, as the judge found them.
    """

    scenario: Scenario
    disruptions: tuple[str, ...]
    schedule: Schedule
    findings: tuple[Finding, ...]
    run: Run
    met: tuple[Met, ...] = ()
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
    full = Planner(scenario, settings, goals)
    attempts = [_Attempt(full, scenario, settings, goals)]
    for allowance in ALLOWANCES:
        if not attempts[-1].short:
            break
        attempts.append(_Attempt(Planner(scenario, settings, goals, allowance), scenario, settings, goals))
    best = min(attempts, key=lambda each: each.rank)
    schedule = best.planner.schedule(best.trips, best.spent, losses=losses, full=full)
    late_too = _judge_late(scenario, schedule, settings)
    return ResupplyRun(scenario, disruptions, schedule, best.findings, best.run, best.met, late_too)


class _Attempt:
    """Trips of a planner, the orders on what they bring, and what the judge says of both.

    Where orders empty cylinders later than was thought, trips are planned again with what was learned; the last
    time without empties.
    """

    def __init__(self, planner: Planner, scenario: Scenario, settings: Settings, goals: Sequence[Goal]) -> None:
        self.planner, self._scenario = planner, scenario
        self.spent: Sequence[Spent] = planner.spent
        for turn in range(ROUNDS):
            self.trips = planner.trips(self.spent)
            self.run = run(deliver(scenario, self.trips), settings, further=False)
            verdict = None if self.run.executable is None else self.run.executable.verdict
            self.findings = judge_trips(scenario, self.trips, verdict)
            if not any(finding.judged for finding in self.findings):
                break
            self.spent = _spent(scenario, self.run) if turn < ROUNDS - 2 else ()
        self.met = _met(planner.care.needed, goals, verdict)
        self.short = any(met.reached < (1.0 - CLOSE) * met.needed for met in self.met)

    @property
    def rank(self) -> tuple[float, int]:
        """Order of preference: what is missing of the goals, then the fewer trips."""
        missing = sum(max(0.0, (1.0 - CLOSE) * met.needed - met.reached) for met in self.met)
        return missing, len(self.trips)


def _met(needed: Mapping[tuple[str, str], float], goals: Sequence[Goal], verdict: Verdict | None) -> tuple[Met, ...]:
    """Return how far orders meet goals."""
    credit: defaultdict[tuple[str, str], float] = defaultdict(float)
    for service in verdict.services if verdict is not None else ():
        credit[service.area, service.category] += service.credit * (service.end - service.start)
    return tuple(
        Met(goal, area, minutes, min(minutes, credit[area, category]))
        for goal in goals
        for (area, category), minutes in sorted(needed.items())
        if category == goal.category
    )


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
