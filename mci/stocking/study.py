"""What all questions about the lists of one study share: caches, goals, loaded incidents, and what was learnt."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from mci.errors import NoPlanError, SolverLimitError
from mci.lp.decompose import Decomposition, Found
from mci.lp.two_stage import Aim
from mci.stocking.goals import Targets
from mci.stocking.layout import Layout, Packed
from mci.stocking.spread import Asked, Sampled, Staff

__all__ = ["Entry", "Study", "open_study"]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Entry:
    """A list with what it leaves in the sampled incidents.

    Parameters
    ----------
    plan
        As decisions.
    harms
        The least harm of each kind, each by itself, shape ``(incidents, harms)``.
    """

    name: str
    plan: Floats
    packed: Packed
    cost: float
    harms: Floats


@dataclass(frozen=True, slots=True)
class Study:
    """Loaded incidents and one search that never forgets what it learnt of them.

    Parameters
    ----------
    gap
        Relative distance of both bounds at which a search ends.
    say
        Told what is being done, in words.
    trace
        Seconds, lower and upper bound of each round of the search that is going on.
    late
        Aims for which no list was found in time, here and in studies made of this one.
    """

    sampled: Sampled
    staff: Staff
    layout: Layout
    targets: Targets
    asked: Asked
    search: Decomposition
    gap: float
    time_limit: float
    say: Callable[[str], None]
    trace: list[tuple[float, float, float]] = field(default_factory=list)
    late: list[Aim] = field(default_factory=list)

    def find(self, aim: Aim, gap: float | None = None) -> Found | None:
        """Return the best list for an aim; ``None`` where none meets the goals within the limits, or in time."""
        try:
            return self.find_in_time(aim, gap)
        except SolverLimitError:
            self.late.append(aim)
            return None

    def find_in_time(self, aim: Aim, gap: float | None = None) -> Found | None:
        """Return the best list for an aim; ``None`` where none meets the goals within the limits.

        Raises
        ------
        SolverLimitError
            If the time was over before there was one.
        """
        self.trace.clear()
        try:
            return self.search.solve(aim, gap=gap or self.gap, time_limit=self.time_limit)
        except NoPlanError:
            return None

    def enter(self, name: str, plan: Floats) -> Entry:
        """Return a list with what it leaves in the incidents; for a cache in which nothing is no place is kept."""
        packed = self.layout.packed(plan)
        plan = self.layout.decisions({key: held for key, held in packed.items() if held})
        return Entry(name, plan, packed, self.layout.cost(plan), self.asked.harms(plan))

    def weighted(self, entry: Entry) -> float:
        """Return the mean weighted coverage of a list, 0 to 1."""
        return 1.0 - float(self.asked.chances @ entry.harms[:, 0])

    def reached(self, entry: Entry) -> list[float]:
        """Return what a list reaches of each goal."""
        return self.targets.reached(entry.harms, self.asked.chances)

    def met(self, entry: Entry) -> list[bool]:
        """Tell which goals a list meets."""
        return self.targets.met(entry.harms, self.asked.chances)

    def together(self, entry: Entry) -> bool:
        """Tell whether a list can meet all goals at once: what helps one may be missing for another."""
        if not self.targets.goals:
            return True
        return all(self.met(entry)) and self.search.meets(entry.plan, self.targets.limits())

    def other(self, sampled: Sampled) -> Study:
        """Return a study of other incidents, with the same caches and goals."""
        made = open_study(sampled, self.staff, self.gap, self.time_limit, self.say, self.layout, self.targets)
        return replace(made, late=self.late)


def open_study(
    sampled: Sampled,
    staff: Staff,
    gap: float,
    time_limit: float,
    say: Callable[[str], None],
    layout: Layout | None = None,
    targets: Targets | None = None,
) -> Study:
    """Load incidents for a study."""
    layout, targets = layout or sampled.layout, targets or sampled.targets
    asked = staff.take(sampled)
    trace: list[tuple[float, float, float]] = []
    begin = time.perf_counter()

    def tell(lower: float, upper: float) -> None:
        trace.append((time.perf_counter() - begin, lower, upper))

    search = Decomposition(layout.plan, asked, targets.tails, tell=tell)
    return Study(sampled, staff, layout, targets, asked, search, gap, time_limit, say, trace)
