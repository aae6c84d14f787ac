"""What a page of cases side by side says, as words in frozen records: the one source of HTML page and terminal."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from mci.report.page import Split

__all__ = ["BesideBody", "Cell", "Column", "Group", "Row"]


@dataclass(frozen=True, slots=True)
class Column:
    """The head of one case; ``href`` is where its full report is, empty where there is none."""

    key: str
    title: str
    href: str


@dataclass(frozen=True, slots=True)
class Cell:
    """One thing about one case.

    Parameters
    ----------
    lines
        What is said.
    change
        How it differs from the first case, such as ``+3.0 points``, or only that it does (``≠``); empty where not.
    split
        Shares of a need, for a bar.
    """

    lines: tuple[str, ...]
    change: str = ""
    split: Split | None = None


@dataclass(frozen=True, slots=True)
class Row:
    """One thing about every case, in the order of the columns.

    Parameters
    ----------
    label
        What is compared.
    cells
        One per case.
    category
        A triage category or ``all`` where the row is about it, else empty.
    long
        Whether cells are sentences, which are not said again where they are those of the first case.
    """

    label: str
    cells: tuple[Cell, ...]
    category: str = ""
    long: bool = False


@dataclass(frozen=True, slots=True)
class Group:
    """Rows under one heading; ``note`` says how to read them."""

    title: str
    rows: tuple[Row, ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class BesideBody:
    """The cases as columns, what is compared as rows; the categories and areas of which there is a row of figures."""

    columns: tuple[Column, ...]
    groups: tuple[Group, ...]
    needs: tuple[str, ...]
    stocks: tuple[str, ...]
