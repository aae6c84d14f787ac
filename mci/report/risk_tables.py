"""A risk study as tables for files."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.study_tables import exact_table, study_headers
from mci.surge.measures import MEASURES

if TYPE_CHECKING:
    import pandas as pd

    from mci.report.table import Table
    from mci.surge.risk_result import Risk

__all__ = ["RISK_TABLES", "risk_tables"]

#: Tables of a risk study, in this order.
RISK_TABLES = ("samples", "summary", "compared", "convergence", "exceedance", "drivers")
_UNITS = {measure.name: measure.unit for measure in MEASURES}


def risk_tables(found: Risk) -> tuple[Table, ...]:
    """Return every table of the study; amounts are in the unit that stands beside the measure."""
    frames = {
        "summary": found.summary,
        "compared": found.compared,
        "convergence": found.convergence,
        "exceedance": found.exceedance,
    }
    indices = ("first", "first_low", "first_high", "total", "total_low", "total_high")
    drivers = {
        "measure": "measure",
        "input": "input",
        "points": "points",
        **{name: f"{name}_share" for name in indices},
    }
    return (
        exact_table("samples", found.table, study_headers(found.numbers, "replicate")),
        *(_by_measure(name, frame) for name, frame in frames.items()),
        exact_table("drivers", found.drivers, drivers),
    )


def _by_measure(name: str, frame: pd.DataFrame) -> Table:
    with_units = frame.assign(unit=frame["measure"].map(_UNITS))
    columns = ["measure", "unit", *(column for column in frame.columns if column != "measure")]
    return exact_table(name, with_units, {column: column for column in columns})
