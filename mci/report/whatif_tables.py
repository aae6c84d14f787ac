"""A what-if study as tables for files."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.study_tables import exact_table, study_headers

if TYPE_CHECKING:
    from mci.report.table import Table
    from mci.surge.whatif_result import WhatIf

__all__ = ["WHATIF_TABLES", "whatif_tables"]

#: Tables of a what-if study, in this order.
WHATIF_TABLES = ("cases", "swings", "breaks")


def whatif_tables(found: WhatIf) -> tuple[Table, ...]:
    """Return every table of the study; values of numbers are in the unit that stands beside them."""
    units = {number.path: number.unit or ("share" if number.kind == "share" else "") for number in found.numbers}
    ends = {"number": "number", "unit": "unit", "low": "low", "high": "high", "at_low": "at_low_best_share",
            "at_high": "at_high_best_share", "as_written": "as_written_best_share"}  # fmt: skip
    kept = {"number": "number", "unit": "unit", "category": "category", "goal": "goal_share", "kept_to": "kept_to",
            "lost_at": "lost_at", "direction": "direction", "binds": "binds"}  # fmt: skip
    return (
        exact_table("cases", found.table, study_headers(found.numbers)),
        exact_table("swings", found.swings.assign(unit=found.swings["number"].map(units)), ends),
        exact_table("breaks", found.breaks.assign(unit=found.breaks["number"].map(units)), kept),
    )
