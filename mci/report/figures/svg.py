"""A figure as SVG text to be put inside a page: same data, same bytes; described for screen readers."""

from __future__ import annotations

import io
import re
from html import escape
from types import MappingProxyType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matplotlib.figure import Figure

__all__ = ["svg_text"]

_NO_METADATA = dict.fromkeys(("Date", "Creator", "Format", "Type"))


def svg_text(
    figure: Figure, name: str, title: str, description: str, hovers: Mapping[str, str] = MappingProxyType({})
) -> str:
    """Render a figure as an inline ``<svg>`` element.

    Parameters
    ----------
    name
        Unique on the page; put before every id, since all figures share one document.
    title, description
        What a screen reader says.
    hovers
        What is said when the pointer rests on a mark, by the id (``gid``) of the mark.
    """
    stream = io.StringIO()
    figure.savefig(stream, format="svg", metadata=_NO_METADATA)
    text = stream.getvalue()
    text = text[text.index("<svg") :]
    text = re.sub(r"<metadata>.*?</metadata>\s*", "", text, flags=re.DOTALL)
    text = re.sub(r'<style type="text/css">.*?</style>', "", text, flags=re.DOTALL)  # would apply to the whole page
    text = re.sub(r"<!--.*?-->\s*", "", text, flags=re.DOTALL)
    text = re.sub(r'<g id="([^"]*)">', lambda found: _group(hovers.get(found[1], "")), text)
    text = re.sub(r'<g id="[^"]*"', "<g", text)
    text = re.sub(r'(\bid="|url\(#|xlink:href="#)', rf"\g<1>{name}-", text)
    text = text.replace("xlink:href=", "href=").replace(' xmlns:xlink="http://www.w3.org/1999/xlink"', "")
    text = text.replace(' xmlns="http://www.w3.org/2000/svg"', "", 1)  # inside HTML the parser knows
    width, height = (72 * inches for inches in figure.get_size_inches())
    head = (
        f'<svg role="img" aria-labelledby="{name}-title {name}-desc" viewBox="0 0 {width:g} {height:g}" '
        f'width="{width:g}pt" height="{height:g}pt">\n'
        f'<title id="{name}-title">{escape(title)}</title>\n<desc id="{name}-desc">{escape(description)}</desc>'
    )
    return re.sub(r"<svg[^>]*>", lambda _: head, text, count=1).strip()


def _group(words: str) -> str:
    return f"<g><title>{escape(words)}</title>" if words else "<g>"
