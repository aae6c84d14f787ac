"""Text in table files."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from mci.cells import plain_text, safe_text


@given(st.text())
def test_no_text_is_a_formula_and_none_is_lost(text: str) -> None:
    """What was made safe begins with no sign of a formula and can be had back."""
    safe = safe_text(text)
    assert not safe.startswith(("=", "+", "-", "@", "\t", "\r"))
    assert plain_text(safe) == text
