"""A drill on a terminal: what a designer wants to know at once, for 80 columns and more."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from mci.cli._terminal import say, say_list, say_title, show_table
from mci.report.cautions import AID_STATEMENT
from mci.report.drill_key import build_key
from mci.report.drill_words import EXERCISE_STATEMENT, provenance_line
from mci.report.words import category_word, join_words, moment
from mci.scenario.model import CATEGORIES

if TYPE_CHECKING:
    from rich.console import Console

    from mci.drills.result import Casualty, Drill, Event
    from mci.report.drill_page import KeyBody

__all__ = ["show_drill"]

_MOST_DECISIONS = 6
_NAME = 15  # letters of the head of a narrow column


def show_drill(drill: Drill, console: Console, *, written: bool) -> None:
    """Print a drill: how hard, casualties, injects, objectives, what was possible, the decisions that matter.

    ``written`` tells whether there is a packet in which the rest stands.
    """
    body = build_key(drill).body
    say(console, drill.briefed.name, style="bold")
    say(console, body.headline[0], style="bold")
    for sentence in (*body.headline[1:], body.standing):
        say(console, sentence)
    _casualties(drill, console)
    _events(drill, console)
    say_title(console, "Objectives")
    say_list(
        console, (f"{each.key} {each.text.rstrip('.')}" for each in drill.objectives) if drill.objectives else ["None."]
    )
    _coverage(body, console)
    _decisions(body, console, rest="the answer key has all" if written else "-o writes an answer key that has all")
    if drill.notes:
        say_title(console, "Notes")
        say_list(console, drill.notes)
    console.print()
    say(console, EXERCISE_STATEMENT, style="bold")
    say(console, AID_STATEMENT)
    say(console, provenance_line(drill))


def _casualties(drill: Drill, console: Console) -> None:
    say_title(console, f"Casualties: {len(drill.casualties)}, {_unannounced(drill.casualties)}")
    rows = []
    for category in CATEGORIES:
        mine = [each for each in drill.casualties if each.needs and each.needs[0][1] == category]
        if mine:
            first, last = (moment(f(each.arrive for each in mine), drill.briefed.start) for f in (min, max))
            hurt = sorted({each.mechanism for each in mine} - {""})
            when = first if first == last else f"{first} to {last}"
            rows.append((category_word(category), str(len(mine)), when, join_words(hurt) if hurt else ""))
    heads = ("On arrival", "Number", "Arrive", "Hurt by")
    shown = len(heads) if any(row[-1] for row in rows) else len(heads) - 1  # nothing is known of how they were hurt
    show_table(console, heads[:shown], [row[:shown] for row in rows], (0, 1), (1,))


def _unannounced(casualties: tuple[Casualty, ...]) -> str:
    number = sum(each.unannounced for each in casualties)
    return f"{number} of them unannounced" if number else "all announced"


def _events(drill: Drill, console: Console) -> None:
    told = [each for each in drill.events if _is_told(each)]
    say_title(console, f"Events: {len(drill.events)}, of which players do not know these beforehand")
    say_list(console, [f"{_when(each, drill)}: {each.what}" for each in told] or ["None."])


def _when(event: Event, drill: Drill) -> str:
    """Say when, and where there are several areas."""
    when = moment(event.minute, drill.briefed.start)
    return f"{when}, {event.receiver.removeprefix('lead, ')}" if len(drill.briefed.areas) > 1 else when


def _is_told(event: Event) -> bool:
    """Tell whether an event is the moment at which players are told of an inject."""
    return event.inject is not None and not event.contingency and abs(event.minute - event.inject.at) < 1e-6


def _coverage(body: KeyBody, console: Console) -> None:
    say_title(console, "Coverage: share of the need met, and patient-minutes without oxygen")
    names = ["\n".join(textwrap.wrap(name, _NAME)) for name in body.coverage.plans]
    rows = [(row.word, *(f"{met}\n{without}" for met, without in row.cells)) for row in body.coverage.rows]
    columns = range(1, 1 + len(names))
    show_table(console, ("Category", *names), rows, range(1 + len(names)), columns)


def _decisions(body: KeyBody, console: Console, *, rest: str) -> None:
    say_title(console, "Decisions that matter most, in weighted credit-min that the answer key loses without them")
    if not body.decisions:
        say(console, "None was found.")
    for row in body.decisions[:_MOST_DECISIONS]:
        worth = f"{row.worth} ({row.share})" if row.share else row.worth
        say(console, f"{row.when}: {row.what.rstrip('.')}. Worth {worth}. {row.why}", bullet=f"{row.letter} ")
    if len(body.decisions) > _MOST_DECISIONS:
        say(console, f"{len(body.decisions) - _MOST_DECISIONS} more; {rest}.", bullet="  ")
