"""What a patient needs who worsens: the next ladder up, and the next category."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.catalogue.load import load_catalogue
from mci.catalogue.model import DrawRule

if TYPE_CHECKING:
    from mci.catalogue.model import Ladder
    from mci.demand.stays import Stay
    from mci.scenario.model import Scenario

__all__ = ["LADDERS_UP", "find_ladder", "step_up"]

#: Ladders of the catalogue from the least need up, adults and children.
LADDERS_UP = (
    ("low need", "moderate need", "high need"),
    ("paediatric low need", "paediatric moderate need", "paediatric high need"),
)
#: Categories from the least ill up.
_CATEGORIES_UP = ("minimal", "delayed", "immediate")


def find_ladder(scenario: Scenario, key: str) -> Ladder:
    """Return a ladder of a scenario, or of the catalogue where the scenario does not use it."""
    return scenario.ladders[key] if key in scenario.ladders else load_catalogue().ladders[key]


def step_up(scenario: Scenario, stay: Stay) -> tuple[str, str] | None:
    """Return category and ladder one step up, or ``None`` where there is no ladder above.

    In the catalogue's own order; from another ladder to one that somebody in the area is on and that differs least.
    Nobody worsens to a ladder of which the scenario does not say how many devices the area has.
    """
    category = stay.category
    if category not in _CATEGORIES_UP:
        return None
    place = _CATEGORIES_UP.index(category)
    worse = _CATEGORIES_UP[min(place + 1, len(_CATEGORIES_UP) - 1)]
    ladder = _ladder_up(scenario, stay)
    if ladder is None or worse not in scenario.weights:
        return None
    counted = {stock.device for stock in scenario.devices if stock.area == stay.area}
    known = all(rung.device.key in counted for rung in find_ladder(scenario, ladder).rungs)
    return (worse, ladder) if known else None


def _ladder_up(scenario: Scenario, stay: Stay) -> str | None:
    for chain in LADDERS_UP:
        if stay.ladder in chain:
            place = chain.index(stay.ladder) + 1
            return chain[place] if place < len(chain) else None
    here = {spell.ladder for patients in scenario.patients for spell in patients.course if spell.area == stay.area}
    own = _flow(scenario, stay.ladder)
    above = [
        (_flow(scenario, key), key)
        for key in here
        if _flow(scenario, key) > own
        and scenario.ladders[key].rungs[0].device.rule is DrawRule.SET_FLOW
        and _for_children(scenario, key) == _for_children(scenario, stay.ladder)
    ]
    return min(above)[1] if above else None


def _flow(scenario: Scenario, key: str) -> float:
    return scenario.ladders[key].rungs[0].flow_lpm


def _for_children(scenario: Scenario, key: str) -> bool:
    return scenario.ladders[key].rungs[0].device.key.startswith("child ")
