"""The numbers behind each figure of a risk study, as drawn."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.risk_series import chance_panels, dots, driver_panels, histograms, settlings
from mci.report.study_tables import behind, rows_table
from mci.surge.measures import POLICIES

if TYPE_CHECKING:
    from mci.report.study_tables import Behind
    from mci.report.table import Table
    from mci.surge.risk_result import Risk

__all__ = ["behind_risk_figures"]


def behind_risk_figures(found: Risk) -> dict[str, tuple[Behind, ...]]:
    """Return the tables behind each figure, by its name; none where there is nothing to draw."""
    made = (_policies(found), _chances(found), _settling(found), _drivers(found), _inputs(found))
    return {table.name: (behind(table),) if table.rows else () for table in made}


def _policies(found: Risk) -> Table:
    headers = ("category", "policy", "mean_share", "low_share", "high_share", "q05_share", "q95_share")
    rows = ((d.title, POLICIES[d.policy], d.mean, d.low, d.high, d.q05, d.q95) for d in dots(found))
    return rows_table("policies", headers, rows)


def _chances(found: Risk) -> Table:
    rows = (
        (panel.title, POLICIES[curve.policy], at_least, part)
        for panel in chance_panels(found)
        for curve in panel.curves
        for at_least, part in zip(curve.amounts, curve.shares, strict=True)
    )
    return rows_table("chances", ("category", "policy", "at_least_patient_min", "share_of_incidents"), rows)


def _settling(found: Risk) -> Table:
    rows = (
        (line.title, *row)
        for line in settlings(found)
        for row in zip(line.drawn, line.mean, line.low, line.high, strict=True)
    )
    return rows_table("settling", ("policy", "drawn", "mean_share", "low_share", "high_share"), rows)


def _drivers(found: Risk) -> Table:
    headers = ("measure", "input", "first_share", "first_low", "first_high", "total_share", "total_low", "total_high")
    rows = (
        (panel.title, b.input, b.first, b.first_low, b.first_high, b.total, b.total_low, b.total_high)
        for panel in driver_panels(found)
        for b in panel.bars
    )
    return rows_table("drivers", headers, rows)


def _inputs(found: Risk) -> Table:
    rows = (
        (bars.path, *_ends(bars.edges, bars.words, place), part)
        for bars in histograms(found)
        for place, part in enumerate(bars.shares)
    )
    return rows_table("inputs", ("number", "from", "to", "share_of_samples"), rows)


def _ends(edges: tuple[float, ...], words: tuple[str, ...], place: int) -> tuple[float | str, float | str]:
    """Return the ends of a bar; of a word, the word."""
    if len(words) == len(edges) - 1:
        return words[place], words[place]
    return edges[place], edges[place + 1]
