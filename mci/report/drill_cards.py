"""Casualty cards: what is seen on arrival in front, what a controller reveals and when behind."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.drill_page import CardSheet, CardStage
from mci.report.drill_words import area_titles, drill_page
from mci.report.words import category_word, moment

if TYPE_CHECKING:
    from mci.drills.result import Casualty, Drill, Stage
    from mci.report.drill_page import DrillPage

__all__ = ["build_cards"]


def build_cards(drill: Drill) -> DrillPage[tuple[CardSheet, ...]]:
    """Make the card of every casualty, in the order in which they are brought in."""
    titles = area_titles(drill.actual)
    cards = sorted(drill.casualties, key=lambda card: card.arrive)
    body = tuple(_card(card, titles, drill) for card in cards)
    return drill_page(drill, "Casualty cards", "for controllers, to be folded", body)


def _card(card: Casualty, titles: dict[str, str], drill: Drill) -> CardSheet:
    start = drill.briefed.start
    first, *later = [_stage(stage) for stage in card.stages]
    return CardSheet(
        key=card.key,
        age=card.age,
        found=card.found,
        mechanism=card.mechanism,
        area=titles.get(card.area, card.area),
        arrive=moment(card.arrive, start),
        leave=moment(card.leave, start) if card.leave < drill.actual.horizon else "stays to the end",
        needs=tuple(
            (moment(minute, start), category, category_word(category), need, option)
            for minute, category, need, option in card.needs
        ),
        first=first,
        stages=tuple(later),
        unannounced=card.unannounced,
    )


def _stage(stage: Stage) -> CardStage:
    signs = stage.signs
    return CardStage(stage.when, str(signs.spo2), str(signs.breaths), str(signs.pulse), signs.looks)
