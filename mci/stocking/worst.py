"""The incidents that break a list, and why."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from mci.demand.groups import count_demand
from mci.lp.allocate import allocate
from mci.lp.worth import best_of_one_more
from mci.resupply.shortage import cover_over_time, coverage_by_category, shortage_windows
from mci.scenario.brought_text import brought_by
from mci.scenario.write_variant import Origin, write_variant
from mci.settings import Settings
from mci.stocking.fill import divide
from mci.stocking.judged import with_list
from mci.units import format_moment

if TYPE_CHECKING:
    from mci.scenario.model import Scenario
    from mci.stocking.study import Entry, Study

__all__ = ["worst_scenarios", "worst_table"]

#: How many are shown.
SHOWN = 5

_COLUMNS = ["incident", "name", "patients", "weighted", "without_min", "why", "one_more", "gain", "values"]


def worst_table(study: Study, chosen: Entry) -> pd.DataFrame:
    """Return the incidents in which most is missed, worst first (:attr:`mci.stocking.result.Stock.worst`).

    Most weighted need missed; where that is alike, most patient-minutes without oxygen.  Incidents in which nothing is
    missed are left out.
    """
    missed = chosen.harms[:, 0] + 1e-9 * chosen.harms[:, 2::2].sum(axis=1)
    order = [n for n in np.argsort(-missed, kind="stable").tolist() if chosen.harms[n, 0] > 1e-6][:SHOWN]
    rows = [_row(study, chosen, number, rank) for rank, number in enumerate(order, start=1)]
    return pd.DataFrame(rows, columns=_COLUMNS)


def _row(study: Study, chosen: Entry, number: int, rank: int) -> Mapping[str, object]:
    draft, values = study.sampled.draft, study.sampled.values[number]
    study.say(f"incident {number + 1}")
    scenario = with_list(draft, values, chosen.packed)
    demand = count_demand(scenario)
    allocation = allocate(scenario, demand, Settings())
    over_time = cover_over_time(scenario, allocation.outcome)
    coverage = coverage_by_category(over_time, demand).set_index("category")
    best = best_of_one_more(allocation)
    patients = int(demand.patients["all"])
    more, gain = ("", 0.0) if not len(best) else (_more(scenario, best.iloc[0]), float(best.iloc[0]["gain_share"]))
    return {
        "incident": number + 1,
        "name": f"worst {rank}: incident {number + 1}",
        "patients": patients,
        "weighted": 1.0 - float(chosen.harms[number, 0]),
        "without_min": float(coverage["without_patient_min"]["all"]),
        "why": _why(scenario, shortage_windows(over_time), "" if not len(best) else str(best.iloc[0]["resource"])),
        "one_more": more,
        "gain": gain,
        "values": "; ".join(f"{path} {_short(text)}" for path, text in values.items()),
    }


def _short(text: str) -> str:
    """Return a number with three digits, and any other text as it is."""
    try:
        return f"{float(text):.3g}"
    except ValueError:
        return text


def _more(scenario: Scenario, best: pd.Series) -> str:
    """Say what one more of would help most; and where, if there are several areas."""
    where = next(area.title for area in scenario.areas if area.key == best["area"])
    return f"{best['one_more']}, at {where}" if len(scenario.areas) > 1 else str(best["one_more"])


def _why(scenario: Scenario, windows: pd.DataFrame, binding: str) -> str:
    """Say when it runs short, for whom most, and what binds."""
    if not len(windows):
        return ""
    short = windows.assign(minutes=windows["below_patient_min"] + windows["without_patient_min"])
    worst = short.sort_values("minutes", ascending=False, kind="stable").iloc[0]
    area = next(area.title for area in scenario.areas if area.key == worst["area"])
    span = f"{format_moment(worst['start_min'])} to {format_moment(worst['end_min'])}"
    words = (
        f"{worst['category'].capitalize()} at {area} below target from {span}, {worst['most_below_target']:.0f} at once"
    )
    return f"{words}; short of: {binding}" if binding else words


def worst_scenarios(study: Study, chosen: Entry, worst: pd.DataFrame, seed: int) -> dict[str, Mapping[str, str]]:
    """Return each of these incidents as a scenario with the list in it: by name, its files, the scenario first.

    Parameters
    ----------
    seed
        With which incidents were drawn.
    """
    draft, layout = study.sampled.draft, study.layout
    written = {}
    for rank, (number, name) in enumerate(zip(worst["incident"], worst["name"], strict=True), start=1):
        values = study.sampled.values[number - 1]
        scenario = draft.scenario(values)
        parcels = divide(scenario, layout, chosen.packed, study.targets.harms)
        brought = brought_by(scenario, scenario.stocking or layout.stocking, parcels)
        written[name] = write_variant(
            draft,
            values,
            brought,
            f"{scenario.name}, incident {number}",
            f"{scenario.summary} One of the sampled incidents that break the chosen list, with that list in it.",
            origin=Origin(int(number), seed),
            file=f"{rank:02d}-incident-{number}.yaml",
        )
    return written
