"""The page in words and the figures put into one HTML file that needs nothing else.

No script, no network: the content security policy in the page forbids both.
Everything that a planner wrote is escaped by the template.
"""

from __future__ import annotations

import functools
from importlib.resources import files
from typing import TYPE_CHECKING

from jinja2 import Environment, FunctionLoader, StrictUndefined
from markupsafe import Markup

from mci.report.build import build_page
from mci.report.figures.compose import draw_figures
from mci.report.words import tie

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from mci.pipeline import Run

__all__ = ["fill_template", "html_text"]


def _tied(value: object) -> object:
    """Keep numbers and their units on one line; what is markup already stays as it is."""
    return tie(value) if type(value) is str else value


def _read(name: str) -> str:
    return files("mci.report").joinpath(name).read_text(encoding="utf-8")


@functools.cache
def _environment() -> Environment:
    """Return what knows the templates; each is compiled once."""
    return Environment(
        autoescape=True,
        loader=FunctionLoader(_read),
        undefined=StrictUndefined,
        finalize=_tied,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )


def fill_template(name: str, page: object, figures: Mapping[str, tuple[str, ...]], styles: Sequence[str]) -> str:
    """Lay a page in words and its figures out by a template of this room.

    Parameters
    ----------
    name
        File of the template.
    page
        The words.
    figures
        SVG by name.
    styles
        Files of the style sheets, in order.
    """
    css = "".join(_read(style) for style in styles)
    # Both are our own text: the style sheets, and figures in which every name was escaped.
    drawn = {name: tuple(map(Markup, svgs)) for name, svgs in figures.items()}
    return _environment().get_template(name).render(page=page, css=Markup(css), figures=drawn)  # noqa: S704


def html_text(run: Run, *, cards: bool = False) -> str:
    """Make the report of a run as one self-contained HTML text, with a card for every patient if wanted."""
    page = build_page(run, cards=cards)
    return fill_template("report.html.j2", page, draw_figures(run), ("report.css", "paper.css"))
