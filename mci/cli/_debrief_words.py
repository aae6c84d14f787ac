"""The page of a debrief on a terminal: the same words as the HTML file, for 80 columns and more."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from mci.cli._terminal import say, say_list, say_title, show_table
from mci.cli._whatif_words import say_study_end, say_study_start
from mci.report.words import TIED

if TYPE_CHECKING:
    from rich.console import Console

    from mci.report.debrief_page import DebriefBody, NoteLine
    from mci.report.study_page import StudyPage

__all__ = ["show_debrief_page"]

_MOST_NOTES = 6
_MOST_FINDINGS = 4
_NAME = 15  # letters of the head of a narrow column


def show_debrief_page(page: StudyPage[DebriefBody], console: Console, *, written: bool) -> None:
    """Print the page: headline, coverage, causes, decisions, objectives, improvements, the log, cautions.

    ``written`` tells whether there is a report in which the rest stands.
    """
    body = page.body
    if body.exercise:
        say(console, body.exercise)
    say_study_start(page, console)
    _coverage(body, console)
    _causes(body, console)
    _decisions(body, console)
    _objectives(body, console)
    _log(body, console, rest="the report has all" if written else "-o writes a report that has all")
    say_study_end(page, console)


def _coverage(body: DebriefBody, console: Console) -> None:
    say_title(console, "Coverage: team, usual practice, best orders")
    names = ["\n".join(textwrap.wrap(name, _NAME)) for name in body.plans]
    rows = [(line.word, *line.coverage) for line in body.coverage]
    rows.append(("All, by weight", *body.weighted))
    columns = range(1, 1 + len(names))
    show_table(console, ("Category", *names), rows, range(1 + len(names)), columns)
    without = [line.without for line in body.coverage if line.category == "all"]
    for cells in without:
        told = "; ".join(f"{name.lower()} {cell}" for name, cell in zip(body.plans, cells, strict=True))
        say(console, f"Without oxygen in {body.unit}: {told}.", bullet="  ")


def _causes(body: DebriefBody, console: Console) -> None:
    say_title(console, "Where the minutes went")
    if not body.causes:
        say(console, "Nothing was lost.")
    else:
        rows = [(row.name, row.lost, row.share, row.patient_min) for row in body.causes]
        rows.append(("All", body.total, "100.0 %", ""))
        seen = f"Seen for\n[{body.unit}]"
        show_table(console, ("Lost to", "Lost [weighted\ncredit-min]", "Share", seen), rows, (1, 2, 3), (1, 2, 3))
    say(console, f"{body.rule} {body.unit_words}")


def _decisions(body: DebriefBody, console: Console) -> None:
    if not body.decisions:
        return
    say_title(console, "Decisions that would have gained most, in weighted credit-min")
    for card in body.decisions:
        gain = f"{card.at_best} at best, {card.by_orders} by orders"
        immediate = f"Immediate {card.immediate} credit-min by orders"
        say(console, f"{card.when}: {gain}; {immediate}; mainly {card.cause}", bullet=f"{card.number} ")
        say(console, f"Done: {card.did}", bullet="  ")
        say(console, f"Better: {card.better}", bullet="  ")


def _objectives(body: DebriefBody, console: Console) -> None:
    if body.objectives:
        say_title(console, "Objectives")
        say_list(console, (f"{row.status}: {row.key} {row.text}. Found: {row.found}" for row in body.objectives))
    if body.improvements:
        say_title(console, "To improve")
        say_list(console, dict.fromkeys(row.action for row in body.improvements))


def _log(body: DebriefBody, console: Console, *, rest: str) -> None:
    say_title(console, "How the log was read")
    say(console, body.log_sum)
    say_list(console, map(_note, body.log[:_MOST_NOTES]))
    if len(body.log) > _MOST_NOTES:
        say(console, f"{len(body.log) - _MOST_NOTES} more remarks; {rest}, line by line.", bullet="  ")
    for group in body.faults:
        if not group.lines:
            continue
        say_title(console, group.title)
        told = (f"line {row.line}, {row.when} [{row.law}]: {row.reason}" for row in group.lines[:_MOST_FINDINGS])
        say_list(console, (words.replace("line –", "no single line") for words in told))
        if len(group.lines) > _MOST_FINDINGS:
            say(console, f"{len(group.lines) - _MOST_FINDINGS} more; {rest}.", bullet="  ")


def _note(note: NoteLine) -> str:
    where = f"line {note.line}" if note.line != "–" else "no single line"
    column = f", {note.column}" if note.column else ""
    read = f" read as {note.read!r}" if note.read else ""
    written = f" {note.written!r}{read}" if note.written else read
    return f"{where}{column} [{note.kind}]{written}: {note.why}".replace(TIED, " ")
