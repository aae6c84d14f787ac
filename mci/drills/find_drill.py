"""The search for a drill that is as hard as asked: other draws of casualties and injects, of which one is kept.

Many draws are looked at by usual practice alone, which is cheap and says how hard a draw can be at most
(:func:`mci.drills.difficulty.most_lost`); the most promising are then planned and measured.  What is kept for a level
is never easier than what would be kept for the level below: that is found first.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from mci.demand.groups import count_demand
from mci.dispatch.plan import judge_usual
from mci.drills.difficulty import BANDS, distance, measure, most_lost, said, well_inside
from mci.drills.draw_casualties import draw
from mci.drills.draw_injects import draw_injects
from mci.drills.happen import happened
from mci.drills.result import Level

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from mci.drills.difficulty import Measured
    from mci.drills.draw_casualties import Drawn
    from mci.drills.result import Difficulty
    from mci.scenario.exercise import Inject
    from mci.scenario.model import Scenario
    from mci.settings import Settings

__all__ = ["INJECTS", "LOOKED_AT", "MEASURED", "Found", "Trial", "find_drill", "merge_injects"]

#: Injects of a drill unless a level is asked for; then these numbers one after the other.
INJECTS = 4
NUMBERS = (INJECTS, 6, 8, 2)
#: Draws that are looked at, and that are measured for each level, at most; fewer where there are many patients.
LOOKED_AT, MEASURED = 24, 5
#: Patients times draws measured for a level: large incidents take longer.
EFFORT = 150
#: Share of what can be lost at most that usual practice does lose, until a draw has been measured.
_FIRST_GUESS = 0.6


@dataclass(slots=True)
class Trial:
    """One drill that is looked at: what was drawn, and what came of it.

    ``most`` is the share that usual practice can lose at most; ``measured`` is there once it was planned.
    """

    drawn: Drawn
    briefed: Scenario
    injects: tuple[Inject, ...]
    actual: Scenario
    most: float = 1.0
    measured: Measured | None = None

    @property
    def lost(self) -> float:
        """The share lost as measured."""
        return self.measured.lost if self.measured is not None else self.most


@dataclass(frozen=True, slots=True)
class Found:
    """The drill that is kept, how hard it is, and what a designer should know of the search."""

    trial: Trial
    measured: Measured
    difficulty: Difficulty
    notes: tuple[str, ...]


def find_drill(
    scenario: Scenario, seed: int, level: Level | None, settings: Settings, say: Callable[[str], None] | None = None
) -> Found:
    """Draw drills until one is of the level asked for; the nearest is kept where none is.

    Parameters
    ----------
    scenario
        With or without injects of its own; those are kept, and others are added only where a level needs them.
    level
        Asked for; ``None`` keeps the first draw.
    say
        Told how it goes.
    """
    search = _Search(scenario, seed, settings, say or _nothing)
    kept = search.first() if level is None else search.of(level)
    measured = search.measured(kept)
    return Found(kept, measured, said(measured, level, search.count), tuple(search.notes(kept, level)))


def _nothing(words: str) -> None:
    """Say nothing."""


@dataclass(slots=True)
class _Search:
    """A search, with everything that has been looked at."""

    scenario: Scenario
    seed: int
    settings: Settings
    say: Callable[[str], None]
    pools: dict[bool, list[Trial]] = field(default_factory=dict)
    kept: dict[Level, Trial] = field(default_factory=dict)

    @property
    def own(self) -> tuple[Inject, ...]:
        """Injects of the scenario."""
        return self.scenario.injects

    @property
    def count(self) -> int:
        """How many draws were looked at."""
        return max(1, sum(len(pool) for pool in self.pools.values()))

    def first(self) -> Trial:
        """Return the first draw: the scenario's own injects, or :data:`INJECTS` drawn ones."""
        return self._drawn(0, 0 if self.own else INJECTS)

    def measured(self, trial: Trial) -> Measured:
        """Return what a draw comes to; found once."""
        if trial.measured is None:
            trial.measured = measure(trial.actual, self.settings)
            self.say(f"a draw was planned: usual practice loses {100 * trial.measured.lost:.1f} %")
        return trial.measured

    def of(self, level: Level) -> Trial:
        """Return the drill of a level, or the nearest that is no easier than those of the levels below."""
        for each in Level:  # from the easiest on; what was kept is not chosen anew when more has been measured
            if each not in self.kept:
                self.kept[each] = self._of(each, list(self.kept.values())[-1:])
            if each is level:
                break
        return self.kept[level]

    def _of(self, level: Level, below: Sequence[Trial]) -> Trial:
        tried = list(below)
        least = max((trial.lost for trial in below), default=0.0)
        for added in (False, True) if self.own else (True,):
            tried += self._measure_some(level, self._pool(added=added), least)
            tried = [trial for trial in tried if trial.lost >= least]
            fitting = [trial for trial in tried if well_inside(trial.lost, level)]
            fitting += [trial for trial in tried if distance(trial.lost, level) == 0]
            if fitting:
                return fitting[0]
        return min(tried, key=lambda trial: distance(trial.lost, level))

    def _measure_some(self, level: Level, pool: Sequence[Trial], least: float) -> list[Trial]:
        """Measure the most promising draws of a pool until one fits; those measured before are among them."""
        known = [trial for trial in pool if trial.measured is not None]
        if any(well_inside(trial.lost, level) and trial.lost >= least for trial in known):
            return known
        low, high = BANDS[level]
        wanted = low + min(high - low, 0.1) / 2
        for _ in range(max(2, min(MEASURED, EFFORT // len(pool[0].drawn.patients)))):
            left = [trial for trial in pool if trial.measured is None and trial.most >= max(low, least)]
            if not left:
                break
            ratio = _ratio(known)
            trial = min(_eventful(left, level), key=lambda each: abs(ratio * each.most - wanted))
            self.measured(trial)
            known.append(trial)
            if well_inside(trial.lost, level) and trial.lost >= least:
                break
        return known or [self._measure_one(pool)]

    def _measure_one(self, pool: Sequence[Trial]) -> Trial:
        """Measure the draw that can be hardest, where none can be hard enough."""
        trial = max(pool, key=lambda each: each.most)
        self.measured(trial)
        return trial

    def _pool(self, *, added: bool) -> list[Trial]:
        """Return the draws that are looked at, without or with drawn injects beside the scenario's own."""
        if added not in self.pools:
            again = LOOKED_AT if added or self._is_drawn() else 1
            numbers = NUMBERS if added else (0,)
            pool = [self._drawn(number, numbers[number % len(numbers)]) for number in range(again)]
            self.pools[added] = [self._looked_at(trial) for trial in pool]
            self.say(f"{len(pool)} draws were looked at")
        return self.pools[added]

    def _is_drawn(self) -> bool:
        return bool(self.scenario.exercise and self.scenario.exercise.casualties)

    def _drawn(self, number: int, injects: int) -> Trial:
        drawn = draw(self.scenario, self.seed, number)
        briefed = replace(self.scenario, patients=drawn.patients)
        new = draw_injects(briefed, self.seed, injects, number) if injects else ()
        all_injects = merge_injects(self.own, new)
        return Trial(drawn, briefed, all_injects, happened(briefed, all_injects))

    def _looked_at(self, trial: Trial) -> Trial:
        demand = count_demand(trial.actual, self.settings.max_period)
        trial.most = most_lost(trial.actual, judge_usual(trial.actual, demand))
        return trial

    def notes(self, kept: Trial, level: Level | None) -> list[str]:
        """Return what a designer should know of the search, as sentences."""
        notes = []
        if level is not None and distance(kept.lost, level) > 0:
            low, high = BANDS[level]
            band = f"{100 * low:.0f} % to {100 * high:.0f} %" if high < 1 else f"{100 * low:.0f} % or more"
            notes.append(
                f"No {level} drill was found in {self.count} draws: usual practice loses {100 * kept.lost:.1f} % of "
                f"what the best orders reach, and {level} is {band}. The nearest draw is kept; "
                f"{'fewer' if kept.lost > high - 1e-9 else 'more'} casualties or "
                f"{'more' if kept.lost > high - 1e-9 else 'fewer'} supplies would come closer."
            )
        more = len(kept.injects) - len(self.own)
        if self.own and more:
            notes.append(
                f"The {len(self.own)} injects of the scenario alone did not make a drill that is {level}: {more} more "
                "were drawn and stand beside them."
            )
        elif self.own:
            notes.append("All injects are the scenario's own; none were drawn.")
        return notes


def _eventful(trials: list[Trial], level: Level) -> list[Trial]:
    """Leave out draws in which little happens, but for an easy drill or where there are no others."""
    return [each for each in trials if level is Level.EASY or len(each.injects) >= INJECTS] or trials


def _ratio(known: Sequence[Trial]) -> float:
    """Return what share of the most that could be lost was lost, in draws that were measured."""
    most = sum(trial.most for trial in known)
    return sum(trial.lost for trial in known) / most if most > 0 else _FIRST_GUESS


def merge_injects(own: Sequence[Inject], new: Sequence[Inject]) -> tuple[Inject, ...]:
    """Add drawn injects to the scenario's own, but none about the same thing, and nothing that several would do."""
    taken = {_about(inject) for inject in own}
    added = [inject for inject in new if _about(inject) not in taken]
    return tuple(sorted((*own, *added), key=lambda inject: inject.at))


def _about(inject: Inject) -> str:
    """Say what an inject is about: a thing, an area, or, with more casualties, everybody."""
    return inject.thing or (inject.kind if inject.patients else f"{inject.kind} {inject.area}")
