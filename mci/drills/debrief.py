"""The debrief: main function of what is done after a drill.

The incident as it happened, injects and all, the team's orders judged by replay, the best orders with everything known,
and where the difference went (:mod:`mci.drills.losses` has the rule).
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import asdict, replace
from typing import TYPE_CHECKING

from mci.demand.groups import count_demand
from mci.drills.debrief_notes import debrief_notes
from mci.drills.debriefed import Debrief
from mci.drills.difficulty import plan_known
from mci.drills.happen import as_told, happened
from mci.drills.improvements import improvements
from mci.drills.losses import cause_table, loss_table, stretch_table
from mci.drills.measure import reached
from mci.drills.missed import find_missed
from mci.drills.objectives import default_objectives
from mci.drills.over_time import over_time
from mci.drills.stretches import find_stretches
from mci.drills.symptoms import find_symptoms
from mci.lp.bound import find_bound
from mci.plan.orders import Plan, sort_orders
from mci.provenance import Provenance
from mci.replay.judge import replay
from mci.replay.judged import Judged
from mci.scenario.exercise import InjectKind
from mci.settings import Settings

if TYPE_CHECKING:
    from mci.drills.log import Log
    from mci.lp.outcome import Outcome
    from mci.scenario.model import Scenario

__all__ = ["run_debrief"]


def run_debrief(
    scenario: Scenario, log: Log, settings: Settings | None = None, say: Callable[[str], None] | None = None
) -> Debrief:
    """Look back at a drill: what was reached, what was possible, and where the difference went.

    Parameters
    ----------
    scenario
        The incident as read; what its exercise lets happen is applied here.
    log
        What the team did.
    settings
        How to plan; the defaults if not given.  Categories count by their weights.
    say
        Called with what is being done, in words.

    Raises
    ------
    NoPlanError
        If a hard requirement of the scenario cannot be met.
    SolverLimitError
        If the solver reached its limit without a plan.
    """
    settings, say = replace(settings or Settings(), priority="weighted", first=()), say or (lambda _words: None)
    clock = [time.perf_counter()]
    actual, told = happened(scenario, scenario.injects), as_told(scenario, scenario.injects)
    log = _in_order(log)
    team = Judged(Plan("the team", log.orders), replay(actual, log.orders))
    say("What was possible")
    known = plan_known(actual, settings)
    usual, outcome = known.usual, known.outcome
    best = Judged(Plan("best possible", known.best.plan.orders), known.best.verdict)
    clock.append(time.perf_counter())
    stretches = find_stretches(actual, log.orders, team.verdict, outcome.bound, settings, say)
    symptoms = find_symptoms(actual, told, log.orders)
    losses = loss_table(actual, stretches, symptoms)
    causes = cause_table(losses, symptoms)
    clock.append(time.perf_counter())
    missed = find_missed(actual, team, best, stretches, symptoms, settings, say)
    clock.append(time.perf_counter())
    asked = scenario.objectives or default_objectives(actual, best, usual)
    objectives = reached(actual, team.verdict, log.orders, asked)
    return Debrief(
        scenario=actual,
        log=log,
        team=team,
        best=best,
        usual=usual,
        bound=outcome.bound,
        over_time=over_time(actual, (team, best, *usual)),
        stretches=stretch_table(stretches),
        losses=losses,
        causes=causes,
        missed=missed,
        objectives=objectives,
        improvements=improvements(causes, symptoms, objectives),
        notes=debrief_notes(actual, team, outcome.bound, causes, _lateness(scenario, outcome.bound, settings)),
        provenance=_provenance(scenario, settings, outcome, clock),
    )


def _in_order(log: Log) -> Log:
    """Return a log with its orders in the order in which they take effect, each with its line."""
    ordered = sort_orders(list(log.orders))
    if ordered == log.orders:
        return log
    lines: dict[int, int] = {id(order): line for order, line in zip(log.orders, log.lines, strict=True)}
    return replace(log, orders=ordered, lines=tuple(lines[id(order)] for order in ordered))


def _lateness(scenario: Scenario, bound: float, settings: Settings) -> float:
    """Return what the lateness of deliveries itself cost: what was possible had they come on time, less the bound."""
    on_time = tuple(each for each in scenario.injects if each.kind is not InjectKind.DELIVERY_LATE)
    if len(on_time) == len(scenario.injects):
        return 0.0
    told = happened(scenario, on_time)
    return find_bound(told, count_demand(told, settings.max_period), settings) - bound


def _provenance(scenario: Scenario, settings: Settings, outcome: Outcome, clock: list[float]) -> Provenance:
    report = outcome.report
    return Provenance(
        scenario_file=scenario.file,
        scenario_sha256=scenario.sha256,
        settings=asdict(settings),
        solver={
            "name": report.solver,
            "status": outcome.status.value,
            "columns": report.columns,
            "rows": report.rows,
            "bound_weighted_credit_min": outcome.bound,
        },
        timings={
            "possible_s": clock[1] - clock[0],
            "stretches_s": clock[2] - clock[1],
            "missed_s": clock[3] - clock[2],
        },
    )
