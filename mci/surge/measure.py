"""One case, measured: what is best possible, what binds, what usual practice reaches, and what orders do."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.demand.groups import count_demand
from mci.dispatch.plan import judge_usual
from mci.dispatch.rolling import rolling
from mci.dispatch.usual import USUAL
from mci.lp.allocate import weighted_need
from mci.lp.worth import best_of_one_more
from mci.pipeline import run
from mci.resupply.shortage import cover_over_time, coverage_by_category, shortage_windows
from mci.surge.cases import PLANNED, Role
from mci.surge.late import last_safe_arrival

if TYPE_CHECKING:
    import pandas as pd

    from mci.demand.groups import Demand
    from mci.lp.allocate import Allocation
    from mci.replay.judged import Judged
    from mci.scenario.model import Scenario
    from mci.surge.cases import Case, Row
    from mci.surge.study import Study

__all__ = ["measure"]


def measure(study: Study, case: Case) -> Row:
    """Evaluate one case.

    Parameters
    ----------
    study
        What all cases share.
    case
        What differs.  Of one that only shows what drives the result (``Role.DRIVER``), the best possible is measured
        and nothing else; how late a delivery may come is not asked of what is drawn at random (``Role.SAMPLE``).

    Returns
    -------
    Row
        Of :data:`mci.surge.measures.MEASURES` those that there are.

    Raises
    ------
    PlannerError
        If the variant has mistakes or no plan.
    """
    scenario = study.scenario(case.values)
    allocation = study.answer(scenario)
    demand = count_demand(scenario, study.settings.max_period)
    need = sum(weighted_need(part.scenario, part.index.demand) for part in allocation.parts)
    found: dict[str, float | str] = {
        "status": PLANNED,
        "need_weighted_min": need,
        "bound_weighted_min": allocation.outcome.bound,
    }
    found |= _at_best(scenario, demand, allocation, need)
    if case.role is Role.DRIVER:
        return found
    found |= _usual(scenario, demand, need)
    found |= _one_more(allocation)
    if case.role is not Role.SAMPLE:
        found |= _last_safe(study, scenario, allocation)
    if case.orders:
        found |= _orders(study, scenario, need)
    return found


def _columns(policy: str, coverage: pd.DataFrame, share: float) -> dict[str, float | str]:
    """Return the columns of a policy from its table of coverage per category."""
    found: dict[str, float | str] = {f"{policy}_share": share}
    for category, covered, without in zip(
        coverage["category"], coverage["coverage"], coverage["without_patient_min"], strict=True
    ):
        found[f"{policy}_{category}"] = covered
        found[f"{policy}_without_min" if category == "all" else f"{policy}_without_{category}_min"] = without
    return found


def _at_best(scenario: Scenario, demand: Demand, allocation: Allocation, need: float) -> dict[str, float | str]:
    over_time = cover_over_time(scenario, allocation.outcome)
    found = _columns("best", coverage_by_category(over_time, demand), allocation.outcome.bound / need)
    windows = shortage_windows(over_time)
    found["short_min"] = float(windows[["below_patient_min", "without_patient_min"]].to_numpy().sum())
    if len(windows):
        found["first_short_min"] = float(windows["start_min"].min())
    return found


def _one_more(allocation: Allocation) -> dict[str, float | str]:
    """Return what binds: that of which one more would help most."""
    best = best_of_one_more(allocation)
    if not len(best):
        return {"binding": "", "one_more": "", "one_more_gain": 0.0}
    row = best.iloc[0]
    where = f" at {row['area']}" if len({part.scenario.areas[0].key for part in allocation.parts}) > 1 else ""
    return {"binding": row["resource"], "one_more": f"{row['one_more']}{where}", "one_more_gain": row["gain_share"]}


def _last_safe(study: Study, scenario: Scenario, allocation: Allocation) -> dict[str, float | str]:
    if study.settings.priority != "weighted":
        return {}  # one number would have to stand for every category
    moment, delivery = last_safe_arrival(scenario, allocation.parts, study.as_good)
    return {"last_safe_min": moment, "last_safe_delivery": delivery}


def _usual(scenario: Scenario, demand: Demand, need: float) -> dict[str, float | str]:
    return _judged("usual", judge_usual(scenario, demand, USUAL[:1])[0], need)


def _orders(study: Study, scenario: Scenario, need: float) -> dict[str, float | str]:
    """Return what orders do: those of a full plan, and those of a crew that plans again and again."""
    planned = run(scenario, study.settings, further=False).executable
    found = {} if planned is None else _judged("orders", planned, need)
    if study.rolling_every is not None:
        found |= _judged("rolling", rolling(scenario, study.as_written, study.rolling_every, study.settings), need)
    return found


def _judged(policy: str, judged: Judged, need: float) -> dict[str, float | str]:
    """Return the columns of a policy that is carried out; none where the judge does not find it valid."""
    if not judged.verdict.validity:
        return {}
    return _columns(policy, judged.verdict.coverage, judged.verdict.weighted / need)
