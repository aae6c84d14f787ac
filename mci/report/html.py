"""The page in words and the figures put into one HTML file that needs nothing else.

No script, no network: the content security policy in the page forbids both.
Everything that a planner wrote is escaped by the template.
"""

from __future__ import annotations

from importlib.resources import files
from typing import TYPE_CHECKING

from jinja2 import Environment, FunctionLoader, StrictUndefined
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


def _read(name: str) -> str:
    return files("mci.report").joinpath(name).read_text(encoding="utf-8")


def html_text(run: Run, *, cards: bool = False) -> str:
    """Make the report of a run as one self-contained HTML text, with a card for every patient if wanted."""
    environment = Environment(
        autoescape=True,
        loader=FunctionLoader(_read),
        undefined=StrictUndefined,
        finalize=_tied,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    css = _read("report.css") + _read("paper.css")
    # Both are our own text: the style sheet, and figures in which every name was escaped.
    figures = {name: tuple(map(Markup, svgs)) for name, svgs in draw_figures(run).items()}
    template = environment.get_template("report.html.j2")
    return template.render(page=build_page(run, cards=cards), css=Markup(css), figures=figures)  # noqa: S704
