"""The page of a risk study on a terminal: the same words as the HTML file, for 80 columns and more."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from mci.cli._terminal import say, say_list, say_title, show_table
from mci.cli._whatif_words import say_study_end, say_study_start

if TYPE_CHECKING:
    from rich.console import Console

    from mci.report.risk_page import RiskBody
    from mci.report.study_page import StudyPage

__all__ = ["show_risk_page"]


def show_risk_page(page: StudyPage[RiskBody], console: Console) -> None:
    """Print the page: headline, policies, how bad it can be, drivers, what is uncertain, notes, cautions."""
    say_study_start(page, console)
    body = page.body
    _policies(body, console)
    _chances(body, console)
    if body.drivers:
        say_title(console, "What drives it most")
        say_list(console, (f"{measure}: {most}" for measure, most in body.drivers))
    say_title(console, "What is uncertain")
    say_list(console, (f"{row.path} (as written {row.written}): {row.law}" for row in body.inputs))
    say_list(console, body.correlations)
    say(console, body.settled)
    say_study_end(page, console)


def _policies(body: RiskBody, console: Console) -> None:
    if not body.policies:
        return
    say_title(console, "Mean coverage, with its interval of 95 %")
    names = ["\n".join(textwrap.wrap(words, 15)) for _, words in body.policies]
    rows = [(row.word, *("\n".join(filter(None, cell)) for cell in row.means)) for row in body.compared]
    columns = range(1, 1 + len(names))
    show_table(console, ("", *names), rows, columns, columns)
    say(console, body.rolling)


def _chances(body: RiskBody, console: Console) -> None:
    if not body.chances:
        return
    say_title(console, "Patient-minutes without oxygen: one of so many incidents reaches or passes")
    headers = ("Category", "Policy", *(f"1 of\n{number}" for number in body.one_in))
    rows = [(row.word, row.policy, *row.amounts) for row in body.chances]
    columns = range(2, 2 + len(body.one_in))
    show_table(console, headers, rows, columns, columns)
