"""A report's page on a terminal: the same words as the HTML file, laid out for 80 columns and more.

Names come from planners, so nothing in brackets is taken for a style.
"""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Literal

from rich import box
from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from mci.report.words import TIED, tie

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from mci.report.page import Page

__all__ = ["make_console", "say", "say_list", "say_title", "show_page", "show_table"]

_MOST_BOTTLENECKS = 6
_COVERAGE = {
    "Category": "word",
    "Patients": "patients",
    "Need": "need",
    "Coverage": "coverage",
    "At\ntarget": "at_target",
    "Lower\nrung": "lower",
    "Without": "without",
    "Most below\ntarget": "most_below",
    "Most\nwithout": "most_without",
}


def make_console() -> Console:
    """Make the console: width of the terminal, 80 columns when piped; honours ``NO_COLOR``."""
    return Console(markup=False, highlight=False, emoji=False)


def say(console: Console, text: str, *, style: str = "", bullet: str = "") -> None:
    """Print a paragraph, continued lines under its text; no number is torn from its unit."""
    filled = textwrap.fill(
        tie(text),
        console.width,
        initial_indent=bullet,
        subsequent_indent=" " * len(bullet),
        break_on_hyphens=False,
    )
    console.print(Text(filled.replace(TIED, " "), style=style), soft_wrap=True)


def say_title(console: Console, text: str) -> None:
    """Print a heading after an empty line."""
    console.print()
    say(console, text, style="bold")


def show_table(
    console: Console,
    headers: Sequence[str],
    rows: Iterable[Sequence[str]],
    rigid: Sequence[int],
    right: Sequence[int] = (),
) -> None:
    """Print a table; the columns named in ``rigid`` never wrap, those in ``right`` stand to the right."""
    table = Table(box=box.SIMPLE_HEAD, padding=0, pad_edge=False, show_edge=False)
    for index, header in enumerate(headers):
        side: Literal["right", "left"] = "right" if index in right else "left"
        table.add_column(Text(header), justify=side, no_wrap=index in rigid, overflow="fold")
    for row in rows:
        table.add_row(*(Text(cell) for cell in row))
    console.print(Padding(table, (0, 0, 0, 2), expand=False))


def show_page(page: Page, console: Console) -> None:
    """Print the page: headline, coverage, shortage, stock, bottlenecks, resupply, cautions."""
    say(console, page.name, style="bold")
    say(console, page.headline[0], style="bold")
    for sentence in (*page.headline[1:], page.standing):
        say(console, sentence)
    _comparison(page, console)
    say_title(console, f"Coverage at best (patient time in {page.unit}; most at one moment in patients)")
    rows = ([getattr(row, name) for name in _COVERAGE.values()] for row in page.coverage)
    show_table(console, list(_COVERAGE), rows, range(len(_COVERAGE) - 2), range(1, len(_COVERAGE)))  # "about" may wrap
    if page.plan_windows is not None:
        say_title(console, "When and where it is short, this plan")
        say_list(console, [row.sentence for row in page.plan_windows] or [page.nobody_short])
    if page.windows:
        say_title(console, "When and where it is short, at best")
        say_list(console, (row.sentence for row in page.windows))
    say_title(console, "Cylinders and vessels first empty, at best")
    say_list(console, (f"{row.area}: {row.when}" for row in page.emptyings))
    _bottlenecks(page, console)
    _resupply(page, console)
    if page.left_out or page.doubts:
        say_title(console, "Left out, and in doubt")
        say_list(console, (f"{where}: {what} is left out: {why}" for what, where, why in page.left_out))
        say_list(console, page.doubts)
    say_title(console, "Cautions")
    say(console, ". ".join(caution.short for caution in page.cautions[2:]) + ".")
    say(console, page.statement)
    console.print()
    say(console, page.provenance_line)


def say_list(console: Console, lines: Iterable[str]) -> None:
    """Print lines with a dash each."""
    for line in lines:
        say(console, line, bullet="- ")


def _comparison(page: Page, console: Console) -> None:
    if page.comparison is None:
        return
    say_title(console, "What planning buys")
    say(console, page.comparison.sentence)
    rows = [(row.label, *row.cells) for row in page.comparison.rows]
    columns = range(1, 1 + len(page.comparison.names))
    names = ("\n".join(textwrap.wrap(name, 13)) for name in page.comparison.names)
    show_table(console, ("", *names), rows, (), columns)
    say(console, page.comparison.note)


def _bottlenecks(page: Page, console: Console) -> None:
    say_title(console, f"Worth of one more, at best (share of the weighted need; change in {page.unit})")
    if not page.bottlenecks:
        say_list(console, [page.nothing_gained])
        return
    shown = page.bottlenecks[:_MOST_BOTTLENECKS]
    rows = [(row.gain, f"{row.one_more}, at {row.area}", row.by_category) for row in shown]
    show_table(console, ("Gain", "One more", "Change"), rows, (0,))
    if len(page.bottlenecks) > len(shown):
        say(console, f"{len(page.bottlenecks) - len(shown)} more, worth less each, are in the report.", bullet="  ")


def _resupply(page: Page, console: Console) -> None:
    say_title(console, f"What more must be where by when, at least (counted in {page.resupply_item})")
    for goal in page.goals:
        say(console, f"{goal.title}: {'what to add, in running totals' if goal.needs else goal.sentence}")
        for need in goal.needs:
            gas = f" ({need.litres} of oxygen)" if need.litres else ""
            steps = ", ".join(f"{step.total} by {step.when}" for step in need.steps)
            say(console, f"{need.area}: {need.total} × {need.item}{gas}: {steps}", bullet="- ")
    say_list(console, page.resupply_notes)
