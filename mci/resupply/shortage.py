"""Where, when and for whom it runs short at best: need against delivery, shortage windows, stock curves."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
import pandas as pd

from mci.demand.groups import Demand
from mci.lp.outcome import Outcome
from mci.scenario.model import CATEGORIES, Scenario
from mci.timegrid import RESOLUTION

__all__ = ["cover_over_time", "coverage_by_category", "first_empty", "shortage_windows", "stock_curve"]

Floats = npt.NDArray[np.float64]

#: Fewer patients than this below target are rounding, not a shortage [patients].
NOBODY = 1e-3
#: Less than this share of the largest stock (or of a litre) is empty.
EMPTY_SHARE = 1e-6

_KEYS = ["area", "category", "start_min", "end_min"]


def cover_over_time(scenario: Scenario, outcome: Outcome) -> pd.DataFrame:
    """Return need and delivery per area, category and period (``over_time`` of the run)."""
    top = {key: ladder.rungs[0].flow_lpm for key, ladder in scenario.ladders.items()}
    need = outcome.need.assign(target_lpm=outcome.need["patients"] * outcome.need["ladder"].map(top))
    service = outcome.service
    on_top = service["rung"] == 0
    served = service.assign(
        served=service["patients"],
        at_target=service["patients"].where(on_top, 0.0),
        credit=service["patients"] * service["credit"],
        delivered_lpm=service["patients"] * service["flow_lpm"],
    )
    wide = need.groupby(_KEYS, sort=False)[["patients", "target_lpm"]].sum()
    given = served.groupby(_KEYS, sort=False)[["served", "at_target", "credit", "delivered_lpm"]].sum()
    table = wide.rename(columns={"patients": "need"}).join(given, how="left").fillna(0.0).reset_index()
    table["without"] = _clean(table["need"] - table["served"])
    table["below_target"] = _clean(table["served"] - table["at_target"])
    rank = {category: number for number, category in enumerate(CATEGORIES)}
    place = {area.key: number for number, area in enumerate(scenario.areas)}
    order = pd.DataFrame({"a": table["area"].map(place), "c": table["category"].map(rank), "t": table["start_min"]})
    table = table.loc[order.sort_values(["a", "c", "t"]).index].reset_index(drop=True)
    columns = ["need", "at_target", "below_target", "without", "credit", "target_lpm", "delivered_lpm"]
    return table[[*_KEYS, *columns]]


def _clean(values: pd.Series[float]) -> pd.Series[float]:
    return values.where(values > NOBODY, 0.0)


def coverage_by_category(over_time: pd.DataFrame, demand: Demand) -> pd.DataFrame:
    """Return coverage per category and of all (``coverage`` of the run)."""
    minutes = over_time["end_min"] - over_time["start_min"]
    scaled = over_time[["need", "credit", "at_target", "below_target", "without"]].mul(minutes, axis=0)
    scaled["category"] = over_time["category"]
    sums = scaled.groupby("category", sort=False).sum()
    per_moment = over_time.assign(short=over_time["below_target"] + over_time["without"])
    rows = []
    for category, count in demand.patients.items():
        mine = per_moment if category == "all" else per_moment[per_moment["category"] == category]
        total = sums.sum() if category == "all" else sums.loc[category]
        peaks = mine.groupby("start_min")[["short", "without"]].sum()
        rows.append(
            {
                "category": category,
                "patients": count,
                "needed_patient_min": total["need"],
                "credit_min": total["credit"],
                "coverage": total["credit"] / total["need"],
                "at_target_patient_min": total["at_target"],
                "below_target_patient_min": total["below_target"],
                "without_patient_min": total["without"],
                "most_below_target": peaks["short"].max(),
                "most_without": peaks["without"].max(),
            }
        )
    return pd.DataFrame(rows)


def shortage_windows(over_time: pd.DataFrame) -> pd.DataFrame:
    """Return the unbroken stretches in which somebody is below target (``windows`` of the run).

    A stretch is broken where the first goes without or the last is served again.
    """
    short = over_time[over_time["below_target"] + over_time["without"] > NOBODY]
    minutes = short["end_min"] - short["start_min"]
    follows = (
        (short["area"] == short["area"].shift())
        & (short["category"] == short["category"].shift())
        & (short["start_min"] == short["end_min"].shift())
        & ((short["without"] > NOBODY) == (short["without"].shift() > NOBODY))
    )
    pieces = short.assign(
        window=(~follows).cumsum(),
        most_below_target=short["below_target"] + short["without"],
        below_patient_min=short["below_target"] * minutes,
        without_patient_min=short["without"] * minutes,
    )
    windows = pieces.groupby("window", sort=False).agg(
        area=("area", "first"),
        category=("category", "first"),
        start_min=("start_min", "min"),
        end_min=("end_min", "max"),
        most_below_target=("most_below_target", "max"),
        most_without=("without", "max"),
        below_patient_min=("below_patient_min", "sum"),
        without_patient_min=("without_patient_min", "sum"),
    )
    return windows.reset_index(drop=True)


def stock_curve(scenario: Scenario, demand: Demand, outcome: Outcome) -> pd.DataFrame:
    """Return usable litres in cylinders and vessels per area at every breakpoint (``stock`` of the run).

    What is left in a vessel that is taken away goes with it.
    """
    points = demand.grid.points
    rows = []
    for area in scenario.areas:
        stored = [lot for lot in scenario.lots if lot.area == area.key and math.isfinite(lot.litres)]
        if not stored:
            continue
        litres, arrived = np.zeros(len(points)), np.zeros(len(points))
        for lot in stored:
            drawn = outcome.draw[outcome.draw["lot"] == lot.key]
            by_end = np.bincount(np.searchsorted(points, drawn["end_min"]), drawn["litres"], minlength=len(points))
            come = points >= lot.available_from - RESOLUTION
            gone = points >= min(lot.available_until, points[-1] + 1) - RESOLUTION
            gone[-1] = lot.available_until < points[-1] - RESOLUTION
            litres += np.where(come & ~gone, np.maximum(lot.litres - np.cumsum(by_end), 0.0), 0.0)
            arrived[come] += lot.litres
        rows.append(
            pd.DataFrame(
                {
                    "area": area.key,
                    "time_min": points,
                    "litres": litres,
                    "delivered_litres": np.diff(arrived, prepend=arrived[0]),
                }
            )
        )
    columns = ["area", "time_min", "litres", "delivered_litres"]
    return pd.concat(rows, ignore_index=True) if rows else pd.DataFrame(columns=columns)


def first_empty(scenario: Scenario, stock: pd.DataFrame) -> pd.DataFrame:
    """Return when the stock of each area is first empty after it held gas, be it just as more comes (NaN if never)."""
    rows = []
    for area in scenario.areas:
        mine = stock[stock["area"] == area.key]
        after = mine["litres"].to_numpy(dtype=float)
        before = after - mine["delivered_litres"].to_numpy(dtype=float)  # just before a delivery
        nothing = max(1.0, EMPTY_SHARE * after.max(initial=0.0))
        had_gas = np.concatenate([[False], np.logical_or.accumulate(after > nothing)])[:-1]
        times = mine["time_min"].to_numpy(dtype=float)[(before <= nothing) & had_gas]
        rows.append({"area": area.key, "empty_min": float(times[0]) if len(times) else math.nan})
    return pd.DataFrame(rows, columns=["area", "empty_min"])
