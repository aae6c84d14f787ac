"""What is left over: oxygen that the plan does not need any more goes to whoever has less than the top rung.

A plan of whole patients per period leaves some gas; where orders could not keep up with it more is left; and
where it counted on something that did not come true (hands, devices) patients would wait beside full
cylinders.  So at every breakpoint what is there beyond the rest of the plan is handed out, to
whoever it does most for, and for long enough to be worth it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.scenario.model import Scenario

if TYPE_CHECKING:
    from mci.dispatch.budget import Budget
    from mci.dispatch.crew import Crew
    from mci.dispatch.policy import Here

__all__ = ["Surplus"]

#: For how long what is handed out must last, or until the patient leaves [min].
WORTH_IT = 20.0


class Surplus:
    """Hands out what is left over, and remembers to whom."""

    def __init__(self, scenario: Scenario, budget: Budget) -> None:
        self._scenario = scenario
        self._budget = budget
        self._given: dict[str, tuple[int, float]] = {}

    def rung(self, here: Here, time: float) -> int | None:
        """Return the rung that a patient has been promised, if any."""
        rung, until = self._given.get(here.person.key, (0, -1.0))
        return rung if time < until - 1e-9 else None

    def hand_out(self, crew: Crew, time: float) -> None:
        """Give more to whoever it does most for, as long as there is more than the plan still needs."""
        for area in crew.floor.sources:
            left = self._budget.left_over(crew.floor, area)
            waiting = [here for here in crew.here.values() if here.stay.area == area and self._wants(crew, here)]
            for here in sorted(waiting, key=self._worth):
                left -= self._give(crew, here, left, time)

    def _wants(self, crew: Crew, here: Here) -> bool:
        link = crew.floor.links.get(here.person.key)
        return link is None or link.rung > 0

    def _worth(self, here: Here) -> tuple[float, float]:
        top = self._scenario.ladders[here.stay.ladder].rungs[0]
        return -self._scenario.weights[here.stay.category] * top.credit / max(top.flow_lpm, 1e-9), here.person.arrive

    def _give(self, crew: Crew, here: Here, left: float, time: float) -> float:
        """Serve a patient better, if that can be had for long enough; return what it takes [L]."""
        link = crew.floor.links.get(here.person.key)
        minutes = min(WORTH_IT, here.stay.end - time)
        for number, rung in enumerate(self._scenario.ladders[here.stay.ladder].rungs):
            if link is not None and number >= link.rung:
                break
            litres = (rung.flow_lpm - (link.flow if link else 0.0)) * minutes
            if litres <= left and crew.serve(here, number):
                self._given[here.person.key] = number, time + minutes
                return max(0.0, litres)
        return 0.0
