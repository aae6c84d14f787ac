"""What the resupply planner answers: trips with last safe times, what they reach, what a loss would cost."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from mci.lp.outcome import SolverReport
    from mci.plan.trips import Trip

__all__ = ["TOO_FEW", "Departure", "Goal", "Loss", "Met", "Obstacle", "Schedule", "how_far_met"]

#: Credit-minutes of goals too few to be told as missing.
TOO_FEW = 0.05


@dataclass(frozen=True, slots=True)
class Goal:
    """A coverage that every area is to reach for a category: a share of its patient-minutes, 0 to 1."""

    category: str
    share: float


@dataclass(frozen=True, slots=True)
class Met:
    """How far a goal is met at one area: credit-minutes needed for it, and reached."""

    goal: Goal
    area: str
    needed: float
    reached: float


def how_far_met(
    goals: Sequence[Goal], needed: Mapping[tuple[str, str], float], reached: Mapping[tuple[str, str], float]
) -> tuple[Met, ...]:
    """Return how far each goal is met, area by area.

    Parameters
    ----------
    needed, reached
        Credit-minutes per area and category.
    """
    return tuple(
        Met(goal, area, minutes, reached[area, category])
        for goal in goals
        for (area, category), minutes in sorted(needed.items())
        if category == goal.category
    )


@dataclass(frozen=True, slots=True)
class Departure:
    """A trip, when it is to leave, and how late it may.

    Parameters
    ----------
    planned
        With the times of the plan: every vehicle leaves as soon as it usefully can.
    trip
        With its latest times.
    earliest
        When it is to leave the place where it loads [min].
    leave_by
        When it must leave that place at the latest [min].
    arrive_by
        When what it brings must be in hand at the first area at the latest [min].
    lost
        Per category, credit-minutes lost if it leaves 10 min later than that, and whatever follows on the same
        vehicle with it where it must.
    request_by
        Moment at which the supplier must have been asked at the latest [min]; ``None`` where nothing comes from one.
    """

    planned: Trip
    trip: Trip
    earliest: float
    leave_by: float
    arrive_by: float
    lost: Mapping[str, float]
    request_by: float | None

    @property
    def margin(self) -> float:
        """Time between the planned and the latest departure [min]."""
        return self.leave_by - self.earliest


@dataclass(frozen=True, slots=True)
class Loss:
    """What losing one road, place or vehicle for the whole time would cost, planned again without it.

    Parameters
    ----------
    kind
        ``road``, ``place`` or ``vehicle``.
    lost
        Per category, credit-minutes lost; a better covered category may gain and is then below 0.
    weighted
        Weighted credit-minutes lost, 0 or more.
    """

    kind: str
    key: str
    lost: Mapping[str, float]
    weighted: float


@dataclass(frozen=True, slots=True)
class Obstacle:
    """One constraint that keeps the goals from being met.

    Parameters
    ----------
    constraint
        In words, such as ``travel time`` or ``regulators``.
    missing
        Credit-minutes of the goals that are still missing at best if this one did not bind.
    """

    constraint: str
    missing: float


@dataclass(frozen=True, slots=True)
class Schedule:
    """Trips, and what is known about them.

    Parameters
    ----------
    goals
        What was asked for; empty where coverage as a whole is maximised.
    met
        Per goal and area, as far as the trips go, patients and litres divisible, each batch of cylinders by itself.
    bound
        Weighted coverage that no trips and orders can beat [weighted credit-minutes].
    reached
        Weighted coverage with these trips, told like ``met`` [weighted credit-minutes].
    without_trips
        Weighted coverage with no trip at all [weighted credit-minutes].
    departures
        In the order of leaving.
    cylinders
        Full cylinders loaded where nobody is treated.
    fewest_cylinders, fewest_trips
        Below which no trips meet the goals; 0 where there are none.
    missing
        Credit-minutes of the goals that are missing at best; 0 where they can be met.
    obstacles
        Why, the one that alone would bring most first; empty where nothing is missing.
    losses
        The largest first; those that cost nothing too.  Alike cylinders of an area count as one stock there.
    notes
        What the numbers do not say, as sentences.
    report
        Size and time of the programme.
    """

    goals: tuple[Goal, ...]
    met: tuple[Met, ...]
    bound: float
    reached: float
    without_trips: float
    departures: tuple[Departure, ...]
    cylinders: int
    fewest_cylinders: int
    fewest_trips: int
    missing: float
    obstacles: tuple[Obstacle, ...]
    losses: tuple[Loss, ...]
    notes: tuple[str, ...]
    report: SolverReport

    @property
    def can_meet(self) -> bool:
        """Whether the goals can be met at best."""
        return self.missing <= TOO_FEW

    @property
    def planned(self) -> tuple[Trip, ...]:
        """The trips as they are to be carried out."""
        return tuple(departure.planned for departure in self.departures)

    @property
    def latest(self) -> tuple[Trip, ...]:
        """The trips with every departure as late as is safe."""
        return tuple(departure.trip for departure in self.departures)
