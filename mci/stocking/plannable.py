"""Which of the incidents that were drawn can be planned."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.demand.groups import count_demand
from mci.errors import PlannerError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from mci.scenario.draft import Draft
    from mci.surge.cases import Case

__all__ = ["that_can_be_planned"]


def that_can_be_planned(draft: Draft, cases: Sequence[Case]) -> tuple[Case, ...]:
    """Return those incidents that can be planned; in others, say, nobody arrives before the end."""
    found = []
    for case in cases:
        try:
            count_demand(draft.scenario(case.values))
        except PlannerError:
            continue
        found.append(case)
    return tuple(found)
