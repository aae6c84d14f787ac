"""Outlets: which one a patient gets, and who changes places with whom."""

from __future__ import annotations

from dataclasses import replace

from mci.dispatch.changes import Changes
from mci.dispatch.floor import WORTH_MINUTES, Floor, Source, takes
from mci.dispatch.policy import Here, Pace

__all__ = ["Outlets"]


class Outlets:
    """Finds outlets for patients.

    Parameters
    ----------
    rest
        Nobody is moved again within this time, nor to a supply that lasts for less [min].
    """

    def __init__(self, floor: Floor, changes: Changes, pace: Pace, rest: float) -> None:
        self._floor = floor
        self._changes = changes
        self._pace = pace
        self._rest = rest
        self._moved: dict[str, float] = {}
        self._full: set[tuple[str, float, bool, bool]] = set()

    def look_again(self) -> None:
        """Forget what was full: something has changed."""
        self._full.clear()

    def can(self, source: Source, flow: float, *, strong: bool) -> bool:
        """Tell whether one more patient can be connected to a source now."""
        outlets = source.outlets
        return (
            outlets is not None
            and source.ready
            and source.there(self._floor.time)
            and source.lasts(flow) > WORTH_MINUTES
            and takes(outlets, source, flow, strong=strong)
            and self._floor.powered(source)
        )

    def find(self, here: Here, flow: float, *, strong: bool, crowd: int) -> Source | None:
        """Return a source with an outlet for a patient, if need be after a change of cylinder.

        ``crowd`` is how many wait for an outlet; with 0 no cylinder is changed for this.
        """
        kind = here.stay.area, flow, strong, crowd > 0
        if kind in self._full:
            return None
        found = self._look_for(here, flow, strong=strong, crowd=crowd)
        if found is None:
            self._full.add(kind)  # nobody else finds one at this moment
        return found

    def _look_for(self, here: Here, flow: float, *, strong: bool, crowd: int) -> Source | None:
        area = here.stay.area
        ready = [source for source in self._floor.sources[area] if self.can(source, flow, strong=strong)]
        made = [source for source in ready if source.made]
        if made:
            return min(made, key=_left_over)  # the tightest fit, so that others find theirs

        def rank(source: Source) -> tuple[float, float]:
            return min(self._pace.spare(self._floor, source) - flow / 2, 0.0), source.lasts(flow)

        stored = max(ready, key=rank, default=None)
        need = here.person.leave - self._floor.time
        if stored is not None and (crowd == 0 or rank(stored) >= (0.0, need)):
            return stored
        if crowd == 0 or self._changes.promised(area, flow, strong=strong):
            return stored
        pair = self._changes.pair(area, flow, strong=strong, crowd=crowd)
        if pair is None or (stored is not None and rank(stored) >= rank(pair[1])):
            return stored
        return pair[1] if self._changes.change(*pair) else stored

    def relocate(self, here: Here) -> bool:
        """Move a patient, on the same device and flow, to an outlet of another lot that is not ahead of the plan."""
        link = self._floor.links[here.person.key]
        own = link.source.supply.lot.key
        if not self._rested(here.person.key):
            return False
        found = [
            source
            for source in self._floor.sources[here.stay.area]
            if source.supply.lot.key != own and self.can(source, link.flow, strong=link.strong)
            if source.lasts(link.flow) >= self._rest
            if self._pace.spare(self._floor, source) >= link.flow / 2
        ]
        place = max(found, key=lambda source: source.lasts(link.flow), default=None)
        if place is None:
            pair = self._changes.pair(here.stay.area, link.flow, strong=link.strong, crowd=1)
            if pair is None or pair[1].supply.lot.key == own:
                return False
            if self._pace.spare(self._floor, pair[1]) < link.flow / 2 or not self._changes.change(*pair):
                return False
            place = pair[1]
        self._floor.connect(here.person.key, replace(link, source=place))
        self._moved[here.person.key] = self._floor.time
        return True

    def _rested(self, key: str) -> bool:
        return self._floor.time >= self._moved.get(key, -self._rest) + self._rest

    def exchange(self, here: Here) -> bool:
        """Let a patient change outlets with one at a lower flow on another lot that is not ahead of the plan.

        The one at the lowest flow is taken, if both outlets pass what they then must.
        """
        key, link = here.person.key, self._floor.links[here.person.key]
        own = link.source.supply.lot.key
        others = sorted(
            (self._floor.links[name].flow, name)
            for source in self._floor.sources[here.stay.area]
            if source.supply.lot.key != own and source.people and source.ready
            for name in source.people
            if self._gains(source, link.flow, self._floor.links[name].flow)
        )
        return any(self._change_places(key, name) for _, name in others)

    def _gains(self, source: Source, flow: float, other: float) -> bool:
        return other < flow - 1e-9 and self._pace.spare(self._floor, source) >= (flow - other) / 2

    def trade(self, low: Source, high: Source) -> bool:
        """Let the patient at the largest flow on one source change outlets with the one at the smallest on another."""
        links = self._floor.links
        givers, takers = ([key for key in source.people if self._rested(key)] for source in (low, high))
        if not givers or not takers:
            return False
        giver = max(givers, key=lambda key: links[key].flow)
        return self._change_places(giver, min(takers, key=lambda key: links[key].flow))

    def _change_places(self, one: str, two: str) -> bool:
        first, second = self._floor.links[one], self._floor.links[two]
        if first.flow <= second.flow or not (self._rested(one) and self._rested(two)):
            return False
        self._floor.disconnect(one)
        self._floor.disconnect(two)
        done = all(
            self.can(source, link.flow, strong=link.strong) and source.lasts(link.flow) >= self._rest
            for source, link in ((second.source, first), (first.source, second))
        )
        if done:
            self._moved[one] = self._moved[two] = self._floor.time
        places = (second.source, first.source) if done else (first.source, second.source)
        self._floor.connect(one, replace(first, source=places[0]))
        self._floor.connect(two, replace(second, source=places[1]))
        return done


def _left_over(source: Source) -> tuple[float, float]:
    """Return what a machine or pipe can give, and how much of that is left."""
    most = source.outlets.total_max_lpm if source.outlets else 0.0
    return most, most - source.flow
