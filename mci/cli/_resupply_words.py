"""The page of a resupply plan on a terminal: the same words as the HTML file, for 80 columns and more."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.cli._terminal import say, say_list, say_title, show_table

if TYPE_CHECKING:
    from rich.console import Console

    from mci.report.resupply_page import ResupplyPage

__all__ = ["show_resupply_page"]

_MOST_LOSSES = 12
_WIDE = 110  # columns from which the table of departures has room for what trips bring


def show_resupply_page(page: ResupplyPage, console: Console) -> None:
    """Print the page: headline, departures, goals, losses, notes, cautions."""
    say(console, page.name, style="bold")
    say(console, page.headline[0], style="bold")
    for sentence in (*page.headline[1:], page.standing):
        say(console, sentence)
    for title, lines in (
        ("Planned with", page.disruptions),
        ("Replay: these trips cannot be carried out", page.findings),
    ):
        if lines:
            say_title(console, title)
            say_list(console, lines)
    _departures(page, console)
    _goals(page, console)
    _losses(page, console)
    say_title(console, "Notes")
    say_list(console, page.notes)
    say_title(console, "Cautions")
    say(console, ". ".join(caution.short for caution in page.cautions) + ".")
    say(console, page.statement)
    console.print()
    say(console, page.provenance_line)


def _departures(page: ResupplyPage, console: Console) -> None:
    say_title(console, "Departures, in the order of the last safe one")
    if not page.departures:
        say_list(console, ["No trip is planned."])
        return
    wide = console.width >= _WIDE
    rows = []
    for row in page.departures:
        latest = f"{row.leave_by} {row.leave_clock}".strip()
        hand = f"{row.arrive_by} {row.arrive_clock}".strip()
        way = f"{row.origin} to {row.to}"
        what = (way, row.brings) if wide else (f"{way}: {row.brings}",)
        rows.append((row.trip, *what, latest.replace(" ", "\n", 1), hand.replace(" ", "\n", 1), row.margin, row.lost))
    what = ("From, to", "Brings") if wide else ("From, to: brings",)
    headers = (
        "Trip",
        *what,
        "Leave no\nlater than",
        "In hand\nby",
        "Margin",
        "Lost per 10 min later\n(patient-minutes)",
    )
    first = len(what) + 1
    show_table(console, headers, rows, (first, first + 1))
    requests = [f"{row.trip}: ask by {row.request_by}" for row in page.departures if row.request_by]
    if requests:
        say(console, "Requests to suppliers:")
        say_list(console, requests)


def _goals(page: ResupplyPage, console: Console) -> None:
    if page.goals:
        say_title(console, f"Goals by area, at best with these trips ({page.unit} of credit)")
        rows = [
            (f"{row.word} {row.goal}", row.area, row.needed, row.reached, row.share, "yes" if row.is_met else "NO")
            for row in page.goals
        ]
        show_table(console, ("Goal", "Where", "Needed", "Reached", "Share", "Met"), rows, (0, 2, 3, 4, 5), (2, 3, 4))
        say_list(console, page.obstacles)
    say_title(console, f"Coverage by category (need in {page.unit})")
    covered = [(row.word, row.patients, row.need, row.best, row.plan) for row in page.coverage]
    headers = ("Category", "Patients", "Need", "At best with\nthese trips", "Orders that can\nbe carried out")
    show_table(console, headers, covered, range(5), range(1, 5))


def _losses(page: ResupplyPage, console: Console) -> None:
    if not page.losses:
        return
    say_title(console, "Single points of failure (patient-minutes of credit lost)")
    shown = page.losses[:_MOST_LOSSES]
    rows = [(row.kind, row.what, row.weighted, row.lost) for row in shown]
    show_table(console, ("Loss of", "", "Weighted", "By category"), rows, (0, 2), (2,))
    if len(page.losses) > len(shown):
        say(console, f"{len(page.losses) - len(shown)} more, which cost no more, are in the report.", bullet="  ")
