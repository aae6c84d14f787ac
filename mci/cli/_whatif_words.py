"""The page of a what-if study on a terminal: the same words as the HTML file, for 80 columns and more."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any

from mci.cli._terminal import say, say_list, say_title, show_table

if TYPE_CHECKING:
    from rich.console import Console

    from mci.report.study_page import StudyPage
    from mci.report.whatif_page import CaseRow, WhatIfBody

__all__ = ["say_study_end", "say_study_start", "show_whatif_page"]

_MOST_CASES = 40
_MOST_TOLD = 12
_WIDE = 110  # columns from which there is room for what others reach


def show_whatif_page(page: StudyPage[WhatIfBody], console: Console) -> None:
    """Print the page: headline, what was varied, where coverage breaks, the cases, notes, cautions."""
    say_study_start(page, console)
    body = page.body
    say_title(console, "What was varied")
    varied = [f"{row.letter or '-'} {row.path} (as written {row.written}): {row.values}" for row in body.varied]
    for line in varied or ["- Nothing: this is the scenario as written."]:
        say(console, line[2:], bullet=line[:2])
    if body.breaks:
        say_title(console, "Where coverage breaks, at best, one number at a time")
        say_list(console, (row.sentence for row in body.breaks if row.kept_to))
        below = [f"{row.word} ({row.path})" for row in body.breaks if not row.kept_to]
        if below:
            say_list(console, (f"Below {body.goal} at every value looked at: {'; '.join(below)}.",))
    _cases(body, console)
    say_study_end(page, console)


def say_study_start(page: StudyPage[Any], console: Console) -> None:
    """Print name and headline of any study."""
    say(console, page.name, style="bold")
    say(console, page.headline[0], style="bold")
    for sentence in (*page.headline[1:], page.standing):
        say(console, sentence)


def say_study_end(page: StudyPage[Any], console: Console) -> None:
    """Print what failed, notes and cautions of any study."""
    if page.failed:
        say_title(console, "Without a result")
        say_list(console, (f"{row.count}: {row.reason} ({row.which})" for row in page.failed))
    if page.notes:
        say_title(console, "Notes")
        say_list(console, page.notes)
    say_title(console, "Cautions")
    say(console, ". ".join(caution.short for caution in page.cautions) + ".")
    say(console, page.statement)
    console.print()
    say(console, page.provenance_line)


def _cases(body: WhatIfBody, console: Console) -> None:
    """Print coverage of each case; at best only where there is no room for what others reach."""
    say_title(console, "Cases side by side: coverage at best" + (", and weighted by others" if body.others else ""))
    others = body.others if console.width >= _WIDE else body.others[-1:]
    numbers = [_narrow(path) for path in body.numbers]
    headers = ["Case", *numbers, *(word for _, word in body.categories)]
    headers += ["\n".join(textwrap.wrap(word, 12)) for word in others]
    shown = body.cases[:_MOST_CASES]
    rows = [(row.name, *row.values, *row.best, *row.others[len(row.others) - len(others) :]) for row in shown]
    first = 1 + len(numbers)
    columns = range(first, len(headers))
    show_table(console, headers, rows, columns, columns)
    if len(body.cases) > len(shown) or body.left:
        say(console, "The other cases are in the report and in cases.csv.", bullet="  ")
    say_title(console, "First shortage, what binds, and one more that would help most, at best")
    say_list(console, (f"{row.name}: {_found(row)}" for row in shown[:_MOST_TOLD]))


def _narrow(path: str) -> str:
    """Break a path after its points, so that it heads a narrow column."""
    return "\n".join(line for part in path.replace(".", ".\n").split("\n") for line in textwrap.wrap(part, 14))


def _found(row: CaseRow) -> str:
    if row.failed:
        return f"no result: {row.failed}"
    gain = f" would gain {row.gain}" if row.gain else ""
    more = "" if row.one_more == "–" else f"; one more {row.one_more}{gain}"
    safe = f"; must be there: {row.last_safe}" if row.last_safe else ""
    written = "as written; " if row.written and row.name != "as written" else ""
    return f"{written}first short {row.first_short}; binds {row.binds}{safe}{more}"
