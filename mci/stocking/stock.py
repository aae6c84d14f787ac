"""Stocking: the main function of the room, from a scenario with caches to the packing list and the risk it leaves."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

import pandas as pd

from mci.errors import UsageError
from mci.lp.solve import solver_name
from mci.provenance import Provenance
from mci.settings import Settings
from mci.stocking.choose import average_list, choose, others
from mci.stocking.frontier import budget_frontier, round_step, target_table
from mci.stocking.judged import validate
from mci.stocking.patients import patients_table
from mci.stocking.plannable import that_can_be_planned
from mci.stocking.result import AVERAGE, Stock
from mci.stocking.spread import Sampled, staff_of, stocking_of
from mci.stocking.study import Study, open_study
from mci.stocking.tables import contents_table, lists_table, packing_table, usage_table
from mci.stocking.worst import worst_scenarios, worst_table
from mci.stocking.worth import measure_worth
from mci.surge.means import Means
from mci.surge.risk import what_varies
from mci.surge.sampling import draw

if TYPE_CHECKING:
    from mci.lp.decompose import Found
    from mci.scenario.draft import Draft
    from mci.scenario.uncertain import Uncertainty
    from mci.stocking.study import Entry

__all__ = ["run_stock"]


def run_stock(
    draft: Draft,
    uncertainty: Uncertainty | None = None,
    incidents: int = 128,
    seed: int = 0,
    settings: Settings | None = None,
    *,
    budget: float | None = None,
    gap: float = 0.005,
    step: float | None = None,
    fresh: int = 128,
    judged: int = 16,
    time_limit: float = 900.0,
    means: Means | None = None,
    say: Callable[[str], None] | None = None,
) -> Stock:
    """Choose what caches hold for many sampled incidents; say what it costs, what it reaches, what risk it leaves.

    Parameters
    ----------
    draft
        The scenario as written, with a section ``stocking:``.
    uncertainty
        What is uncertain; what the scenario itself says if not given.
    incidents, seed
        How many incidents the list is chosen for, and the seed of the study.
    settings
        How orders are made for fresh incidents; the defaults if not given.
    budget
        The most weighted coverage for so much [money]; without it the least cost that meets the goals.
    gap
        Relative distance of lower and upper bound at which the search ends.
    step
        Money of one step of the frontier; a round amount if not given.
    fresh, judged
        Fresh incidents in which lists are asked, and how many of them are carried out and judged.
    time_limit
        Limit of each search [s].
    means
        Processes or cluster; a folder is not used.
    say
        Told what is being done, in words.

    Returns
    -------
    Stock
        The same whatever the means.

    Raises
    ------
    UsageError
        There are no caches, nothing is uncertain, there are neither goals nor a budget.
    NoPlanError
        If no list meets the goals within the limits.
    SolverLimitError
        If the time was over before there was a list.
    """
    begin = time.perf_counter()
    means, settings, say = means or Means(), settings or Settings(), say or (lambda _words: None)
    budget = _asked(draft, budget)
    uncertainty = what_varies(draft, uncertainty)
    drawn = draw(uncertainty, draft.numbers, incidents, seed)
    values = tuple(dict(case.values) for case in that_can_be_planned(draft, drawn.cases))
    if not values:
        raise UsageError(f"none of the {incidents} sampled incidents of {draft.file} can be planned")
    chosen_as = {"incidents": incidents, "seed": seed, "budget": budget, "gap": gap, "fresh": fresh, "judged": judged}
    with staff_of(means) as staff:
        say(f"loading {len(values)} incidents")
        study = open_study(Sampled(draft, values), staff, gap, time_limit, say)
        say("choosing the list")
        chosen, found = choose(study, budget)
        search = _search(study, found, budget, time.perf_counter() - begin)
        compared = list(others(study, average_list(study, budget)))
        tables = _tables(study, chosen, compared, step or round_step(chosen.cost), budget, seed)
        return Stock(
            scenario=draft.scenario(),
            stocking=study.layout.stocking,
            mode="goals" if budget is None else "budget",
            budget=math.nan if budget is None else budget,
            incidents=len(values),
            seed=seed,
            **tables,
            **search,
            validity=validate(study, uncertainty, chosen, compared, fresh, judged, seed, settings, means),
            notes=(*drawn.notes, *_notes(incidents - len(values), study, found, budget)),
            provenance=_provenance(draft, settings, chosen_as, found, time.perf_counter() - begin),
        )


def _asked(draft: Draft, budget: float | None) -> float | None:
    """Return the budget for which most coverage is wanted; ``None`` where goals are to be met.

    Raises
    ------
    UsageError
        If there are neither.
    """
    stocking = stocking_of(draft)
    if budget is None and not stocking.goals:
        if not math.isfinite(stocking.budget):
            raise UsageError(f"{draft.file} has neither goals nor a budget for its caches: write one, or --budget")
        return stocking.budget
    return budget


def _search(study: Study, found: Found, budget: float | None, seconds: float) -> dict[str, Any]:
    """Return how the list was found; with a budget bounds are told as the weighted need that is missed."""
    more = 0.0 if budget is None else 1.0
    rounds = [(n, second, low + more, high + more) for n, (second, low, high) in enumerate(study.trace, start=1)]
    return {
        "lower": found.lower + more,
        "upper": found.upper + more,
        "gap": found.gap,
        "rounds": found.rounds,
        "cuts": study.search.master.cuts,
        "seconds": seconds,
        "proven": found.proven,
        "trace": pd.DataFrame(rounds, columns=["round", "seconds", "lower", "upper"]),
    }


def _tables(
    study: Study, chosen: Entry, compared: Sequence[Entry], step: float, budget: float | None, seed: int
) -> dict[str, Any]:
    """Return everything that is told of the list over the sampled incidents."""
    stocking = study.layout.stocking
    worst = worst_table(study, chosen)
    average = next((entry for entry in compared if entry.name == AVERAGE), None)
    return {
        "packing": packing_table(stocking, chosen.packed),
        "usage": usage_table(stocking, chosen.packed),
        "lists": lists_table(study, [chosen, *compared]),
        "contents": contents_table(stocking, [chosen, *compared]),
        "frontier": budget_frontier(study, chosen, step),
        "targets": target_table(study),
        "step": step,
        "patients": patients_table(study, chosen),
        "worst": worst,
        "worst_scenarios": worst_scenarios(study, chosen, worst, seed),
        "worth": measure_worth(study, chosen, average, budget),
    }


def _notes(failed: int, study: Study, found: Found, budget: float | None) -> Iterator[str]:
    if failed:
        yield f"{failed} sampled incidents could not be planned and are left out."
    if not found.proven:
        more = f"cost up to {100 * found.gap:.1f} % more than the best"
        if budget is not None:
            more = f"cover up to {100 * (found.upper - found.lower):.2f} percentage points less than the best"
        yield f"The search stopped at its time limit: the list may {more}."
    if study.late:
        yield (
            f"{len(study.late)} of the searches beside that for the list found nothing within their time limit; "
            "what they should tell is left out."
        )
    areas = {area.key for area in study.sampled.draft.scenario().areas}
    if len(areas) > 1:
        yield "What a cache holds may be divided among areas; each share is there as soon as the cache can be."
    yield (
        "The list is chosen by the best possible, where patients and gas are divisible, for all goals at once; what "
        "lists reach of each goal is told at its own best. Orders judged by replay are what a crew can carry out."
    )


def _provenance(
    draft: Draft, settings: Settings, chosen: Mapping[str, object], found: Found, seconds: float
) -> Provenance:
    return Provenance(
        scenario_file=draft.file,
        scenario_sha256=draft.sha256,
        settings={**asdict(settings), **chosen},
        solver={"name": solver_name(), "rounds": found.rounds, "gap": found.gap},
        timings={"study_s": seconds},
    )
