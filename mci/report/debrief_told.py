"""What was done and happened, in words: orders beside better ones, events."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mci.demand.people import name_people
from mci.drills.inject_words import end_words, inject_words
from mci.plan.marks import find_marks
from mci.plan.orders import Plan, sort_orders
from mci.report.debrief_page import ActLine, EventLine, Facing
from mci.report.order_sheets import order_lines
from mci.report.words import category_word, join_words, moment, span

if TYPE_CHECKING:
    from collections.abc import Sequence

    from mci.drills.debriefed import Debrief, Missed
    from mci.plan.marks import Legend, Marks
    from mci.plan.orders import Order
    from mci.report.order_sheets import OrderLine

__all__ = ["event_lines", "facings", "inject_letters", "used_legends"]


def facings(debrief: Debrief) -> tuple[Facing, ...]:
    """Put the team's orders of the three stretches beside better ones."""
    marks, team = find_marks(debrief.scenario), debrief.team.plan
    told = order_lines(debrief.scenario, team, marks)
    return tuple(_facing(number, missed, debrief, told, marks) for number, missed in enumerate(debrief.missed, start=1))


def _facing(
    number: int, missed: Missed, debrief: Debrief, told: Sequence[tuple[Order, OrderLine]], marks: Marks
) -> Facing:
    lines = debrief.log.lines
    mine = [
        _act(told[row - 1][1], f"{lines[row - 1]}" if row <= len(lines) else "")
        for row in missed.did_rows
        if row <= len(told)
    ]
    before = [order for order, _ in told if order.minute < missed.start]
    better = {id(order) for order in missed.better_orders}
    together = Plan("better", sort_orders([*before, *missed.better_orders]))  # says what comes off a regulator
    instead = [_act(line, "") for order, line in order_lines(debrief.scenario, together, marks) if id(order) in better]
    return Facing(str(number), span(missed.start, missed.end, debrief.scenario.start), tuple(mine), tuple(instead))


def _act(line: OrderLine, written: str) -> ActLine:
    when = f"{line.when} ({line.clock})" if line.clock else line.when
    if line.change:
        return ActLine(when, f"{line.action}: {line.change.what}", written)
    parts = [part for part in (line.gives, line.source) if part]
    to = f": {', '.join(parts)}" if parts else ""
    return ActLine(when, f"{line.action} {line.patient}{to}", written)


def used_legends(debrief: Debrief) -> tuple[tuple[str, tuple[Legend, ...]], ...]:
    """Return what marks stand for, area by area; people have none here."""
    marks = find_marks(debrief.scenario)
    found = []
    for area in debrief.scenario.areas:
        mine = tuple(each for each in marks.legends.get(area.key, ()) if not each.marks.startswith("Staff "))
        if mine:
            found.append((area.title, mine))
    return tuple(found)


def inject_letters(debrief: Debrief) -> tuple[str, ...]:
    """Return a letter for each inject, in the order of time: a, b ... z, aa, ab and so on."""
    return tuple(_letters(number) for number in range(len(debrief.scenario.injects)))


def _letters(number: int) -> str:
    more, last = divmod(number, 26)
    return (_letters(more - 1) if more else "") + chr(ord("a") + last)


def event_lines(debrief: Debrief) -> tuple[EventLine, ...]:
    """Put what happened into words, in the order of time: arrivals, deliveries, and what was not announced."""
    scenario = debrief.scenario
    marks = find_marks(scenario)
    events = [
        (inject.at, 1, letter, inject_words(inject, scenario, marks))
        for letter, inject in zip(inject_letters(debrief), scenario.injects, strict=True)
    ]
    ends = [(inject.at + inject.minutes, end_words(inject, marks)) for inject in scenario.injects]
    events += [(minute, 1, "", words[0]) for minute, words in ends if words and minute < scenario.horizon]
    arrived: dict[float, list[str]] = {}
    for person in name_people(scenario):
        word = category_word(person.stays[0].category)
        arrived.setdefault(person.arrive, []).append(f"{person.key} ({word})")
    events += [
        (minute, 2, "", f"{join_words(names)} {'arrives' if len(names) == 1 else 'arrive'}")
        for minute, names in arrived.items()
    ]
    events += [(minute, 0, "", words) for minute, words in _deliveries(debrief)]
    return tuple(
        EventLine(letter, moment(minute, scenario.start), words) for minute, _, letter, words in sorted(events)
    )


def _deliveries(debrief: Debrief) -> list[tuple[float, str]]:
    brought: dict[tuple[float, str], list[str]] = {}
    for lot in debrief.scenario.lots:
        if lot.delivery and math.isfinite(lot.available_from):
            brought.setdefault((lot.available_from, lot.delivery), []).append(lot.label)
    for stock in debrief.scenario.regulators:
        if stock.delivery and math.isfinite(stock.available_from):
            what = f"{stock.quantity} x {stock.outlets.key}"
            brought.setdefault((stock.available_from, stock.delivery), []).append(what)
    return [(minute, f"{name} comes: {join_words(what)}") for (minute, name), what in brought.items()]
