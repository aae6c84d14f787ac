"""The numbers behind the figures of a debrief: steps of need and credit, and what could still be reached."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.report.debrief_told import inject_letters
from mci.report.debrief_words import usual_of
from mci.report.series import records

if TYPE_CHECKING:
    from mci.drills.debriefed import Debrief

__all__ = ["ReachedSteps", "StillPossible", "reached_steps", "still_possible"]


@dataclass(frozen=True, slots=True)
class ReachedSteps:
    """Patients who need oxygen, and credit in patient equivalents under each plan; ``edges`` has one more [min].

    ``usual`` is empty where there is no usual practice.
    """

    edges: tuple[float, ...]
    need: tuple[float, ...]
    team: tuple[float, ...]
    usual: tuple[float, ...]
    best: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class StillPossible:
    """What could still be reached at most [weighted credit-minutes] at moments [min], from the bound down.

    Parameters
    ----------
    usual
        What usual practice reaches; ``None`` where there is none.
    decisions
        Stretches of the decisions: number, start and end.
    injects
        Letter and moment.
    """

    times: tuple[float, ...]
    possible: tuple[float, ...]
    usual: float | None
    decisions: tuple[tuple[str, float, float], ...]
    injects: tuple[tuple[str, float], ...]


def reached_steps(debrief: Debrief) -> ReachedSteps:
    """Put the plans on common steps of time."""
    rows = records(debrief.over_time)
    horizon = debrief.scenario.horizon
    starts = sorted({float(row["time_min"]) for row in rows if row["time_min"] < horizon})
    usual = usual_of(debrief)
    return ReachedSteps(
        edges=(*starts, horizon),
        need=_held(rows, debrief.team.name, "need", starts),
        team=_held(rows, debrief.team.name, "credit", starts),
        usual=_held(rows, usual.name, "credit", starts) if usual else (),
        best=_held(rows, debrief.best.name, "credit", starts),
    )


def _held(rows: list[dict[str, object]], plan: str, column: str, starts: list[float]) -> tuple[float, ...]:
    """Return a column of one plan at moments; each row holds until the next one of the same plan."""
    mine = {float(str(row["time_min"])): float(str(row[column])) for row in rows if row["plan"] == plan}
    value, values = 0.0, []
    for start in starts:
        value = mine.get(start, value)
        values.append(value)
    return tuple(values)


def still_possible(debrief: Debrief) -> StillPossible:
    """Return what could still be reached at the ends of stretches, and what is marked beside it."""
    rows = records(debrief.stretches)
    injects, usual = debrief.scenario.injects, usual_of(debrief)
    letters = zip(inject_letters(debrief), injects, strict=True)
    return StillPossible(
        times=(*(float(row["start_min"]) for row in rows), *(float(row["end_min"]) for row in rows[-1:])),
        possible=(*(float(row["possible_start"]) for row in rows), *(float(row["possible_end"]) for row in rows[-1:])),
        usual=usual.verdict.weighted if usual else None,
        decisions=tuple((str(n), missed.start, missed.end) for n, missed in enumerate(debrief.missed, start=1)),
        injects=tuple((letter, inject.at) for letter, inject in letters if inject.at <= debrief.scenario.horizon),
    )
