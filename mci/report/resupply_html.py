"""The resupply plan as one HTML file that needs nothing else."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.figures.compose_resupply import draw_resupply_figures
from mci.report.html import fill_template
from mci.report.resupply_build import build_resupply_page

if TYPE_CHECKING:
    from mci.pipeline_resupply import ResupplyRun

__all__ = ["resupply_html_text"]

_STYLES = ("report.css", "paper.css", "resupply.css")


def resupply_html_text(found: ResupplyRun, *, notes: tuple[str, ...] = ()) -> str:
    """Make the report of a resupply run as one self-contained HTML text, with further notes if wanted."""
    page = build_resupply_page(found, notes=notes)
    return fill_template("resupply.html.j2", page, draw_resupply_figures(found), _STYLES)
