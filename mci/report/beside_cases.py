"""The cases that are put side by side: each a run, with the numbers in which it differs from what is written."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from mci.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from mci.pipeline import Run

__all__ = ["BESIDE_NAME", "FEWEST", "MOST", "Chosen", "case_name", "check_chosen"]

#: How many cases can be compared on one page, and read on paper.
FEWEST, MOST = 2, 6
#: The file of the page.
BESIDE_NAME = "beside.html"


def case_name(place: int) -> str:
    """Return the file of the full report of a case, by its place on the page from 0."""
    return f"case-{place + 1}.html"


@dataclass(frozen=True, slots=True)
class Chosen:
    """One case to be shown beside others.

    Parameters
    ----------
    key
        Name, used once.
    title
        What heads its column, such as ``as written``.
    changes
        Each number that was changed: its path, as written, and in this case, all as a planner writes them.
    run
        What was found, with the worth of one more and what must be added (``further``).
    href
        Where its full report is, relative to the page; empty where there is none.
    """

    key: str
    title: str
    changes: tuple[tuple[str, str, str], ...]
    run: Run
    href: str = ""


def check_chosen(chosen: Sequence[Chosen]) -> None:
    """Refuse what cannot be put side by side.

    Raises
    ------
    UsageError
        If there are too few or too many cases, a name is used twice, or a link leads away from the results.
    """
    if not FEWEST <= len(chosen) <= MOST:
        raise UsageError(f"{len(chosen)} cases cannot be put side by side; choose {FEWEST} to {MOST}")
    keys = [case.key for case in chosen]
    twice = sorted({key for key in keys if keys.count(key) > 1})
    if twice:
        raise UsageError(f"{twice[0]!r} is chosen twice; put each case side by side once")
    for case in chosen:
        parts = urlsplit(case.href)
        if parts.scheme or parts.netloc or case.href.startswith(("/", "\\")):
            raise UsageError(f"the link to the report of {case.key!r} is not relative to the page: {case.href!r}")
