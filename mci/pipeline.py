"""The whole run, from a scenario to everything that a report shows: read this file first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

    from mci.lp.outcome import Outcome
    from mci.provenance import Provenance
    from mci.scenario.model import Scenario

__all__ = ["Run"]


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
        must be added by then), ``total`` (running total of that item), ``litres`` (running total
        of extra litres drawn by the end of the horizon where the item is gas, else NaN).
    resupply_notes
        Where a goal cannot be met by gas, devices and staff alone, why.
    provenance
        Version, hashes, settings, solver and timings.
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
