"""Rolling: a crew that does not know the future, and plans again every so many minutes.

At each planning moment the rest of the incident, as it is then expected (:mod:`mci.dispatch.rolling_rest`), is
planned with the programme; until the next one the crew follows that plan through whatever happens.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from mci.demand.groups import count_demand
from mci.dispatch.budget import Budget
from mci.dispatch.follow import Style
from mci.dispatch.rolling_crew import LearningCrew
from mci.dispatch.rolling_follow import FollowExpected
from mci.dispatch.rolling_known import Known
from mci.dispatch.rolling_rest import find_rest
from mci.dispatch.usual import Usual
from mci.errors import InputError, NoPlanError, SolverLimitError, UsageError
from mci.lp.allocate import allocate
from mci.lp.whole import plan_whole
from mci.plan.orders import Plan
from mci.replay.judge import replay
from mci.replay.judged import Judged
from mci.timegrid import TimeGrid

if TYPE_CHECKING:
    import pandas as pd

    from mci.dispatch.crew import Crew
    from mci.dispatch.floor import Floor, Source
    from mci.dispatch.policy import Here, Pace
    from mci.scenario.model import Scenario
    from mci.settings import Settings

__all__ = ["rolling"]

#: One style, chosen beforehand: with hindsight another one might do better.
STYLE = Style(0.1, 0.3, 4.0, 15.0, generous=True)
#: A plan is soon replaced: how close to the best with whole patients it need be.
WHOLE_GAP = 0.01
#: More planning moments than this are a mistake: every five minutes in two weeks.
MOST_PLANS = 4032


class _PaceNow:
    """The pace of the plan that is followed now."""

    def __init__(self, pace: Pace) -> None:
        self.now = pace

    def empty_by(self, source: Source) -> tuple[float, float]:
        """Return when a supply should be empty [min], and at which flow a patient there usually is [L/min]."""
        return self.now.empty_by(source)

    def spare(self, floor: Floor, source: Source) -> float:
        """Return how much more may be drawn now from the lot of a source without getting ahead [L/min]."""
        return self.now.spare(floor, source)


class _PlanAgain:
    """A policy that follows the plan made last; usual practice, the sickest first, as long as there is none."""

    early, rest = STYLE.early, STYLE.rest

    def __init__(self, known: Known, settings: Settings) -> None:
        self._known = known
        self._settings = replace(settings, whole_gap=max(settings.whole_gap, WHOLE_GAP))
        usual = Usual(known.expected, by_category=True)
        self._now: FollowExpected | Usual = usual
        self.pace = _PaceNow(usual.pace)
        self._news = -1
        self._next = 0.0
        self.crew = LearningCrew(known, self)

    def plan(self, crew: Crew, time: float) -> None:
        """Plan again if it is time; decide who should be on which rung from now on."""
        if time >= self._next - 1e-9:
            self._next = self._known.next_plan(time)
            self._plan_again(time)
        if isinstance(self._now, FollowExpected) and self._news != self._known.news(time):
            self._now.look_again()
        self._news = self._known.news(time)
        self._now.plan(crew, time)

    def _plan_again(self, time: float) -> None:
        """Plan the rest; where that cannot be planned, go on as before."""
        rest = find_rest(self.crew)
        try:
            demand = count_demand(rest, self._settings.max_period)
            whole = plan_whole(allocate(rest, demand, self._settings), self._settings)
        except (InputError, NoPlanError, SolverLimitError):  # nobody is expected, or the solver has no answer
            return
        demand = replace(demand, grid=TimeGrid(demand.grid.points + time))
        service, draw = (_later(table, time) for table in (whole.service, whole.draw))
        floor = self.crew.floor
        budget = Budget(demand.grid, service, draw, {lot: floor.lot_drawn(lot) for lot in floor.lots})
        self._now, self.pace.now = FollowExpected(rest, demand, budget, service, STYLE), budget
        self.crew.stop_at(demand.grid.points.tolist())

    def wish(self, here: Here) -> int | None:
        """Return the rung that a patient should have now."""
        return self._now.wish(here)

    def turn(self, here: Here) -> tuple[float, ...]:
        """Return a key: who comes first."""
        return self._now.turn(here)

    def after(self, crew: Crew, time: float) -> None:
        """Do what else is wise."""
        self._now.after(crew, time)

    def why_less(self, crew: Crew, here: Here) -> str:
        """Say why a patient is stepped down or withdrawn."""
        return self._now.why_less(crew, here)


def _later(table: pd.DataFrame, time: float) -> pd.DataFrame:
    """Return a table of a plan with its moments counted from the start of the incident."""
    return table.assign(start_min=table["start_min"] + time, end_min=table["end_min"] + time)


def rolling(actual: Scenario, expected: Scenario, every: float, settings: Settings) -> Judged:
    """Return what a crew does that plans again and again, knowing only what has happened, with its verdict.

    Parameters
    ----------
    actual
        The incident as it happens.
    expected
        The same incident as it is expected: the same areas, ladders, horizon and names; counts, times and contents
        may be others.  What is expected of a thing or batch is looked up under its name.
    every
        Time from one planning moment to the next [min]; the first is the start.
    settings
        How to plan; whole patients are searched for less closely than in one plan.

    Raises
    ------
    UsageError
        If ``every`` is not above 0, or plans more often than :data:`MOST_PLANS` times.

    Notes
    -----
    What patients get depends on nothing that comes later.  As in every plan here, usual practice too, idle people
    keep the next cylinders ready: the change that a patient needs on arrival may be dated before it, which is the only
    hindsight left.
    """
    if not (every > 0 and actual.horizon <= MOST_PLANS * every):
        raise UsageError(f"planning again every {every:g} min makes no sense: at least {_least(actual)} min are needed")
    orders = _PlanAgain(Known(actual, expected, every), settings).crew.work()
    return Judged(Plan(f"planned again every {every:g} min", orders), replay(actual, orders))


def _least(scenario: Scenario) -> str:
    return f"{scenario.horizon / MOST_PLANS:g}"
