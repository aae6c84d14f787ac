"""What is doubtful about a scenario that can be planned."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.scenario.doubt import Doubt, Question
from mci.scenario.doubts_exercise import exercise_doubts
from mci.scenario.doubts_gas import GAS_RULES
from mci.scenario.doubts_network import network_doubts
from mci.scenario.doubts_order import ORDER_RULES
from mci.scenario.doubts_people import PEOPLE_RULES
from mci.scenario.doubts_stocking import stocking_doubts

if TYPE_CHECKING:
    from collections.abc import Sequence

    from mci.scenario.model import Scenario
    from mci.scenario.presence import StayLike

__all__ = ["RULES", "Doubt", "doubts"]

RULES = (*PEOPLE_RULES, *GAS_RULES, *ORDER_RULES, network_doubts, stocking_doubts, exercise_doubts)


def doubts(scenario: Scenario, stays: Sequence[StayLike]) -> tuple[Doubt, ...]:
    """Return every doubt, in the order of the rules.

    Parameters
    ----------
    stays
        Who is where when, as :func:`mci.demand.stays.find_stays` counts it.
    """
    question = Question(scenario, stays)
    return tuple(doubt for rule in RULES for doubt in rule(question))
