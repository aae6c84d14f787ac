"""What all cases of a study share: the scenario as written, the settings, and programmes that many variants fit."""

from __future__ import annotations

import functools
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, fields
from typing import Any, TypeVar

from mci.errors import PlannerError, UsageError
from mci.lp.allocate import Allocation, Part, refuse_impossible
from mci.lp.frame import Frame
from mci.lp.solve import solver_name
from mci.pipeline_resupply import run_resupply
from mci.provenance import Provenance
from mci.scenario.draft import Draft
from mci.scenario.model import Scenario
from mci.settings import Settings

__all__ = ["FRAME_CASES", "MOST_NEW", "Study", "refuse_idle", "spread"]

#: From so many variants at most the common programmes are made.
FRAME_CASES = 96
#: More than these are not taken for their new values.
MOST_NEW = 192

Values = Mapping[str, str]
T = TypeVar("T")


def refuse_idle(paths: Iterable[str], *, trips: bool) -> None:
    """Refuse numbers that change nothing because no trips are planned.

    Raises
    ------
    UsageError
        Naming the first of them.
    """
    idle = next((path for path in paths if path.startswith("network.")), "")
    if idle and not trips:
        raise UsageError(f"{idle} changes nothing as long as no trips are planned; add --trips (slower)")


def spread(values: Sequence[Values], count: int = FRAME_CASES) -> tuple[Values, ...]:
    """Choose variants for the common programmes: any that brings a new value of a number, then others evenly spread.

    Without a variant for each moment that occurs, those with other moments would not fit.

    Parameters
    ----------
    values
        Numbers of all variants.
    count
        How many are wanted; of those that bring something new up to :data:`MOST_NEW` are taken.
    """
    seen: set[tuple[str, str]] = set()
    chosen: list[Values] = []
    others: list[Values] = []
    for each in values:
        new = each.items() - seen
        if (new or not chosen) and len(chosen) < MOST_NEW:
            chosen.append(each)
            seen |= new
        else:
            others.append(each)
    free = count - len(chosen)
    return (*chosen, *(others[:: -(-len(others) // free)] if free > 0 and others else ()))


@dataclass(frozen=True)
class Study:
    """The work of a study; plain data until it is asked, so that it can be sent to other processes.

    An answer depends on the study and on the variant alone, not on what was asked before, nor on the process.

    Parameters
    ----------
    draft
        The scenario as written.
    settings
        How to plan.
    frame_values
        Numbers of the variants from which the common programmes are made; where one cannot be planned it is left out.
    rolling_every
        How often a crew that does not know the future plans again [min]; ``None`` where that is not asked.
    trips
        Whether the trips of the resupply network are planned, and what they bring is there.
    """

    draft: Draft
    settings: Settings
    frame_values: tuple[Values, ...] = ()
    rolling_every: float | None = None
    trips: bool = False

    def __getstate__(self) -> dict[str, Any]:
        """Leave out programmes that are loaded, which are made again where they are asked for."""
        return {field.name: getattr(self, field.name) for field in fields(self)}

    def scenario(self, values: Values) -> Scenario:
        """Build a variant, with what planned trips bring where they are planned.

        Raises
        ------
        PlannerError
            If it has mistakes, or no plan.
        """
        scenario = self.draft.scenario(values)
        return run_resupply(scenario, self.settings, losses=False).run.scenario if self.trips else scenario

    def answer(self, scenario: Scenario) -> Allocation:
        """Return the best possible of a variant; its programmes serve until the next question.

        Raises
        ------
        NoPlanError, SolverLimitError
            As :func:`mci.lp.allocate.allocate`.
        """
        return self._ask(scenario, lambda frame: frame.allocate(scenario))

    def as_good(self, scenario: Scenario, parts: Sequence[Part]) -> bool:
        """Tell whether the best possible of a variant is no less than that of a similar one (:meth:`Frame.as_good`)."""
        return self._ask(scenario, lambda frame: frame.as_good(scenario, parts))

    def _ask(self, scenario: Scenario, question: Callable[[Frame], T]) -> T:
        """Ask the frame of a variant, or one of its own."""
        frame = self._frames.get(_shape(scenario))
        if frame is not None:
            try:
                return question(frame)
            except ValueError:
                pass  # something happens off its grid, or a row has other nonzeros
        return question(Frame([scenario], self.settings))

    @property
    def as_written(self) -> Scenario:
        """The scenario as written, which is also what is expected."""
        return self.draft.scenario()

    @property
    def notes(self) -> tuple[str, ...]:
        """What a reader should know about how cases were evaluated."""
        told = []
        if self.settings.priority == "strict":
            told.append(
                "Categories come one after the other; how late a delivery may come is told with the weighted rule only."
            )
        if self.trips:
            told.append(
                "Trips are planned anew in every case; at best means: with what those trips bring, which other trips "
                "might better."
            )
        elif self.as_written.network is not None:
            told.append("The resupply network is left out: only deliveries that are listed come.")
        if self.rolling_every is not None:
            told.append(
                f"Orders planned again and again: every {self.rolling_every:g} min a crew that knows what has happened "
                "plans the rest as the scenario has it as written, and replay judges what comes of it."
            )
        return tuple(told)

    def provenance(self, more: Mapping[str, Any], seconds: float) -> Provenance:
        """Return where the results of the study come from."""
        chosen = {"rolling_every_min": self.rolling_every, "trips": self.trips, **more}
        return Provenance(
            scenario_file=self.draft.file,
            scenario_sha256=self.draft.sha256,
            settings={**asdict(self.settings), **chosen},
            solver={"name": solver_name()},
            timings={"study_s": seconds},
        )

    @functools.cached_property
    def _frames(self) -> Mapping[Hashable, Frame]:
        """The common programmes, one for each shape of ladders."""
        alike: dict[Hashable, list[Scenario]] = {}
        if self.trips:
            return {}  # what trips bring, and when, is other supplies in every variant
        for values in self.frame_values:
            try:
                scenario = self.draft.scenario(values)
                refuse_impossible(scenario)
            except PlannerError:
                continue  # told where it is a case
            alike.setdefault(_shape(scenario), []).append(scenario)
        frames: dict[Hashable, Frame] = {}
        for shape, scenarios in alike.items():
            try:
                frames[shape] = Frame(scenarios, self.settings)
            except (ValueError, PlannerError):
                continue  # they differ in more than numbers, or one has no plan: each gets a programme of its own
        return frames


def _shape(scenario: Scenario) -> Hashable:
    """Return what variants in one programme must have in common."""
    areas = tuple(area.key for area in scenario.areas)
    ladders = sorted(
        (key, tuple((rung.device.key, rung.flow_lpm) for rung in ladder.rungs))
        for key, ladder in scenario.ladders.items()
    )
    return areas, tuple(ladders), scenario.horizon
