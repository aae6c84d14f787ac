"""Words that all sheets of a drill share: what they are, moments, marks, safety."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

from mci.plan.marks import Marks, find_marks
from mci.report.cautions import AID_STATEMENT, read_cautions
from mci.report.drill_page import DrillPage, Safety
from mci.units import format_clock, format_duration

if TYPE_CHECKING:
    from mci.drills.result import Drill
    from mci.report.cautions import Caution
    from mci.scenario.model import Scenario

__all__ = ["EXERCISE_STATEMENT", "area_titles", "drill_page", "find_drill_marks", "handling_cautions", "safety_plan"]
__all__ += ["provenance_line", "times"]

Body = TypeVar("Body")

#: Stands on every sheet, card and slip.
EXERCISE_STATEMENT = "Exercise data, invented; not for care of any patient."
_OF_PROGRAM = "of this program"


def drill_page(
    drill: Drill, kind: str, reader: str, body: Body, facts: tuple[tuple[str, str], ...] = ()
) -> DrillPage[Body]:
    """Put the frame around a body; ``facts`` come after when it starts and how long it lasts."""
    scenario = drill.briefed
    lasts = ("Lasts at most", format_duration(scenario.horizon))
    starts = ("Starts (T+0)", format_clock(0, scenario.start) if scenario.start is not None else "as announced")
    return DrillPage(
        kind=kind,
        reader=reader,
        name=scenario.name,
        summary=scenario.summary,
        statement=EXERCISE_STATEMENT,
        aid=AID_STATEMENT,
        facts=(starts, lasts, *facts),
        body=body,
        provenance_line=provenance_line(drill),
    )


def provenance_line(drill: Drill) -> str:
    """Say in one line which drill this is, so that sheets of two drills are not mixed up."""
    record = drill.provenance
    return f"{record.software} · scenario {record.scenario_sha256[:12]} · seed {drill.seed}"


def times(minutes: float, scenario: Scenario) -> str:
    """Return the clock time of a moment; empty where the exercise has none."""
    return format_clock(minutes, scenario.start)


def area_titles(scenario: Scenario) -> dict[str, str]:
    """Return titles of areas by key."""
    return {area.key: area.title for area in scenario.areas}


def find_drill_marks(drill: Drill) -> Marks:
    """Return the marks that players were given, and those of things that only the exercise as it happens has."""
    given = find_marks(drill.briefed)
    later = find_marks(drill.actual)
    return Marks({**later.by_name, **given.by_name}, given.legends)


def handling_cautions() -> tuple[Caution, ...]:
    """Return the cautions of handling oxygen, without those about plans."""
    return tuple(each for each in read_cautions() if not each.source.endswith(_OF_PROGRAM))


def safety_plan() -> Safety:
    """Return rules of the exercise and cautions for the safety plan."""
    return Safety(read_cautions("drill_cautions.csv"), handling_cautions())
