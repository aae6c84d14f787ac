"""The page in words and the figures put into one HTML file that needs nothing else.

No script, no network: the content security policy in the page forbids both.
Everything that a planner wrote is escaped by the template.
"""

from __future__ import annotations

from importlib.resources import files
from typing import TYPE_CHECKING

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup

from mci.report.build import build_page
from mci.report.figures.compose import draw_figures
from mci.report.words import tie

if TYPE_CHECKING:
    from mci.pipeline import Run

__all__ = ["html_text"]


def _tied(value: object) -> object:
    """Keep numbers and their units on one line; what is markup already stays as it is."""
    return tie(value) if type(value) is str else value


def html_text(run: Run) -> str:
    """Make the report of a run as one self-contained HTML text."""
    folder = files("mci.report")
    environment = Environment(
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_tied,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    template = environment.from_string(folder.joinpath("report.html.j2").read_text(encoding="utf-8"))
    css = folder.joinpath("report.css").read_text(encoding="utf-8")
    # Both are our own text: the style sheet, and figures in which every name was escaped.
    figures = {name: tuple(map(Markup, svgs)) for name, svgs in draw_figures(run).items()}
    return template.render(page=build_page(run), css=Markup(css), figures=figures)  # noqa: S704
