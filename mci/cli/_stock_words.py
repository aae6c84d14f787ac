"""The page of a packing list on a terminal: the same words as the HTML file, for 80 columns and more."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from mci.cli._terminal import say, say_list, say_title, show_table
from mci.cli._whatif_words import say_study_end, say_study_start
from mci.report.words import TIED, tie

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from rich.console import Console

    from mci.report.stock_page import PackSheet, StockBody
    from mci.report.study_page import StudyPage

__all__ = ["show_stock_page"]

_CELL = 15  # letters of a narrow cell
_WIDE = 110  # columns from which there is room for every category


def show_stock_page(page: StudyPage[StockBody], console: Console) -> None:
    """Print the page: headline, packing lists, goals, money, other lists, worst incidents, worth, notes, cautions."""
    say_study_start(page, console)
    body = page.body
    for sheet in body.sheets:
        _sheet(sheet, console)
    _fresh(body, console)
    _money(body, console)
    _compared(body, console)
    _worst(body, console)
    if body.worth:
        say_title(console, "What looking at many incidents is worth")
        say_list(console, (f"{words}{f' ({name})' if name else ''}" for words, name in body.worth))
    say_title(console, "How it was chosen")
    say_list(console, (f"{title}: {words}" for title, words in body.method if title in ("Chosen for", "How sure")))
    say(console, "How the list changes with the goals and with more or fewer patients is in the report.")
    say_study_end(page, console)


def _table(
    console: Console, headers: Sequence[str], rows: Iterable[Sequence[str]], rigid: Sequence[int], right: Sequence[int]
) -> None:
    """Print a table without spaces that tie, which not every terminal draws as such."""
    plain = [[cell.replace(TIED, " ") for cell in row] for row in rows]
    show_table(console, [header.replace(TIED, " ") for header in headers], plain, rigid, right)


def _sheet(sheet: PackSheet, console: Console) -> None:
    """Print the list of one cache, grouped by bag."""
    say_title(console, f"Packing list: {sheet.cache}, at {sheet.station}")
    say(console, sheet.when)
    if not sheet.bags:
        say(console, "Nothing is packed here.")
        return
    rows: list[tuple[str, ...]] = []
    for bag in sheet.bags:
        rows.append(("", bag.name.upper(), "", "", bag.mass, bag.volume))
        for row in bag.rows:
            pieces = f" ({row.pieces} in all)" if row.pieces else ""
            rows.append((row.packs, f"{row.what}{pieces}", row.owned or "-", row.new or "-", row.mass, row.volume))
    rows.append((sheet.total.packs, sheet.total.name, "", "", sheet.total.mass, sheet.total.volume))
    _table(console, ("Packs", "What", "There", "New", "Weight", "Room"), rows, (0, 2, 3, 4, 5), (0, 2, 3, 4, 5))
    used = [f"{limit.what.lower()} {limit.used} of {limit.allowed}" for limit in sheet.limits if limit.left]
    say(console, f"Weight {sheet.weight}; oxygen stored {sheet.gas}, as free gas.", bullet="  ")
    say(console, f"Limits used: {'; '.join(used)}." if used else "No limits are written.", bullet="  ")


def _money(body: StockBody, console: Console) -> None:
    if not body.frontier:
        return
    say_title(console, f"What each {body.step} more buys (mean coverage at best; without oxygen: worst 5 %)")
    first = body.categories if console.width >= _WIDE else body.categories[:1]
    headers = ["", "Cost", "Weighted", *(f"{word}\ncoverage" for _, word in first)]
    headers += [f"{word}\npatient-min" for _, word in first]
    headers.append("In and out")
    count = len(first)
    rows = [
        ("*" if row.chosen else "", row.cost, row.weighted, *row.coverages[:count], *row.tails[:count], row.added)
        for row in body.frontier
    ]
    columns = range(1, 3 + 2 * count)
    _table(console, headers, rows, columns, columns)
    say(console, "* This list.", bullet="  ")
    if body.next_step:
        say(console, body.next_step)


def _compared(body: StockBody, console: Console) -> None:
    """Print lists below each other; what is in them is in the report."""
    say_title(console, "Compared with other lists, in the incidents drawn and on fresh ones, at best")
    headers = ["List", "Cost", "Weight", "Weighted\ncoverage", "Limits\nkept"]
    if body.goals:
        headers += ["Goals\nmet", "At\nonce", "Fresh:\nmet"]
    rows = [row[: len(headers)] for row in body.compared.brief]
    columns = range(1, len(headers))
    _table(console, headers, rows, columns, columns)


def _fresh(body: StockBody, console: Console) -> None:
    if not body.validity:
        return
    say_title(console, "Goals, in the incidents drawn and on fresh ones")
    say(console, body.fresh)
    names = ["\n".join(textwrap.wrap(name, 14)) for name, _ in body.policies]
    rows = [
        (_stacked(row.short, row.target.removeprefix("–")), _stacked(row.in_sample),
         *(_stacked(*cell) for cell in row.cells))
        for row in body.validity
    ]  # fmt: skip
    columns = range(1, 2 + len(names))
    _table(console, ("Goal", "Drawn", *names), rows, range(2 + len(names)), columns)
    say(console, "Below each mean: its interval of 95 %. For sure: the whole interval meets the target.", bullet="  ")
    say_list(console, (f"{name[:1].upper()}{name[1:]}: {words}" for name, words in body.policies))


def _stacked(*parts: str) -> str:
    """Lay words below each other in a narrow cell; numbers stay with their unit."""
    return "\n".join(line for part in parts if part for line in textwrap.wrap(tie(part), _CELL, break_on_hyphens=False))


def _worst(body: StockBody, console: Console) -> None:
    if not body.worst:
        return
    say_title(console, "What breaks it")
    say_list(
        console,
        (
            f"{row.name}: {row.without} without oxygen, weighted coverage {row.weighted}. What binds: {row.why}. "
            f"One more that would help most: {row.one_more}." + (f" File: {row.file}" if row.file else "")
            for row in body.worst
        ),
    )
