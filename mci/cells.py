"""Text in table files that a spreadsheet must not take for a formula.

Text that a planner wrote may begin with a sign that a spreadsheet takes for a formula
(``=``, ``+``, ``-``, ``@``, tab, carriage return).  Such text gets an apostrophe in front, which
spreadsheets take for "this is text"; numbers are never touched.
"""

from __future__ import annotations

__all__ = ["plain_text", "safe_text"]

_SIGNS = ("=", "+", "-", "@", "\t", "\r", "'")  # an apostrophe too, or the text before could not be had back


def safe_text(text: str) -> str:
    """Return text that no spreadsheet runs."""
    return f"'{text}" if text.startswith(_SIGNS) else text


def plain_text(text: str) -> str:
    """Return the text as it was before :func:`safe_text`."""
    return text[1:] if text.startswith("'") and text[1:].startswith(_SIGNS) else text
