"""Cards to hang on patients: what the plan orders for each, four on a page; made on request only."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.demand.people import name_people
from mci.plan.marks import find_marks
from mci.report.order_sheets import order_lines
from mci.report.words import category_word, moment

if TYPE_CHECKING:
    from mci.demand.people import Person
    from mci.plan.orders import Plan
    from mci.report.order_sheets import OrderLine
    from mci.scenario.model import Scenario

__all__ = ["Card", "patient_cards"]


@dataclass(frozen=True, slots=True)
class Card:
    """One patient: name, triage category at first, where and when, and the orders with the area of each."""

    patient: str
    category: str
    word: str
    stays: tuple[str, ...]
    lines: tuple[tuple[str, OrderLine], ...]


def patient_cards(scenario: Scenario, plan: Plan) -> tuple[Card, ...]:
    """Make the card of every patient, in the order of arrival."""
    titles = {area.key: area.title for area in scenario.areas}
    mine: dict[str, list[tuple[str, OrderLine]]] = defaultdict(list)
    for order, line in order_lines(scenario, plan, find_marks(scenario)):
        if order.patient:
            mine[order.patient].append((titles.get(order.area, order.area), line))
    people = sorted(name_people(scenario), key=lambda person: person.arrive)
    return tuple(
        Card(
            patient=person.key,
            category=person.stays[0].category,
            word=category_word(person.stays[0].category),
            stays=_stays(person, scenario, titles),
            lines=tuple(mine[person.key]),
        )
        for person in people
    )


def _stays(person: Person, scenario: Scenario, titles: dict[str, str]) -> tuple[str, ...]:
    """Say where the patient is from when, each change of place, category or need, and when the patient leaves."""
    said = []
    for number, stay in enumerate(person.stays):
        need = scenario.ladders[stay.ladder].title
        word = f", {category_word(stay.category)}" if number else ""
        said.append(f"{moment(stay.start, scenario.start)}: {titles.get(stay.area, stay.area)}{word}, {need}")
    if person.leave < scenario.horizon:
        said.append(f"{moment(person.leave, scenario.start)}: leaves")
    return tuple(said)
