"""What stocking found: the contract between who chooses packing lists and who shows them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

    from mci.provenance import Provenance
    from mci.scenario.model import Scenario
    from mci.scenario.stocking import Stocking

__all__ = ["AVERAGE", "CHOSEN", "OWNED", "Stock", "Validity", "Worth"]

#: Names of lists in the tables: the one that was chosen, what is owned already, and the best for the average incident;
#: rules of thumb have the planner's names.
CHOSEN = "chosen"
OWNED = "what is owned"
AVERAGE = "for the average incident"


@dataclass(frozen=True, slots=True)
class Worth:
    """What planning for many incidents is worth, and what knowing the incident would be.

    All over the sampled incidents.  With a budget both lists cost at most that, and worth is weighted coverage.
    With goals, the list for the average incident is the cheapest that meets the goals in the incident as written, which
    is what a planner expects.

    Parameters
    ----------
    chosen_cost, average_cost
        Cost of the chosen list and of the list for the average incident [money].
    chosen_coverage, average_coverage
        Their mean weighted coverage, 0 to 1.
    chosen_goals, average_goals
        How many of the goals each meets.
    goals
        How many goals there are.
    known_cost
        Mean cost of the cheapest list that meets the goals in one known incident, over some incidents [money]; NaN
        with a budget.
    known_coverage
        Mean weighted coverage of the best list for the budget in one known incident, 0 to 1; NaN with goals.
    known_incidents, known_unmet
        Of how many incidents; in how many of them no list meets the goals.
    same_money_coverage
        Mean weighted coverage of the best list for the money of the average list, 0 to 1.
    """

    chosen_cost: float
    average_cost: float
    chosen_coverage: float
    average_coverage: float
    chosen_goals: int
    average_goals: int
    goals: int
    known_cost: float
    known_coverage: float
    known_incidents: int
    known_unmet: int
    same_money_coverage: float


@dataclass(frozen=True, slots=True)
class Validity:
    """The chosen list on fresh incidents.

    Parameters
    ----------
    incidents, judged
        Fresh incidents; for how many of them, the first ones, orders were made and judged by replay.
    table
        One row per list, policy and goal: ``list, policy, category, measure, worst, target, in_sample, mean, low, high,
        met``.  ``policy``: ``best`` (best possible), ``orders`` (orders judged by replay), ``usual`` (usual practice).
        ``measure``: ``coverage`` (0 to 1) or ``without_min`` (patient-minutes).  ``low`` and ``high``: 95 % interval.
        ``in_sample``: over the incidents that it was chosen for; NaN for other policies.  ``low`` and ``high`` are NaN
        where fewer than five incidents are in the tail.  ``met``: whether the mean
        meets the target (``None`` where there is no target); ``sure``: whether the whole interval does.
        Weighted coverage is always there, with ``category`` ``weighted``.
    """

    incidents: int
    judged: int
    table: pd.DataFrame


@dataclass(frozen=True, slots=True)
class Stock:
    """The packing list, the risk that it leaves, and what to say to whoever pays.

    Money is in ``stocking.money``, over ``stocking.years`` years, unless a name ends in ``yearly``.

    Parameters
    ----------
    mode
        ``goals`` (least cost that meets them) or ``budget`` (most weighted coverage for it).
    budget
        Of a choice for a budget [money]; NaN otherwise.
    incidents, seed
        Sampled incidents that the list was chosen for.
    packing
        One row per thing packed, in the order of caches, bags and candidates: ``cache, station, bag, candidate, kind,
        packs, units, owned, new, buy, yearly, cost, mass_kg, volume_l, slot, slots, gas_l``; ``buy`` of new packs,
        ``yearly`` of all, ``cost`` of both over the years.
    usage
        ``cache, station, limit, used, allowed, unit``; ``allowed`` is ``inf`` where there is no limit.
    lists
        Lists side by side, one row each: ``list, cost, buy, yearly, mass_kg, weighted, limits_kept, goals_met,
        together`` and, for every goal number n from 1, ``goal_n`` (coverage 0 to 1, or patient-minutes); over the
        sampled incidents.  ``goal_n`` and ``goals_met`` take each goal at its own best; ``together`` tells whether
        the list can meet all of them at once, which is more and what the chosen list does.
        ``list`` is :data:`CHOSEN`, :data:`OWNED`, :data:`AVERAGE` or the name of a rule of thumb.
    contents
        What is in each of these lists: ``list, cache, station, candidate, packs``.
    frontier
        Best lists for many amounts of money: ``cost, budget, weighted, lower, upper, gap`` (of the missed share), one
        ``coverage_CATEGORY`` (0 to 1) and one ``without_CATEGORY_min`` (patient-minutes, mean) and
        ``tail_CATEGORY_min`` (mean of the worst 5 %) per category that occurs; ``added`` (what comes in, and goes out,
        compared with the row above, in words).
    targets
        The cheapest list for goals around those written: ``goal, target, cost, lower, gap, proven`` and one column
        ``packs: CANDIDATE`` per candidate; one block of rows per goal (number from 1), the others as written.
    step
        Money of one step of the frontier.
    patients
        The chosen list with more or fewer patients: ``factor, patients, weighted, goals_met, together`` and ``goal_n``
        as in ``lists``; and ``cost``, of the cheapest list for so many (NaN where there is none).
    worst
        The incidents that break the list, worst first: ``incident, name, patients, weighted, without_min, why,
        one_more, gain, values`` (what differs from the scenario as written, in words).
    worst_scenarios
        By name, each of them as a scenario with the chosen list in it: contents by file name, the scenario first.
    worth
        What planning for many incidents is worth.
    validity
        On fresh incidents.
    lower, upper, gap, rounds, cuts, seconds, proven
        Of the choice: no list costs less than ``lower``; in mode ``budget`` both are the missed share of the weighted
        need.
    trace
        ``round, seconds, lower, upper``.
    notes
        What a reader should know, as whole sentences.
    """

    scenario: Scenario
    stocking: Stocking
    mode: str
    budget: float
    incidents: int
    seed: int
    packing: pd.DataFrame
    usage: pd.DataFrame
    lists: pd.DataFrame
    contents: pd.DataFrame
    frontier: pd.DataFrame
    targets: pd.DataFrame
    step: float
    patients: pd.DataFrame
    worst: pd.DataFrame
    worst_scenarios: Mapping[str, Mapping[str, str]]
    worth: Worth
    validity: Validity
    lower: float
    upper: float
    gap: float
    rounds: int
    cuts: int
    seconds: float
    proven: bool
    trace: pd.DataFrame
    notes: tuple[str, ...]
    provenance: Provenance
