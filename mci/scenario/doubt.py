"""One doubt about a scenario: it can be planned, but perhaps it does not say what was meant."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.scenario.presence import StayLike

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from mci.scenario.model import Lot, Scenario

__all__ = ["Doubt", "Question", "StayLike"]


@dataclass(frozen=True, slots=True)
class Doubt:
    """Something to look at before relying on a plan.

    Parameters
    ----------
    code
        Stable name of the rule that found it.
    what
        The finding, as a sentence without a full stop.
    area
        Key of the area, empty where it concerns all.
    """

    code: str
    what: str
    area: str = ""


@dataclass(frozen=True, slots=True)
class Question:
    """A scenario and its stays, as the rules look at them."""

    scenario: Scenario
    stays: Sequence[StayLike]

    def stays_at(self, area: str) -> list[StayLike]:
        """Return the stays at an area."""
        return [stay for stay in self.stays if stay.area == area]

    def lots_at(self, area: str) -> list[Lot]:
        """Return the lots that can be drawn from at an area before the horizon."""
        return [lot for lot in self.scenario.lots if lot.area == area and lot.available_from < self.scenario.horizon]

    def areas(self) -> Iterator[tuple[str, list[StayLike], list[Lot]]]:
        """Yield every area with its stays and usable lots."""
        for area in self.scenario.areas:
            yield area.key, self.stays_at(area.key), self.lots_at(area.key)
