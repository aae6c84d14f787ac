"""Names of columns and rows are made in one place and can be read back."""

from __future__ import annotations

import re

from hypothesis import given
from hypothesis import strategies as st

from mci.lp.names import make_name, read_name

FAMILIES = st.from_regex(r"[a-z]+", fullmatch=True)
INDICES = st.lists(st.integers(0, 10**6), max_size=3).map(tuple)


@given(FAMILIES, INDICES)
def test_reading_a_name_gives_what_it_was_made_of(family: str, indices: tuple[int, ...]) -> None:
    """``read_name`` undoes ``make_name``, so two different columns never share a name."""
    assert read_name(make_name(family, *indices)) == (family, indices)


@given(FAMILIES, INDICES)
def test_names_stay_as_they_are_in_the_solver(family: str, indices: tuple[int, ...]) -> None:
    """Names use only characters that PuLP and the file formats of solvers leave alone."""
    assert re.fullmatch(r"[a-z0-9_]+", make_name(family, *indices))
