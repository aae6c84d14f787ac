"""A what-if study as one HTML file that needs nothing else."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.figures.compose_risk import draw_risk_figures
from mci.report.html import fill_template
from mci.report.risk_build import build_risk_page

if TYPE_CHECKING:
    from mci.surge.risk_result import Risk

__all__ = ["risk_html_text"]


def risk_html_text(found: Risk) -> str:
    """Make the report of a risk study as one self-contained HTML text."""
    page = build_risk_page(found)
    return fill_template("risk.html.j2", page, draw_risk_figures(found), ("report.css", "study.css"))
