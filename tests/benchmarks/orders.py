"""What executable plans achieve, and what they cost: parts e, f and g of ``bench.py``."""

from __future__ import annotations

import math
import statistics
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import highspy
import numpy as np
from crowd import crowd
from scarce import scarce

from mci.demand.groups import Demand, count_demand
from mci.dispatch.budget import Budget
from mci.dispatch.crew import Crew
from mci.dispatch.floor import Floor, Source
from mci.dispatch.follow import Follow, Style
from mci.dispatch.plan import dispatch, judge_usual
from mci.lp.allocate import Part, allocate, solve_part
from mci.lp.programme import ABSENT
from mci.lp.whole import Whole, plan_whole
from mci.plan.orders import Action, Order, sort_orders
from mci.replay.judge import replay
from mci.scenario import read_scenario
from mci.scenario.model import Scenario
from mci.settings import Settings

__all__ = ["share_of_bound", "time_of_orders"]

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"


class _NoPace(Budget):
    def spare(self, floor: Floor, source: Source) -> float:  # noqa: ARG002
        return math.inf


class _Plain(Follow):
    """Follows the same plan, but drains one cylinder before the next: no pace of lots, no look ahead."""

    def after(self, crew: Crew, time: float) -> None:
        """Do nothing."""


def _plain(scenario: Scenario, demand: Demand, whole: Whole) -> tuple[Order, ...]:
    budget = _NoPace(demand.grid, whole.service, whole.draw)
    policy = _Plain(scenario, demand, budget, whole.service, Style(early=0.0))
    return sort_orders(list(Crew(scenario, demand.grid.points, policy).work()))


@dataclass(frozen=True)
class _Found:
    share: float
    plain: float
    usual: float
    changes: float
    valid: bool


def _measure(scenario: Scenario) -> _Found:
    settings = Settings()
    demand = count_demand(scenario, settings.max_period)
    allocation = allocate(scenario, demand, settings)
    whole, bound = plan_whole(allocation, settings), allocation.outcome.bound
    usual = judge_usual(scenario, demand)
    best = dispatch(scenario, demand, whole.service, whole.draw, usual)
    changed = [order.supply for order in best.plan.orders if order.action is Action.CHANGE]
    emptied = sum(best.verdict.left.get(supply, math.inf) < 5 for supply in set(changed))
    connected = len({order.patient for order in best.plan.orders if order.patient})
    return _Found(
        share=best.verdict.weighted / bound,
        plain=replay(scenario, _plain(scenario, demand, whole)).weighted / bound,
        usual=usual[0].verdict.weighted / bound,
        changes=len(changed) / max(emptied + connected, 1),
        valid=bool(best.verdict.validity),
    )


def share_of_bound(incidents: int = 200) -> None:
    """Print (e)."""
    print("e  share of the bound that orders achieve; the same plan, cylinder after cylinder; first come, first served")
    for file in sorted(SCENARIOS.glob("*.yaml")):
        found = _measure(read_scenario(file))
        print(
            f"   {file.stem:24} {found.share:7.2%} {found.plain:7.2%} {found.usual:7.2%}, "
            f"{found.changes:.2f} changes per cylinder emptied and patient connected, valid: {found.valid}"
        )
    every = [_measure(scarce(seed)) for seed in range(incidents)]
    for name in ("share", "plain", "usual"):
        values = [getattr(found, name) for found in every]
        tenth = statistics.quantiles(values, n=10)[0]
        print(
            f"   {incidents} scarce incidents, {name:6} median {statistics.median(values):.2%}, "
            f"a tenth below {tenth:.2%}, worst {min(values):.2%}, below 93 %: {sum(value < 0.93 for value in values)}"
        )
    changes = [found.changes for found in every]
    print(
        f"   changes per cylinder emptied and patient connected: median {statistics.median(changes):.2f}, "
        f"most {max(changes):.2f} (target 1.5); valid: {sum(found.valid for found in every)}"
    )


def _integer_alone(parts: Sequence[Part], settings: Settings) -> float:
    """Return the time HiGHS needs for whole patients from scratch, given the matrices, to the same gap [s]."""
    begin = time.perf_counter()
    for part in parts:
        alone = highspy.Highs()
        for option, value in (("output_flag", False), ("threads", 1), ("mip_rel_gap", settings.whole_gap)):
            alone.setOptionValue(option, value)
        alone.passModel(part.solver.highs.getLp())
        places = np.full(len(part.solver.known), -1, dtype=np.int32)
        places[part.solver.known] = part.solver.places
        order = np.flatnonzero(part.solver.known)
        alone.changeColsCost(len(order), part.solver.places, -part.earns[order])
        alone.changeRowBounds(part.built.first_aim, -highspy.kHighsInf, highspy.kHighsInf)
        serve = part.variables.serve[part.variables.serve != ABSENT]
        whole = places[serve][places[serve] >= 0]
        kinds = np.full(len(whole), int(highspy.HighsVarType.kInteger), dtype=np.uint8)
        alone.changeColsIntegrality(len(whole), whole, kinds)
        alone.run()
    return time.perf_counter() - begin


def time_of_orders() -> None:
    """Print (f) and (g)."""
    scenario, settings = crowd(1_000), Settings()
    begin = time.perf_counter()
    demand = count_demand(scenario, settings.max_period)
    allocation = allocate(scenario, demand, settings)
    whole = plan_whole(allocation, settings)
    planned = time.perf_counter()
    best = dispatch(scenario, demand, whole.service, whole.draw)
    done = time.perf_counter()
    replay(scenario, best.plan.orders)
    judged = time.perf_counter() - done
    apart = _integer_alone(allocation.parts, settings)
    alone = _integer_alone([solve_part(scenario, demand, settings)], settings)
    print(
        f"f  1,000 patients, 12 h: to whole patients {planned - begin:.1f} s, to {best.verdict.validity} orders "
        f"{done - begin:.1f} s; integer solve alone {alone:.1f} s: "
        f"ratio {(done - begin) / alone:.2f} (target at most 3); "
        f"area by area {apart:.1f} s: ratio {(done - begin) / apart:.2f}"
    )
    print(f"   {best.verdict.weighted / allocation.outcome.bound:.2%} of the bound, {len(best.plan.orders)} orders")
    print(f"g  replay {judged:.2f} s: {judged / (done - begin):.1%} of the whole (target at most 10 %)")
