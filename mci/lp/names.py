"""Names of columns and rows: made in one place, injective, reversible, in the solver's safe alphabet."""

from __future__ import annotations

__all__ = ["make_name", "read_name"]


def make_name(family: str, *indices: int) -> str:
    """Return the name of one column or row, such as ``serve_3_17``.

    Families are lower-case words without underscores; indices are those of
    :class:`mci.lp.index.Index`.
    """
    return "_".join((family, *map(str, indices)))


def read_name(name: str) -> tuple[str, tuple[int, ...]]:
    """Return family and indices of a name made by :func:`make_name`."""
    family, *indices = name.split("_")
    return family, tuple(int(index) for index in indices)
