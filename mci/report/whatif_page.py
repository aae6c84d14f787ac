"""What the page of a what-if study says, as words in frozen records: the one source of HTML page and terminal."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["BreakRow", "CaseRow", "VariedRow", "WhatIfBody"]


@dataclass(frozen=True, slots=True)
class VariedRow:
    """One number that was varied: its path, what it is, as written, and over which values.

    ``letter`` stands for it at the head of a column where there are too many for their paths, else it is empty.
    """

    letter: str
    path: str
    what: str
    written: str
    values: str


@dataclass(frozen=True, slots=True)
class BreakRow:
    """Where coverage of one category breaks as one number moves; ``sentence`` says all of it."""

    path: str
    category: str
    word: str
    kept_to: str
    lost_at: str
    binds: str
    sentence: str


@dataclass(frozen=True, slots=True)
class CaseRow:
    """One case: values of the numbers, coverage at best and by others, what is short and what would help.

    ``failed`` is why there is no result; then the rest are dashes.
    """

    name: str
    written: bool
    values: tuple[str, ...]
    best: tuple[str, ...]
    others: tuple[str, ...]
    first_short: str
    binds: str
    one_more: str
    gain: str
    last_safe: str
    failed: str


@dataclass(frozen=True, slots=True)
class WhatIfBody:
    """What only the page of a what-if study has; columns of the rows of cases are named by the tuples of words."""

    varied: tuple[VariedRow, ...]
    breaks: tuple[BreakRow, ...]
    cases: tuple[CaseRow, ...]
    numbers: tuple[str, ...]
    categories: tuple[tuple[str, str], ...]
    others: tuple[str, ...]
    policies: tuple[tuple[str, str], ...]
    maps: tuple[str, ...]
    left: str
    line_note: str
    marks_break: bool
    goal: str
