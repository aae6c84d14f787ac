"""A few cases side by side as one HTML file that needs nothing else."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.beside_build import build_beside_page
from mci.report.figures.beside import draw_beside_figures
from mci.report.html import fill_template

if TYPE_CHECKING:
    from collections.abc import Sequence

    from mci.report.beside_cases import Chosen

__all__ = ["beside_html"]


def beside_html(name: str, chosen: Sequence[Chosen]) -> str:
    """Put two to six cases side by side on one self-contained page.

    Parameters
    ----------
    name
        What heads the page, such as the name of the incident.
    chosen
        The cases; all are compared with the first.

    Raises
    ------
    UsageError
        If there are too few or too many, or two of one name.
    """
    page = build_beside_page(name, chosen)
    return fill_template("beside.html.j2", page, draw_beside_figures(chosen), ("report.css", "study.css", "beside.css"))
