"""How hard an incident is, measured: what usual practice loses of what the best orders reach."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from mci.demand.groups import count_demand
from mci.dispatch.plan import dispatch, judge_usual
from mci.drills.result import Difficulty, Level
from mci.lp.allocate import allocate
from mci.lp.whole import plan_whole

if TYPE_CHECKING:
    from collections.abc import Sequence

    from mci.lp.outcome import Outcome, Whole
    from mci.replay.judged import Judged
    from mci.scenario.model import Scenario
    from mci.settings import Settings

__all__ = ["BANDS", "Measured", "distance", "level_of", "measure", "most_lost", "plan_known", "said", "well_inside"]

#: Bands of the share lost: from, to (not included).  Our choice, after measuring: as written, without injects, usual
#: practice loses 1 % in the care home, 10 % in the tunnel, 16 % in the hospital, 19 % on the ferry, 26 % at the fair
#: and in the example by hand; drawn drills of the bundled exercises lose between nothing and 25 %.
BANDS = {Level.EASY: (0.02, 0.07), Level.MODERATE: (0.07, 0.15), Level.HARD: (0.15, 1.0)}
#: Share of a band (or of ten per cent) at either edge that a search leaves free if it can: other versions of the solver
#: find other plans that are equally good, and a drill should be the same.
_MARGIN = 0.15
#: How close to the best with whole patients the search need come: a drill is not made better by more.
WHOLE_GAP = 0.005


@dataclass(frozen=True, slots=True)
class Measured:
    """An incident as it happens, planned with everything known, and usual practice in it."""

    outcome: Outcome
    whole: Whole
    best: Judged
    usual: tuple[Judged, ...]

    @property
    def usual_weighted(self) -> float:
        """What usual practice reaches, the better of its ways [weighted credit-minutes]."""
        return max(judged.verdict.weighted for judged in self.usual)

    @property
    def lost(self) -> float:
        """Share of the best orders' weighted coverage that usual practice loses."""
        best = self.best.verdict.weighted
        return max(0.0, 1 - self.usual_weighted / best) if best > 0 else 0.0


def level_of(lost: float) -> Level | None:
    """Return the level of a share lost; ``None`` below the easiest band."""
    return next((level for level, (low, high) in BANDS.items() if low <= lost < high), None)


def distance(lost: float, level: Level) -> float:
    """Return how far a share lost is from the band of a level; 0 inside."""
    low, high = BANDS[level]
    if low <= lost < high:
        return 0.0
    return low - lost if lost < low else max(lost - high, 1e-12)


def well_inside(lost: float, level: Level) -> bool:
    """Tell whether a share lost is so far inside the band of a level that another, equally good plan stays in it."""
    low, high = BANDS[level]
    margin = _MARGIN * min(high - low, 0.1)
    return low + margin <= lost < high - margin


def most_lost(actual: Scenario, usual: Sequence[Judged]) -> float:
    """Return a share that usual practice cannot lose more than, whatever the best orders: what is missing of the need.

    Costs no plan; the best orders meet no more than the whole need.
    """
    table = usual[0].verdict.coverage
    mine = table[table["category"] != "all"]
    need = float((mine["category"].map(actual.weights) * mine["needed_patient_min"]).sum())
    return max(0.0, 1 - max(judged.verdict.weighted for judged in usual) / need) if need > 0 else 0.0


def measure(actual: Scenario, settings: Settings) -> Measured:
    """Plan an incident no more closely than a search of drills needs; else as :func:`plan_known`."""
    return plan_known(actual, replace(settings, whole_gap=max(settings.whole_gap, WHOLE_GAP)))


def plan_known(actual: Scenario, settings: Settings) -> Measured:
    """Plan an incident with everything known, and carry out usual practice in it.

    Raises
    ------
    NoPlanError, SolverLimitError
        As for :func:`mci.lp.allocate.allocate`.
    """
    demand = count_demand(actual, settings.max_period)
    allocation = allocate(actual, demand, settings)
    whole = plan_whole(allocation, settings)
    usual = judge_usual(actual, demand)
    best = dispatch(actual, demand, whole.service, whole.draw, usual)
    return Measured(allocation.outcome, whole, best, usual)


def said(measured: Measured, asked: Level | None, tried: int) -> Difficulty:
    """Return the difficulty as the packet says it."""
    return Difficulty(
        asked=asked,
        level=level_of(measured.lost),
        lost=measured.lost,
        usual=measured.usual_weighted,
        best=measured.best.verdict.weighted,
        bound=measured.outcome.bound,
        tried=tried,
    )
