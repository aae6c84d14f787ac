"""Axes put together to cases."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from enum import StrEnum
from typing import TYPE_CHECKING

from mci.errors import UsageError
from mci.surge.cases import Case
from mci.surge.vary import refuse_more

if TYPE_CHECKING:
    from mci.surge.vary import Axis

__all__ = ["How", "combine"]


class How(StrEnum):
    """How the values of several axes are put together."""

    ALL = "all"  # every combination
    PAIRS = "pairs"  # the first values of all axes, then the second ones
    ONE = "one"  # each number alone, the others as written


def combine(axes: Sequence[Axis], how: How = How.ALL) -> tuple[Case, ...]:
    """Return the cases that axes ask for, named by their number from 1; the last axis changes fastest.

    Raises
    ------
    UsageError
        Two axes are of the same number, pairs are of unequal length, or there would be too many cases.
    """
    paths = [axis.path for axis in axes]
    twice = next((path for path in paths if paths.count(path) > 1), "")
    if twice:
        raise UsageError(f"{twice} is varied twice; list all its values at once")
    sizes = [len(axis.texts) for axis in axes]
    if how is How.PAIRS and len(set(sizes)) > 1:
        counts = ", ".join(f"{size} of {path}" for size, path in zip(sizes, paths, strict=True))
        raise UsageError(f"pairs need as many values of each number; there are {counts}")
    refuse_more(math.prod(sizes) if how is How.ALL else sum(sizes) if how is How.ONE else max(sizes, default=0))
    return tuple(Case(str(number), dict(values)) for number, values in enumerate(_values(axes, how), start=1))


def _values(axes: Sequence[Axis], how: How) -> Iterable[Iterable[tuple[str, str]]]:
    """Return path and text of every number that differs, for each case."""
    named = [[(axis.path, text) for text in axis.texts] for axis in axes]
    if how is How.ALL:
        return itertools.product(*named)
    if how is How.PAIRS:
        return zip(*named, strict=True)
    return ([each] for axis in named for each in axis)
