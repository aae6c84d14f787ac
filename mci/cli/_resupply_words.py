"""The page of a resupply plan on a terminal: the same words as the HTML file, for 80 columns and more."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.cli._terminal import say, say_list, say_title, show_table

if TYPE_CHECKING:
    from rich.console import Console

    from mci.report.resupply_page import DepartureRow, ResupplyPage

__all__ = ["show_resupply_page"]

_MOST_LOSSES = 12
_WIDE = 110  # columns from which the table of departures has room for what trips bring
_LOST_NOTE = "Lost: patient-minutes of credit, in brackets who gains,"


def show_resupply_page(page: ResupplyPage, console: Console) -> None:
    """Print the page: what it does without, headline, departures, goals, losses, notes, cautions."""
    say(console, page.name, style="bold")
    if page.disruption:
        say(console, page.disruption, style="bold")
    say(console, page.headline[0], style="bold")
    for sentence in (*page.headline[1:], page.standing):
        say(console, sentence)
    if page.findings:
        say_title(console, "Replay: these trips cannot be carried out")
        say_list(console, page.findings)
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
    what = ("From, to", "Brings") if wide else ()
    headers = ("Trip", *what, "Planned", "Leave no\nlater than", "In hand\nby", "Margin", "Lost per\n10 min later")
    first = 1 + len(what)
    show_table(console, headers, [_departure(row, wide=wide) for row in page.departures], range(first, first + 5))
    none = " None: nothing yet after 10 min, since last safe times go in steps."
    told = none if any(row.lost.startswith("none") for row in page.departures) else ""
    say(console, f"{_LOST_NOTE} for each 10 min later than the last safe departure.{told}")
    if not wide:
        say(console, "What they bring:")
        say_list(console, (f"{row.trip}, {row.origin} to {row.to}: {row.brings}" for row in page.departures))
    requests = [f"{row.trip}: ask by {row.request_by}" for row in page.departures if row.request_by]
    if requests:
        say(console, "Requests to suppliers:")
        say_list(console, requests)


def _departure(row: DepartureRow, *, wide: bool) -> tuple[str, ...]:
    """Return the cells of one trip: moments with the clock below, losses one below the other."""
    moments = ((row.leave, row.leave_at), (row.leave_by, row.leave_clock), (row.arrive_by, row.arrive_clock))
    what = (f"{row.origin} to {row.to}", row.brings) if wide else ()
    return row.trip, *what, *("\n".join(filter(None, each)) for each in moments), row.margin, _lines(row.lost)


def _lines(lost: str) -> str:
    """Write losses one below the other, so that no category is torn from its number."""
    return lost.replace(", ", "\n").replace(" (", "\n(")


def _goals(page: ResupplyPage, console: Console) -> None:
    if page.goals:
        say_title(console, f"Goals by area ({page.unit} of credit)")
        goals = [
            (f"{r.word} {r.goal}", r.area, r.needed, r.best, r.best_share, r.orders, r.orders_share, r.met)
            for r in page.goals
        ]
        headers = ("Goal", "Where", "Needed", "At\nbest", "Of\ngoal", "By\norders", "Of\ngoal", "Met")
        show_table(console, headers, goals, (2, 3, 4, 5, 6, 7), (2, 3, 4, 5, 6))
        say(console, page.goal_note)
        say_list(console, page.obstacles)
    say_title(console, f"Coverage by category (need in {page.unit})")
    covered = [(row.word, row.patients, row.need, row.best, row.plan) for row in page.coverage]
    columns = ("Category", "Patients", "Need", "At best with\nthese trips", "Orders that can\nbe carried out")
    show_table(console, columns, covered, range(5), range(1, 5))


def _losses(page: ResupplyPage, console: Console) -> None:
    if not page.losses:
        return
    say_title(console, "Single points of failure, at best (patient-minutes of credit lost)")
    shown = page.losses[:_MOST_LOSSES]
    wide = console.width >= _WIDE
    rows = [(row.kind, row.what, row.weighted, row.lost if wide else _lines(row.lost)) for row in shown]
    show_table(console, ("Loss of", "", "Weighted", "By category"), rows, (0, 2), (2,))
    left = len(page.losses) - len(shown)
    if left:
        rest = "1 more, which costs no more, is" if left == 1 else f"{left} more, which cost no more, are"
        say(console, f"{rest} in the report.", bullet="  ")
    say(console, f"{_LOST_NOTE} at best if one of these is lost for the whole time and trips are planned again.")
