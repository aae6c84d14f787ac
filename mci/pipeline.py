"""The whole run, from a scenario to everything that a report shows: read this file first."""

from __future__ import annotations

import time
from dataclasses import asdict, dataclass

import pandas as pd

from mci.demand.groups import count_demand
from mci.dispatch.plan import dispatch, judge_usual
from mci.lp.allocate import allocate
from mci.lp.outcome import Outcome, Whole
from mci.lp.whole import plan_whole
from mci.lp.worth import COLUMNS as WORTH_COLUMNS
from mci.lp.worth import worth_of_one_more
from mci.provenance import Provenance
from mci.replay.judged import Judged
from mci.resupply.shortage import (
    cover_over_time,
    coverage_by_category,
    first_empty,
    shortage_windows,
    stock_curve,
)
from mci.resupply.timeline import COLUMNS as RESUPPLY_COLUMNS
from mci.resupply.timeline import resupply_timeline
from mci.scenario.model import Scenario
from mci.settings import Settings

__all__ = ["Run", "run"]


@dataclass(frozen=True, slots=True)
class Run:
    """Everything known about one planned incident, as tidy tables.

    Patients are numbers that may be fractions (the programme is fluid).  Areas and lots are
    named by their keys, categories by the words of ``CATEGORIES``.

    Parameters
    ----------
    scenario, outcome
        What went in, and what the programme answered.
    coverage
        One row per category that occurs, then ``all``: ``category, patients,
        needed_patient_min, credit_min, coverage`` (0 to 1), ``at_target_patient_min,
        below_target_patient_min`` (on a lower rung), ``without_patient_min,
        most_below_target, most_without`` (patients at one moment).
    over_time
        One row per area, category and period: ``area, category, start_min, end_min, need,
        at_target, below_target, without, credit`` (patients; credit in patient equivalents),
        ``target_lpm, delivered_lpm``.
    windows
        Shortage windows, one row each: ``area, category, start_min, end_min,
        most_below_target`` (patients below target, those without included), ``most_without,
        below_patient_min`` (patient-minutes on a lower rung), ``without_patient_min``.
    stock
        Usable litres in cylinders and vessels per area at every breakpoint: ``area,
        time_min, litres`` (after any delivery at that moment), ``delivered_litres``.
    first_empty
        One row per area: ``area, empty_min`` (NaN if never).
    worth
        One row per resource that binds: ``resource`` (in words), ``area, one_more`` (what
        the extra unit is), ``weighted_gain_min`` (weighted credit-minutes), ``gain_share`` (of
        the weighted need), and ``immediate_min, delayed_min, minimal_min, expectant_min``
        (change of credit-minutes).
    resupply
        What more must be where by when: ``goal`` (``everyone`` or ``immediate``), ``area,
        by_min, item`` (the cylinder, or a device, or staff), ``unit, quantity`` (whole units that
        must be added by then), ``total`` (running total of that item), ``litres`` (extra litres
        drawn from the start until the next step of that item; NaN where it is not gas).
    resupply_notes
        Where a goal cannot be met by gas, devices and staff alone, why.
    provenance
        Version, hashes, settings, solver and timings.
    whole
        The plan with whole patients, close to the bound; ``None`` only where none was asked for.
    plans
        Plans that can be carried out, as the judge found them: this plan first, then usual practice.
    """

    scenario: Scenario
    outcome: Outcome
    coverage: pd.DataFrame
    over_time: pd.DataFrame
    windows: pd.DataFrame
    stock: pd.DataFrame
    first_empty: pd.DataFrame
    worth: pd.DataFrame
    resupply: pd.DataFrame
    resupply_notes: tuple[str, ...]
    provenance: Provenance
    whole: Whole | None = None
    plans: tuple[Judged, ...] = ()

    @property
    def executable(self) -> Judged | None:
        """The plan to carry out, if the judge found it valid; nothing else is shown as orders."""
        return next((judged for judged in self.plans[:1] if judged.verdict.validity), None)


def run(scenario: Scenario, settings: Settings | None = None, *, further: bool = True) -> Run:
    """Plan an incident: count its patients, allocate, and say where it runs short and what it would take.

    Parameters
    ----------
    scenario
        The incident, as :func:`mci.scenario.read_scenario` returns it.
    settings
        How to plan; the defaults if not given.
    further
        Whether to ask what one more is worth, and what more must be where by when.

    Raises
    ------
    NoPlanError
        If a hard requirement of the scenario cannot be met.
    SolverLimitError
        If the solver reached its limit without a plan.
    """
    settings = settings or Settings()
    clock = [time.perf_counter()]
    demand = count_demand(scenario, settings.max_period)
    allocation = allocate(scenario, demand, settings)
    clock.append(time.perf_counter())
    whole = plan_whole(allocation, settings)
    clock.append(time.perf_counter())
    worth = worth_of_one_more(allocation) if further else pd.DataFrame(columns=WORTH_COLUMNS)
    clock.append(time.perf_counter())
    resupply, notes = (
        resupply_timeline(scenario, demand, settings) if further else (pd.DataFrame(columns=RESUPPLY_COLUMNS), ())
    )
    clock.append(time.perf_counter())
    usual = judge_usual(scenario, demand)
    plans = (dispatch(scenario, demand, whole.service, whole.draw, usual), *usual)
    clock.append(time.perf_counter())
    outcome = allocation.outcome
    over_time = cover_over_time(scenario, outcome)
    stock = stock_curve(scenario, demand, outcome)
    return Run(
        scenario=scenario,
        outcome=outcome,
        coverage=coverage_by_category(over_time, demand),
        over_time=over_time,
        windows=shortage_windows(over_time),
        stock=stock,
        first_empty=first_empty(scenario, stock),
        worth=worth,
        resupply=resupply,
        resupply_notes=notes,
        provenance=_provenance(scenario, settings, outcome, whole, clock),
        whole=whole,
        plans=plans,
    )


def _provenance(
    scenario: Scenario, settings: Settings, outcome: Outcome, whole: Whole, clock: list[float]
) -> Provenance:
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
            "nonzeros": report.nonzeros,
            "bound_weighted_credit_min": outcome.bound,
            "achieved_weighted_credit_min": outcome.achieved,
            "whole_status": whole.status.value,
            "whole_method": whole.method,
            "whole_achieved_weighted_credit_min": whole.achieved,
            "whole_gap_to_bound": whole.gap,
        },
        timings={
            "build_s": report.build_seconds,
            "solve_s": report.solve_seconds,
            "allocate_s": clock[1] - clock[0],
            "whole_s": clock[2] - clock[1],
            "worth_s": clock[3] - clock[2],
            "resupply_s": clock[4] - clock[3],
            "dispatch_s": clock[5] - clock[4],
        },
    )
