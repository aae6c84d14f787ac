"""A what-if study as one HTML file that needs nothing else."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.figures.compose_whatif import draw_whatif_figures
from mci.report.html import fill_template
from mci.report.whatif_build import build_whatif_page

if TYPE_CHECKING:
    from mci.surge.whatif_result import WhatIf

__all__ = ["whatif_html_text"]


def whatif_html_text(found: WhatIf) -> str:
    """Make the report of a what-if study as one self-contained HTML text."""
    page = build_whatif_page(found)
    return fill_template("whatif.html.j2", page, draw_whatif_figures(found), ("report.css", "study.css"))
