"""A crew that learns as time passes: it has what has come, and sees patients leave when they leave."""

from __future__ import annotations

from collections.abc import Iterable

from mci.dispatch.crew import Crew
from mci.dispatch.policy import Here, Policy
from mci.dispatch.rolling_known import Known

__all__ = ["LearningCrew"]

#: Moments closer than this are one [min].
_SAME = 1e-6


class LearningCrew(Crew):
    """A crew that knows what has happened, and no more.

    Parameters
    ----------
    known
        The incident as far as it is known.
    policy
        What to aim at.
    """

    def __init__(self, known: Known, policy: Policy) -> None:
        super().__init__(known.things(0.0), known.moments, policy)
        self.known = known
        self._told = -1
        self._met = -1.0

    def stop_at(self, moments: Iterable[float]) -> None:
        """Stop at other moments than before besides those when something happens; of two that are one, at these."""
        wanted = sorted(moments)
        kept = {round(each / _SAME) for each in wanted}
        others = [each for each in (*self.known.moments, self.known.horizon) if round(each / _SAME) not in kept]
        self._moments = sorted([*wanted, *others])

    def for_those_here(self, area: str, device: str) -> float:
        """Return how many devices there are for the patients at an area: in stock, in use, and what they own."""
        here = [key for key, each in self.here.items() if each.stay.area == area]
        return self._devices.for_those_here(area, device, self.floor.time, here)

    def _step(self) -> None:
        time = self.floor.time
        if self.known.news(time) != self._told:
            self._told = self.known.news(time)
            things = self.known.things(time)
            self.floor.learn(things)
            self.changes.learn(things)
            self._devices.learn(things)
            self.floor.keep_reserve()
        for key, here in list(self.here.items()):
            self._look_at(key, here, time)
        self._due.extend(self.known.came(self._met, time))
        self._met = time
        super()._step()

    def _look_at(self, key: str, here: Here, time: float) -> None:
        """See whether a patient is still there, and how long that is expected to last."""
        if here.stay.end > time + 1e-9 and not self.known.is_over(key, here.stay, time):
            return
        person = self.known.person(key, time)
        stay = next(each for each in person.stays if each.start == here.stay.start)
        self.here[key] = Here(person, stay)
