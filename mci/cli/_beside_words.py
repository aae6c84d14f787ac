"""Cases side by side on a terminal: what the page compares, a column per case as far as there is room."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from mci.cli._terminal import say, say_title, show_table
from mci.cli._whatif_words import say_study_end, say_study_start

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from rich.console import Console

    from mci.report.beside_page import BesideBody, Cell, Row
    from mci.report.study_page import StudyPage

__all__ = ["show_beside_page"]

_LABEL, _COLUMN = 20, 13  # columns that the names of rows and the least that a case take


def show_beside_page(page: StudyPage[BesideBody], console: Console) -> None:
    """Print the page: headline, every group of rows, cautions.

    Short things stand in a table with a column per case; where there is no room for all cases, the first is shown again
    beside the others.  Sentences are listed case by case.
    """
    say_study_start(page, console)
    body = page.body
    for group in body.groups:
        say_title(console, group.title)
        if group.note:
            say(console, group.note)
        short = [row for row in group.rows if not row.long]
        for place, places in enumerate(_blocks(len(body.columns), console.width) if short else ()):
            if place:
                console.print()
            _table(body, short, places, console)
        for row in group.rows:
            if row.long:
                _listed(body, row, console)
    say_study_end(page, console)


def _blocks(count: int, width: int) -> Iterator[tuple[int, ...]]:
    """Split the cases into tables that fit the width; the first case, with which all are compared, is in each."""
    others = max(1, (width - _LABEL) // _COLUMN - 1)
    for begin in range(1, count, others):
        yield (0, *range(begin, min(begin + others, count)))


def _table(body: BesideBody, rows: Sequence[Row], places: Sequence[int], console: Console) -> None:
    room = (console.width - _LABEL - 2) // len(places) - 1
    titles = ("\n".join(textwrap.wrap(body.columns[place].title, room)) for place in places)
    told = [(_narrow(row.label), *(_cell(row.cells[place]) for place in places)) for row in rows]
    show_table(console, ("", *titles), told, (0,))


def _narrow(label: str) -> str:
    """Break a label, and a path after its points."""
    return "\n".join(textwrap.wrap(label.replace(".", ". "), _LABEL)).replace(". ", ".")


def _cell(cell: Cell) -> str:
    text = "; ".join(cell.lines)
    return f"{text}\n{cell.change}" if len(cell.change) > 1 else f"{text} {cell.change}".rstrip()


def _listed(body: BesideBody, row: Row, console: Console) -> None:
    """List sentences case by case; those of the first case are not said again."""
    say(console, f"{row.label}:")
    for place, (column, cell) in enumerate(zip(body.columns, row.cells, strict=True)):
        same = place > 0 and not cell.change
        text = "as in the first case" if same else "; ".join(cell.lines).replace(".; ", ". ")
        say(console, f"{column.title}{f' {cell.change}' if cell.change else ''}: {text}", bullet="- ")
