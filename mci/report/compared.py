"""Usual practice, this plan and the best possible, measured by the same yardstick.

The yardstick is what the programme maximises, credit times the weight of the category, as a share of the weighted
need: only of that is the bound a bound.  Coverage per category and patient time stand beside it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from mci.demand.people import name_people
from mci.plan.orders import Action
from mci.report.series import records
from mci.report.table import Table, plain
from mci.scenario.model import CATEGORIES

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import pandas as pd

    from mci.demand.people import Person
    from mci.plan.orders import Order, Plan
    from mci.replay.judged import Judged
    from mci.scenario.model import Scenario

__all__ = ["BEST", "Measured", "comparison_table", "find_withdrawals", "measure", "weighted_need"]

#: Name of the bound among the plans.
BEST = "best possible"

_MOMENT = 1e-6  # min: what lies closer together is one moment


@dataclass(frozen=True, slots=True)
class Measured:
    """What one plan achieves.

    Parameters
    ----------
    weighted
        Share of the weighted need that is met, 0 to 1.
    gap
        How far that is below the bound, as a share of the bound; negative where a rule other than the weights made
        the bound.
    coverage
        For each category that occurs, then ``all``: ``coverage`` and the patient-minutes of the run's table.
    changes, moves, step_downs, withdrawals
        Numbers of orders; ``None`` for the bound, which has none.
    """

    name: str
    weighted: float
    gap: float
    coverage: Mapping[str, Mapping[str, Any]]
    changes: int | None = None
    moves: int | None = None
    step_downs: int | None = None
    withdrawals: int | None = None

    @property
    def is_bound(self) -> bool:
        """Whether this is the bound and not a plan."""
        return self.changes is None


def find_withdrawals(scenario: Scenario, plan: Plan) -> frozenset[Order]:
    """Return the orders that take a patient off oxygen who is still there, in need, and not put back at once."""
    people = {person.key: person for person in name_people(scenario)}
    connected = {(order.patient, order.minute) for order in plan.orders if order.action is Action.CONNECT}
    return frozenset(
        order
        for order in plan.orders
        if order.action is Action.DISCONNECT
        and (order.patient, order.minute) not in connected
        and _still_there(people.get(order.patient), order)
    )


def _still_there(person: Person | None, order: Order) -> bool:
    stay = person.stay_at(order.minute + _MOMENT) if person else None
    return stay is not None and stay.area == order.area


def measure(scenario: Scenario, bound: float, best: pd.DataFrame, plans: Sequence[Judged]) -> tuple[Measured, ...]:
    """Measure usual practice, then this plan, then the bound.

    Parameters
    ----------
    bound
        Best possible weighted coverage [weighted credit-minutes].
    best
        Coverage of the optimum, as :class:`mci.pipeline.Run` has it.
    plans
        This plan first.
    """
    need = weighted_need(scenario, best)

    def share(weighted: float) -> float:
        return weighted / need if need > 0 else 1.0

    made = []
    for judged in (*plans[1:], *plans[:1]):
        orders, weighted = judged.plan.orders, judged.verdict.weighted
        made.append(
            Measured(
                name=judged.name,
                weighted=share(weighted),
                gap=(bound - weighted) / bound if bound > 0 else 0.0,
                coverage=_by_category(judged.verdict.coverage),
                changes=sum(order.action is Action.CHANGE for order in orders),
                moves=sum(order.action is Action.MOVE for order in orders),
                step_downs=sum(order.action is Action.STEP_DOWN for order in orders),
                withdrawals=len(find_withdrawals(scenario, judged.plan)),
            )
        )
    return (*made, Measured(BEST, share(bound), 0.0, _by_category(best)))


def weighted_need(scenario: Scenario, coverage: pd.DataFrame) -> float:
    """Return the need of all, each category by its weight, from a table of coverage [weighted patient-minutes]."""
    rows = (row for row in records(coverage) if row["category"] != "all")
    return float(sum(scenario.weights[row["category"]] * row["needed_patient_min"] for row in rows))


def _by_category(frame: pd.DataFrame) -> dict[str, Mapping[str, Any]]:
    return {row["category"]: row for row in records(frame)}


_HEADERS = (
    "plan",
    "weighted_coverage_share",
    "gap_to_best_share",
    "coverage_share",
    *(f"{category}_coverage_share" for category in CATEGORIES),
    "at_target_patient_min",
    "lower_rung_patient_min",
    "without_patient_min",
    "cylinder_changes",
    "moves",
    "step_downs",
    "withdrawals",
)


def comparison_table(measured: Sequence[Measured]) -> Table:
    """Return the comparison as a tidy table, one row per plan."""
    rows = []
    for one in measured:
        parts = one.coverage["all"]
        times = (parts[f"{name}_patient_min"] for name in ("at_target", "below_target", "without"))
        by_category = (one.coverage[key]["coverage"] if key in one.coverage else None for key in CATEGORIES)
        counts = (one.changes, one.moves, one.step_downs, one.withdrawals)
        cells = (one.name, one.weighted, one.gap, parts["coverage"], *by_category, *times, *counts)
        rows.append(tuple(plain(cell) for cell in cells))
    return Table("comparison", _HEADERS, tuple(rows))
