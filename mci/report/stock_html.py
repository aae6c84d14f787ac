"""A packing list as one HTML file that needs nothing else."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.figures.compose_stock import draw_stock_figures
from mci.report.html import fill_template
from mci.report.stock_build import build_stock_page

if TYPE_CHECKING:
    from mci.stocking.result import Stock

__all__ = ["stock_html_text"]


def stock_html_text(found: Stock) -> str:
    """Make the report of a packing list as one self-contained HTML text."""
    page = build_stock_page(found)
    return fill_template("stock.html.j2", page, draw_stock_figures(found), ("report.css", "study.css", "stock.css"))
