"""A run as tidy tables: one definition for the CSV files and for ``plan.json``.

Every header of a quantity ends in its unit.  Numbers are rounded to a millionth, far below
anything measurable, so that the last bits of a float never make two equal runs differ.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from mci.report.compared import comparison_table, measure
from mci.report.order_table import order_table
from mci.report.rosters import ROSTER_NAMES, cylinder_roster, patient_roster
from mci.report.series import windows_of_plan
from mci.report.table import Table, plain

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    import pandas as pd

    from mci.pipeline import Run
    from mci.scenario.model import Scenario

__all__ = ["TABLE_NAMES", "all_tables"]

_WINDOW_HEADERS = {
    "area": "area",
    "category": "category",
    "start_min": "start_min",
    "end_min": "end_min",
    "most_below_target": "most_below_target_patients",
    "most_without": "most_without_patients",
    "below_patient_min": "lower_rung_patient_min",
    "without_patient_min": "without_patient_min",
}
#: For each table of the run: its column in memory and its header in the files.
_HEADERS: Mapping[str, Mapping[str, str]] = {
    "coverage": {
        "category": "category",
        "patients": "patients",
        "needed_patient_min": "needed_patient_min",
        "credit_min": "credit_patient_min",
        "coverage": "coverage_share",
        "at_target_patient_min": "at_target_patient_min",
        "below_target_patient_min": "lower_rung_patient_min",
        "without_patient_min": "without_patient_min",
        "most_below_target": "most_below_target_patients",
        "most_without": "most_without_patients",
    },
    "over_time": {
        "area": "area",
        "category": "category",
        "start_min": "start_min",
        "end_min": "end_min",
        "need": "need_patients",
        "at_target": "at_target_patients",
        "below_target": "lower_rung_patients",
        "without": "without_patients",
        "credit": "credit_patients",
        "target_lpm": "target_L_per_min",
        "delivered_lpm": "delivered_L_per_min",
    },
    "shortage_windows": _WINDOW_HEADERS,
    "plan_windows": _WINDOW_HEADERS,
    "stock": {"area": "area", "time_min": "time_min", "litres": "stock_L", "delivered_litres": "delivered_L"},
    "first_empty": {"area": "area", "empty_min": "empty_min"},
    "service": {
        "area": "area",
        "category": "category",
        "ladder": "ladder",
        "rung": "rung",
        "device": "device",
        "setting": "setting",
        "flow_lpm": "flow_L_per_min",
        "credit": "credit_share",
        "start_min": "start_min",
        "end_min": "end_min",
        "patients": "patients",
    },
    "draw": {"lot": "lot", "area": "area", "start_min": "start_min", "end_min": "end_min", "litres": "drawn_L"},
    "worth": {
        "resource": "resource",
        "area": "area",
        "one_more": "one_more",
        "weighted_gain_min": "weighted_gain_patient_min",
        "gain_share": "gain_share",
        "immediate_min": "immediate_gain_patient_min",
        "delayed_min": "delayed_gain_patient_min",
        "minimal_min": "minimal_gain_patient_min",
        "expectant_min": "expectant_gain_patient_min",
    },
    "resupply": {
        "goal": "goal",
        "area": "area",
        "by_min": "by_min",
        "item": "item",
        "unit": "unit",
        "quantity": "quantity",
        "total": "total_quantity",
        "litres": "extra_drawn_L",
    },
}


#: Every table that is written, in this order.
TABLE_NAMES = ("comparison", *_HEADERS, "areas", "supplies", "left_out", "assumptions", "orders", *ROSTER_NAMES)


def _from_frame(name: str, frame: pd.DataFrame) -> Table:
    columns = _HEADERS[name]
    cells = [[plain(value) for value in frame[column].tolist()] for column in columns]
    return Table(name, tuple(columns.values()), tuple(zip(*cells, strict=True)))


def _from_rows(name: str, headers: Sequence[str], rows: Iterable[Iterable[Any]]) -> Table:
    return Table(name, tuple(headers), tuple(tuple(plain(value) for value in row) for row in rows))


_SUPPLY_HEADERS = (
    "lot",
    "label",
    "kind",
    "area",
    "quantity",
    "usable_L",
    "usable_each_L",
    "gauge_psi",
    "residual_psi",
    "temperature_C",
    "gas_model",
    "available_from_min",
    "available_until_min",
    "delivery",
)


def _supplies(scenario: Scenario) -> Table:
    rows = []
    for lot in scenario.lots:
        gas_model = None if lot.gas_model is None else str(lot.gas_model)
        what = (lot.key, lot.label, str(lot.kind), lot.area, lot.quantity, lot.litres, lot.litres_each)
        reckoned = (lot.gauge_psi, lot.residual_psi, lot.temperature_c, gas_model)
        rows.append((*what, *reckoned, lot.available_from, lot.available_until, lot.delivery))
    return _from_rows("supplies", _SUPPLY_HEADERS, rows)


def all_tables(run: Run) -> tuple[Table, ...]:
    """Return every table of a run, in the order in which they are written."""
    scenario = run.scenario
    frames = {
        "coverage": run.coverage,
        "over_time": run.over_time,
        "shortage_windows": run.windows,
        "plan_windows": windows_of_plan(run),
        "stock": run.stock,
        "first_empty": run.first_empty,
        "service": run.outcome.service,
        "draw": run.outcome.draw,
        "worth": run.worth,
        "resupply": run.resupply,
    }
    areas = _from_rows("areas", ("area", "title"), ((area.key, area.title) for area in scenario.areas))
    left_out = _from_rows(
        "left_out", ("what", "area", "why"), ((item.what, item.area, item.why) for item in scenario.left_out)
    )
    assumptions = _from_rows(
        "assumptions",
        ("what", "value", "basis", "source"),
        ((item.what, item.value, str(item.source.basis), item.source.text) for item in scenario.assumptions),
    )
    compared = comparison_table(measure(scenario, run.outcome.bound, run.coverage, run.plans if run.executable else ()))
    made = tuple(_from_frame(name, frame) for name, frame in frames.items())
    orders = order_table(run.executable.plan.orders if run.executable else (), scenario.start)
    known = (areas, _supplies(scenario), left_out, assumptions)
    return (compared, *made, *known, orders, patient_roster(scenario), cylinder_roster(scenario))
