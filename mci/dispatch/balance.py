"""Looking ahead: will the cylinders that are left still have enough outlets later on?

A fluid plan forgets that litres sit in separate cylinders.  When one is drained after the other, few are
left in the end and their litres wait for too few outlets.  Equal cylinders can serve a demand
without loss if and only if every set of coming periods can be served by what each cylinder can give
in their length: ``sum F_k tau_k <= sum_i min(c_i, rho t)``, the heaviest periods being the hardest
(McNaughton 1959 for constant demand; a condition of the Gale-Ryser kind).  While that holds nothing
needs to be changed; where carrying on would break it, patients change outlets or a full
cylinder goes into service early and the other one is parked with what it holds.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from mci.dispatch.crew import Crew
from mci.dispatch.floor import Source, Tool

__all__ = ["Pool", "Profile"]

Floats = npt.NDArray[np.float64]

#: Share of the demand by which it may fall short before anything is changed.
TOLERANCE = 0.02
#: Litres that a change of cylinder must save more than a change of outlets.
CHANGE_LITRES = 10.0
#: Supplies that are looked at: the emptiest in use, the fullest.
NEAREST = 3
#: Most changes and exchanges at one moment, per pool.
MOST = 4


@dataclass(frozen=True, slots=True)
class Profile:
    """What a plan draws from a pool, per period: litres, and mean and largest flow of a patient [L/min]."""

    starts: Floats
    lengths: Floats
    litres: Floats
    mean_flow: Floats
    largest_flow: Floats


@dataclass(frozen=True, slots=True)
class _Ahead:
    """Demand [L] of every set of periods, and per supply what one outlet can give in it [L], shape (supplies, sets)."""

    demand: Floats
    most: Floats
    whole: Floats
    outlets: npt.NDArray[np.int_]
    contents: Floats
    supply: Floats

    def _gives(self, places: list[int], outlets: npt.NDArray[np.int_], contents: Floats) -> Floats:
        return np.asarray(np.minimum(contents[:, None], outlets[:, None] * self.most[places]).sum(axis=0))

    def strain(self, places: tuple[int, int] | None = None, litres: float = 0.0, *, tools: bool = False) -> float:
        """Return by how many litres the worst set falls short [L].

        With ``places``: after so many litres less have been drawn from one supply and more from another, and
        their regulators have changed places (``tools``).
        """
        supply = self.supply
        if places is not None:
            pair = list(places)
            supply = supply - self._gives(pair, self.outlets[pair], self.contents[pair])
            changed = np.maximum(self.contents[pair] + np.array([litres, -litres]), 0.0)
            supply = supply + self._gives(pair, self.outlets[pair[::-1] if tools else pair], changed)
        return max(0.0, float((self.demand - np.minimum(supply, self.whole)).max()))


class Pool:
    """Supplies of an area that the same regulators fit, and what a plan draws from them.

    Parameters
    ----------
    largest
        Weight of the largest flow, beside the mean one, in what an outlet is taken to give (0 to 1).
    """

    def __init__(self, sources: list[Source], tools: list[Tool], profile: Profile, largest: float) -> None:
        self.sources = sources
        self.largest = largest
        self._profile = profile
        self._places = [tool.thing.outlets.outlets + tool.thing.outlets.high_pressure_outlets for tool in tools]
        self._arrivals = sorted({source.supply.lot.available_from for source in sources})
        self._arrival_of = [self._arrivals.index(source.supply.lot.available_from) for source in sources]

    def _outlets(self, source: Source) -> int:
        outlets = source.outlets
        return outlets.outlets + outlets.high_pressure_outlets if outlets else max(self._places, default=1)

    def _look(self, contents: Floats, period: int) -> _Ahead:
        """Reckon what every supply can give in every set of coming periods, the heaviest first."""
        profile = self._profile
        litres, lengths = profile.litres[period:], profile.lengths[period:]
        order = np.argsort(-litres / lengths, kind="stable")
        demand, length = np.cumsum(litres[order]), np.cumsum(lengths[order])
        mean = np.cumsum((profile.mean_flow[period:] * lengths)[order]) / length
        largest = np.maximum.accumulate(profile.largest_flow[period:][order])
        rate = (1 - self.largest) * mean + self.largest * largest
        starts = profile.starts[period:][order]
        there = np.array(
            [np.cumsum(np.where(starts >= arrive - 1e-9, lengths[order], 0.0)) for arrive in self._arrivals]
        )
        most = rate * there[self._arrival_of]
        whole = np.full(len(order), np.inf)
        if self._places and self.sources[0].supply.lot.built_in is None:
            whole = sum(self._places) * rate * length
        outlets = np.array([self._outlets(source) for source in self.sources])
        supply = np.minimum(contents[:, None], outlets[:, None] * most).sum(axis=0)
        return _Ahead(demand * (1 - TOLERANCE), most, whole, outlets, contents, supply)

    def look_ahead(self, crew: Crew, period: int) -> None:
        """Change what must be changed so that carrying on to the next period does not leave too few outlets."""
        if not self._profile.litres[period + 1 :].any():
            return
        minutes = float(self._profile.lengths[period])
        for _ in range(MOST):
            ahead = self._look(self._after(minutes), period + 1)
            strain = ahead.strain()
            if strain <= 1.0 or not self._relieve(crew, minutes, ahead, strain):
                return

    def _after(self, minutes: float) -> Floats:
        return np.array([max(0.0, source.left - source.flow * minutes) for source in self.sources])

    def _relieve(self, crew: Crew, minutes: float, ahead: _Ahead, strain: float) -> bool:
        best: tuple[float, Source, Source, str] | None = None
        number = {id(source): n for n, source in enumerate(self.sources)}
        busy = sorted((s for s in self.sources if s.people and s.ready), key=lambda s: s.left - s.flow * minutes)
        full = sorted((s for s in self.sources if not s.busy and s.there(crew.floor.time)), key=lambda s: -s.left)
        for low in busy[:NEAREST]:
            for high in full[:NEAREST]:
                if high is low or high.left <= low.left:
                    continue
                for how in ("swap", "trade") if high.people else ("fresh",):
                    flow = self._flow(crew, low, high, how)
                    if flow <= 0:
                        continue
                    places = number[id(low)], number[id(high)]
                    after = ahead.strain(places, flow * minutes, tools=how != "trade")
                    after += CHANGE_LITRES if how != "trade" else 0.0
                    if after < strain - 1.0 and (best is None or after < best[0]):
                        best = after, low, high, how
        if best is None:
            return False
        _, low, high, how = best
        if how == "trade":
            return crew.outlets.trade(low, high)
        if how == "swap":
            return crew.changes.swap(low, high)
        return crew.changes.change(low.tool, high)

    def _flow(self, crew: Crew, low: Source, high: Source, how: str) -> float:
        """Return by how much the flow on one source falls and that on a fuller one rises [L/min]."""
        if how == "trade":
            return self._difference(crew, low, high)
        fits = low.tool is not None and high.supply.lot.valve in low.tool.thing.outlets.fits
        return low.flow - high.flow if fits else 0.0

    @staticmethod
    def _difference(crew: Crew, low: Source, high: Source) -> float:
        most = max(crew.floor.links[key].flow for key in low.people)
        return most - min(crew.floor.links[key].flow for key in high.people)
