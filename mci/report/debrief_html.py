"""A debrief as one HTML file that needs nothing else."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.debrief_build import build_debrief_page
from mci.report.figures.compose_debrief import draw_debrief_figures
from mci.report.html import fill_template

if TYPE_CHECKING:
    from mci.drills.debriefed import Debrief

__all__ = ["debrief_html_text"]


def debrief_html_text(debrief: Debrief) -> str:
    """Make the report of a debrief as one self-contained HTML text."""
    page = build_debrief_page(debrief)
    styles = ("report.css", "study.css", "debrief.css")
    return fill_template("debrief.html.j2", page, draw_debrief_figures(debrief), styles)
