"""The whole resupply run: trips planned together with the allocation, then orders on what they bring."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from mci.pipeline import Run, run
from mci.plan.deliver import deliver
from mci.plan.things import EMPTY_SHARE, find_supplies
from mci.plan.trips import Trip
from mci.replay.judged import Judged
from mci.replay.trips import judge_trips
from mci.replay.verdict import Finding, Verdict
from mci.resupply.disrupt import disrupt
from mci.resupply.needs import Spent
from mci.resupply.planner import Planner
from mci.resupply.schedule import Goal, Met, Schedule, how_far_met
from mci.scenario.model import Scenario
from mci.scenario.network import ItemKind, network_of
from mci.settings import Settings

__all__ = ["ResupplyRun", "run_resupply"]

#: How often trips are planned with what orders tell about empties.
ROUNDS = 5
#: Shares of the gas on which trips do not count, one after the other, where orders miss a goal.
ALLOWANCES = (0.1, 0.2)
#: Share of a goal that orders may lack: what changing cylinders takes.
CLOSE = 0.01


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
    tell: Callable[[str], None] = lambda _: None,
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
    tell
        Called with what is being done, in words, before each long step.

    Raises
    ------
    UsageError
        If the incident has no network, or not what is to be lost or late.
    NoPlanError
        If a hard requirement of the scenario cannot be met.
    SolverLimitError
        If the solver reached its limit without a plan.
    """
    network = network_of(scenario)
    settings = settings or Settings()
    if goals:
        settings = replace(settings, priority="strict", first=tuple(goal.category for goal in goals))
    network, disruptions = disrupt(network, lost, late)
    scenario = replace(scenario, network=network)
    tell("solving trips and oxygen together")
    full = Planner(scenario, settings, goals)
    tell("planning whole trips, and orders on what they bring")
    attempts = [_best_attempt(full, scenario, settings, goals)]
    for allowance in ALLOWANCES:
        if not attempts[-1].missing:
            break
        tell(f"planning again, not counting on {100 * allowance:g} % of the gas, since orders miss a goal")
        attempts.append(_best_attempt(Planner(scenario, settings, goals, allowance), scenario, settings, goals))
    best = min(attempts, key=lambda each: each.rank)
    tell(f"finding the last safe times{', and what each loss would cost' if losses else ''}")
    schedule = best.planner.schedule(best.trips, best.spent, losses=losses, full=full)
    tell("judging orders with every trip as late as is safe")
    late_too = _judge_late(scenario, schedule, settings)
    return ResupplyRun(scenario, disruptions, schedule, best.findings, best.run, best.met, late_too)


@dataclass(frozen=True, slots=True)
class _Attempt:
    """Trips of a planner, the orders on what they bring, and what the judge says of both."""

    planner: Planner
    spent: Sequence[Spent]
    trips: tuple[Trip, ...]
    run: Run
    findings: tuple[Finding, ...]
    met: tuple[Met, ...]

    @property
    def possible(self) -> bool:
        """Whether nothing is found against the trips."""
        return not any(finding.judged for finding in self.findings)

    @property
    def missing(self) -> float:
        """Credit-minutes that orders lack of goals, but for what changing cylinders takes."""
        return sum(max(0.0, (1.0 - CLOSE) * met.needed - met.reached) for met in self.met)

    @property
    def rank(self) -> tuple[bool, float, float]:
        """Order of preference: what can be carried out, what misses least of the goals, what covers most."""
        judged = self.run.executable
        return not self.possible, self.missing, 0.0 if judged is None else -judged.verdict.weighted


def _try(
    planner: Planner, scenario: Scenario, settings: Settings, goals: Sequence[Goal], spent: Sequence[Spent]
) -> _Attempt:
    trips = planner.trips(spent)
    found = run(deliver(scenario, trips), settings, further=False)
    verdict = None if found.executable is None else found.executable.verdict
    findings = judge_trips(scenario, trips, verdict)
    return _Attempt(planner, spent, trips, found, findings, _met(planner.care.needed, goals, verdict))


def _best_attempt(planner: Planner, scenario: Scenario, settings: Settings, goals: Sequence[Goal]) -> _Attempt:
    """Plan trips, then orders; where these empty cylinders later than was thought, both again with the later moments.

    In the end without empties, where nothing else can be carried out.
    """
    spent: Sequence[Spent] = planner.spent
    for _ in range(ROUNDS):
        attempt = _try(planner, scenario, settings, goals, spent)
        if attempt.possible:
            return attempt
        spent = _later(spent, _spent(scenario, attempt.run))
    return _try(planner, scenario, settings, goals, ())


def _later(before: Sequence[Spent], learned: Sequence[Spent]) -> tuple[Spent, ...]:
    """Return the later of two moments for each empty; one that orders never used up is left out."""
    orders = {(each.area, each.item): each.at for each in learned}
    found = [replace(each, at=tuple(map(max, each.at, orders.get((each.area, each.item), ())))) for each in before]
    return tuple(each for each in found if each.at)


def _met(needed: Mapping[tuple[str, str], float], goals: Sequence[Goal], verdict: Verdict | None) -> tuple[Met, ...]:
    """Return how far orders meet goals."""
    credit: defaultdict[tuple[str, str], float] = defaultdict(float)
    for service in verdict.services if verdict is not None else ():
        credit[service.area, service.category] += service.credit * (service.end - service.start)
    return how_far_met(goals, needed, {key: min(minutes, credit[key]) for key, minutes in needed.items()})


def _spent(scenario: Scenario, found: Run) -> tuple[Spent, ...]:
    """Return when cylinders are empty and off their regulators in the orders that were planned."""
    network, judged = network_of(scenario), found.executable
    if judged is None:
        return ()
    empties = {item.cylinder: key for key, item in network.items.items() if item.kind is ItemKind.EMPTY}
    last = {holding.supply: holding for holding in judged.verdict.holdings}  # in the order of time
    moments: dict[tuple[str, str], list[float]] = defaultdict(list)
    for supply in find_supplies(found.scenario):
        kind = supply.lot.cylinder.key if supply.lot.cylinder is not None else ""
        holding = last.get(supply.key)
        if kind in empties and holding is not None and holding.litres_after <= EMPTY_SHARE * supply.litres:
            moments[supply.lot.area, empties[kind]].append(holding.end)
    return tuple(Spent(area, item, tuple(sorted(each))) for (area, item), each in moments.items())


def _judge_late(scenario: Scenario, schedule: Schedule, settings: Settings) -> Judged:
    """Return what is reached with every trip at its latest times."""
    return run(deliver(scenario, schedule.latest), settings, further=False).plans[0]
